"""How quick the screens are, in a real pseudo-terminal, against a minimal Textual app beside it.

Run it: ``python -m tests.benchmarks.ui_speed``. It prints ratios and gates nothing. Compiled
modules are warmed first. First paint is the time from starting the process to the read that
contains a known word; useful paint the same for the plan of the day. Key to paint is the time from
writing a key to the read that contains what it brings.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import pty
import random
import re
import select
import sqlite3
import statistics
import struct
import sys
import tempfile
import termios
import time
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

from tunememory.clock import fixed_clock
from tunememory.service.desk import open_desk
from tunememory.tunes.check import Check, Level, Prompt, RoundKind
from tunememory.tunes.key import Key
from tunememory.tunes.pitch import Note, Pitch
from tunememory.tunes.tune import Start, Tune

ROWS, COLUMNS = 24, 80
ESCAPES = re.compile(rb"\x1b(\[[0-9;?<>=$ ]*[A-Za-z@`~]|[PX^_].*?\x1b\\|\][^\x07]*(\x07|\x1b\\)|.)")

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
from pathlib import Path
from tunememory.clock import system_clock
from tunememory.ui.running import run_app
sys.exit(run_app(Path(sys.argv[1]), system_clock()))
"""


class Terminal:
    """A process in a pseudo-terminal of 80x24."""

    def __init__(self, *arguments: str) -> None:
        self.seen = b""
        self.begun = time.perf_counter()
        self.child, self.fd = pty.fork()
        if self.child == 0:
            os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
            os.environ.pop("NO_COLOR", None)
            os.execv(sys.executable, [sys.executable, *arguments])
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))

    def until(self, *words: str, since: int = 0, seconds: float = 30.0) -> float:
        """Seconds on the clock when all ``words`` stood in what came after ``since``."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            if not select.select([self.fd], [], [], 0.05)[0]:
                continue
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                break
            now = time.perf_counter()
            shown = ESCAPES.sub(b"", self.seen[since:]).decode("utf-8", "replace")
            if all(word in shown for word in words):
                return now
        sys.exit(f"never saw {words}: {ESCAPES.sub(b'', self.seen[since:])[-2000:]!r}")

    def quiet(self, seconds: float = 0.08) -> int:
        """Read until nothing comes for ``seconds``; returns how much was read in all."""
        while select.select([self.fd], [], [], seconds)[0]:
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                break
        return len(self.seen)

    def press(self, key: str, *words: str) -> float:
        """Seconds from writing ``key`` to the read that holds ``words``."""
        since = self.quiet()
        begun = time.perf_counter()
        os.write(self.fd, key.encode())
        return self.until(*words, since=since) - begun

    def close(self) -> None:
        """End the process."""
        os.write(self.fd, b"\x11")
        try:
            while os.read(self.fd, 65536):
                pass
        except OSError:
            pass
        os.waitpid(self.child, 0)
        os.close(self.fd)


def make_repertoire(path: Path, tunes: int, checks: int) -> None:
    """Write a repertoire of invented tunes with an invented history."""
    draw = random.Random(7)
    now = datetime.now(UTC)
    desk = open_desk(path, fixed_clock(now))
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
    desk.repertoire.add_tunes(made)
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
    desk.repertoire.add_checks(history)
    desk.close()


def paint(*arguments: str, words: tuple[str, ...]) -> list[float]:
    """Seconds from one start to each of ``words``."""
    terminal = Terminal(*arguments)
    found = [terminal.until(word) - terminal.begun for word in words]
    terminal.quiet(0.3)
    terminal.close()
    return found


def starts(path: Path, times: int) -> tuple[float, float, float]:
    """Least seconds to the minimal app's paint, to our first paint, to the plan of the day.

    The two apps take turns, so that a busy machine is busy for both; noise only adds.
    """
    least, ours = [], []
    for _ in range(times + 1):
        least.append(paint("-c", MINIMAL, words=("ready",)))
        ours.append(paint("-c", OURS, str(path), words=("Today", "min")))
    # The first turn compiles what was not compiled yet.
    (minimal,) = (min(column) for column in zip(*least[1:], strict=True))
    first, plan = (min(column) for column in zip(*ours[1:], strict=True))
    return minimal, first, plan


def keys(path: Path, folder: Path, times: int) -> tuple[float, float, float, float]:
    """Median seconds of an echo, a bare commit, space to the answer, a level to the next prompt.

    The four take turns. The commit is of a few rows, as safe as the repertoire's own.
    """
    connection = sqlite3.connect(folder / "bare.db", isolation_level=None)
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("CREATE TABLE IF NOT EXISTS rows (number INTEGER PRIMARY KEY, text TEXT)")
    minimal = Terminal("-c", MINIMAL)
    minimal.until("ready")
    ours = Terminal("-c", OURS, str(path))
    ours.until("min")
    ours.press("l", "1 of")
    taken: list[tuple[float, float, float, float]] = []
    for number in range(1, times + 1):
        echo = minimal.press("x", str(number), "end")
        begun = time.perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany("INSERT INTO rows (text) VALUES (?)", [("x" * 90,)] * 5)
        connection.execute("COMMIT")
        disk = time.perf_counter() - begun
        space = ours.press(" ", "how it came")
        taken.append((echo, disk, space, ours.press("3", f"{number + 1} of")))
    connection.close()
    minimal.close()
    ours.close()
    echo, disk, space, level = (
        statistics.median(column) for column in zip(*taken[2:], strict=True)
    )
    return echo, disk, space, level


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=7, help="starts of each app")
    parser.add_argument("--keys", type=int, default=12, help="keys of each kind")
    parser.add_argument("--tunes", type=int, action="append", help="300 and 5000 by default")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for tunes in options.tunes or (300, 5_000):
            checks = 20 * tunes if tunes < 5_000 else 10 * tunes
            path = Path(folder) / f"{tunes}.tunes"
            make_repertoire(path, tunes, checks)
            least, first, plan = starts(path, options.starts)
            key, disk, space, level = keys(path, Path(folder), options.keys)
            print(f"{tunes} tunes, {checks} checks")
            print(f"  minimal app: first paint {least * 1e3:.0f} ms, key echo {key * 1e3:.1f} ms")
            print(f"  a bare commit to the same disk: {disk * 1e3:.1f} ms")
            print(f"  first paint      {first * 1e3:6.0f} ms   {first / least:.2f} x")
            print(f"  plan of the day  {plan * 1e3:6.0f} ms   {plan / least:.2f} x")
            print(f"  space to answer  {space * 1e3:6.1f} ms   {space / key:.2f} x")
            print(f"  level to prompt  {level * 1e3:6.1f} ms   {level / key:.2f} x", end="")
            print(f"   {level / (key + disk):.2f} x echo and bare commit together")


if __name__ == "__main__":
    main()
