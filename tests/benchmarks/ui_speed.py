"""How quick the screens are, in a real pseudo-terminal, against a minimal Textual app beside it.

Run it: ``python -m tests.benchmarks.ui_speed``. It prints ratios and gates nothing; both apps take
turns, and both run from compiled modules. Beside seconds on the wall stand seconds of the processor
(Linux only): other work on the machine moves those least.

First paint is the time from starting the process to the read that contains a known word; the plan
of the day the same for its words. ``a day later``: a file in use. ``just imported``: as many tunes
that were brought in just now and never shown. Key to paint is the time from writing a key to the
read that contains what it brings; a level's time is also given beside that of the bare write it
has to wait for.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sqlite3
import tempfile
import time
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

from tests.benchmarks.terminal import Spent, Terminal, least, middle
from tunememory.clock import fixed_clock
from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.tune import Start, Tune
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.session import open_session

MINIMAL = """
from textual.app import App
from textual.widgets import Static
class Least(App):
    count = 0
    def compose(self):
        yield Static("ready 0")
    def on_key(self, event):
        self.count += 1
        self.query_one(Static).update(f"count {self.count} end")
Least().run()
"""

OURS = """
import sys
from datetime import timedelta
from pathlib import Path
from tunememory.clock import Clock, system_clock
from tunememory.ui.running import run_app
clock = system_clock()
ahead = timedelta(days=int(sys.argv[2]))
sys.exit(run_app(Path(sys.argv[1]), Clock(lambda: clock.now() + ahead, clock.zone)))
"""


def make_repertoire(path: Path, tunes: int, checks: int) -> None:
    """Write a repertoire of invented tunes, with an invented history unless ``checks`` is 0."""
    draw = random.Random(7)
    now = datetime.now(UTC)
    session = open_session(path, fixed_clock(now))
    kinds = ("reel", "jig", "hornpipe", "polka", "waltz")
    made = []
    for number in range(tunes):
        notes = tuple(
            Note(Pitch(4 + draw.randrange(2), draw.choice("CDEFGAB")), Fraction(1, 2))
            for _ in range(8)
        )
        made.append(
            Tune(
                uuid=f"{number:032x}",
                titles=(f"Invented {draw.choice('ABCDEFGHIKLMNOPRST')} {number}",),
                kind=draw.choice(kinds),
                key=Key(draw.choice("ADGEC"), "major"),
                metre="4/4",
                starts=(Start("A", notes), Start("B", notes[::-1])),
                added=(now - timedelta(days=400)).date(),
            )
        )
    session.repertoire.tunes.add(made)
    history = [
        Check(
            uuid=f"c{number:031x}",
            tune=made[draw.randrange(tunes)].uuid,
            at=(at := now - timedelta(days=365 * (1 - number / checks) + 1)),
            day=at.date(),
            round_kind=RoundKind.FIRST,
            prompt=Prompt.HOW,
            levels=(
                ("key", Level(draw.choice((2, 3, 4, 4)))),
                ("A", Level(draw.choice((1, 2, 3, 4, 4)))),
                ("B", Level(draw.choice((1, 2, 3, 4)))),
            ),
            seconds=draw.uniform(1, 12),
        )
        for number in range(checks)
    ]
    session.repertoire.checks.add(history)
    session.close()


class Machine:
    """Where it is measured.

    Args:
        folder: For the files of the measurement.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.cache = folder / "compiled"

    def minimal(self) -> Terminal:
        """Start the minimal app."""
        return Terminal(self.cache, "-c", MINIMAL)

    def ours(self, path: Path, ahead: int = 0) -> Terminal:
        """Start our app so many days from now."""
        return Terminal(self.cache, "-c", OURS, str(path), str(ahead))

    def paints(self, terminal: Terminal, *words: str) -> tuple[list[Spent], float]:
        """What a start took to each of ``words``, and the seconds it then took to leave."""
        found = [
            Spent(terminal.until(word) - terminal.begun, terminal.processor()) for word in words
        ]
        terminal.quiet(0.5)
        return found, terminal.close()

    def starts(self, used: Path, imported: Path, times: int) -> None:
        """Measure starts and print what they took."""
        minimal, later, fresh, leaving, left_minimal = [], [], [], [], []
        new = self.folder / "new.tunes"
        for _ in range(times + 1):
            found, left = self.paints(self.minimal(), "ready")
            minimal.append(found)
            left_minimal.append(left)
            shutil.copy(imported, new)
            fresh.append(self.paints(self.ours(new), "Today", "min")[0])
            found, left = self.paints(self.ours(used, 1), "Today", "min")
            later.append(found)
            leaving.append(left)
        # The first turn compiles what was not compiled yet.
        base = least([first for (first,) in minimal[1:]])
        print(f"  minimal app, first paint             {base}")
        for name, taken in (("a day later", later), ("just imported", fresh)):
            for place, what in enumerate(("first paint", "plan of the day")):
                spent = least([found[place] for found in taken[1:]])
                print(f"  {name:17}  {what:15}   {spent}   {spent.over(base)}")
        quick, ours = (min(taken[1:]) * 1e3 for taken in (left_minimal, leaving))
        print(f"  leaving: minimal app {quick:.0f} ms, ours {ours:.0f} ms")

    def keys(self, path: Path, times: int) -> None:
        """Measure keys, which take turns with a bare write as safe as the repertoire's own."""
        connection = sqlite3.connect(self.folder / "bare.db", isolation_level=None)
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("CREATE TABLE IF NOT EXISTS rows (number INTEGER PRIMARY KEY, text)")
        minimal = self.minimal()
        minimal.until("ready")
        ours = self.ours(path)
        ours.until("min")
        ours.quiet(1.0)
        ours.press("l", "1 of")
        echoes, writes, spaces, levels = [], [], [], []
        for number in range(1, times + 1):
            echoes.append(minimal.press("x", str(number), "end"))
            spent, begun = time.process_time(), time.perf_counter()
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany("INSERT INTO rows (text) VALUES (?)", [("x" * 90,)] * 5)
            connection.execute("COMMIT")
            writes.append(Spent(time.perf_counter() - begun, time.process_time() - spent))
            spaces.append(ours.press(" ", "how it came"))
            levels.append(ours.press("3", f"{number + 1} of"))
        connection.close()
        minimal.close()
        ours.close()
        echo, write, space, level = (
            middle(taken[2:]) for taken in (echoes, writes, spaces, levels)
        )
        both = Spent(echo.wall + write.wall, echo.processor + write.processor)
        print(f"  minimal app, key echo                {echo}")
        print(f"  a bare write, safe on the disk       {write}")
        print(f"  space to the answer                  {space}   {space.over(echo)}")
        print(f"  level to the next prompt             {level}   {level.over(echo)}")
        print(f"  the same beside echo and bare write  {both}   {level.over(both)}")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="how quick the screens are")
    parser.add_argument("--starts", type=int, default=7, help="starts of each app")
    parser.add_argument("--keys", type=int, default=12, help="keys of each kind")
    parser.add_argument("--tunes", type=int, action="append", help="300 and 5000 by default")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        machine = Machine(Path(folder))
        for tunes in options.tunes or (300, 5_000):
            checks = 20 * tunes if tunes < 5_000 else 10 * tunes
            path, imported = (Path(folder) / f"{tunes}{name}.tunes" for name in ("", "-imported"))
            make_repertoire(path, tunes, checks)
            make_repertoire(imported, tunes, 0)
            print(f"{tunes} tunes, {checks} checks")
            machine.starts(path, imported, options.starts)
            machine.keys(path, options.keys)


if __name__ == "__main__":
    main()
