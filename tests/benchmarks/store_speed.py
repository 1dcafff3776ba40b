"""Speed of the repertoire file at 5,000 tunes and 500,000 checks, as ratios within one run.

Run it: ``python -m tests.benchmarks.store_speed [TUNES CHECKS]``. It prints and gates nothing.
Each figure stands beside the plainest thing that could do the same work with SQLite: an insert and
commit of one row with the same settings, or fetching the same columns and doing nothing with them.
"""

from __future__ import annotations

import os
import random
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from statistics import median
from uuid import UUID

from tunememory.music.key import Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.tune import Start, Tune
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.store.repertoire import Repertoire

BEGIN = datetime(2020, 1, 1, 12, tzinfo=UTC)
LENGTHS = (Fraction(1, 2), Fraction(1), Fraction(1, 4), Fraction(3, 4))
ROUNDS = 7
WRITES = 200


def invented_tunes(number: int, chance: random.Random) -> list[Tune]:
    """Tunes with one or two titles and two or three starts of 14 notes."""

    def start(part: str) -> Start:
        notes = tuple(
            Note(
                Pitch(chance.choice((4, 5)), chance.choice(LETTERS), chance.choice((0, 0, 0, 1))),
                chance.choice(LENGTHS),
            )
            for _ in range(14)
        )
        return Start(part, notes, Fraction(0), "DF Ad fd|ec Ac EA|")

    return [
        Tune(
            str(UUID(int=one)),
            (f"The Heron on Post {one}", f"Grey Wader {one}")[: 1 + one % 2],
            "reel",
            Key("D"),
            "4/4",
            starts=tuple(start(part) for part in "ABC"[: 2 + one % 2]),
            added=BEGIN.date(),
        )
        for one in range(1, number + 1)
    ]


def invented_checks(number: int, tunes: list[Tune], chance: random.Random) -> Iterator[Check]:
    """Checks of three strands, one every five minutes."""
    for one in range(number):
        at = BEGIN + timedelta(minutes=5 * one)
        yield Check(
            str(UUID(int=10**9 + one)),
            chance.choice(tunes).uuid,
            at,
            at.date(),
            RoundKind.FIRST,
            Prompt.HOW,
            tuple((strand, Level(chance.randint(1, 4))) for strand in ("key", "A", "B")),
            2.5,
        )


def timed(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median milliseconds of ``work``, on the clock of the wall: a write waits for the disk."""
    taken: list[float] = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return 1000 * median(taken)


def plain_write(folder: Path) -> Callable[[], object]:
    """One row inserted and committed, nothing else, with the settings our file has."""
    bare = sqlite3.connect(folder / "bare.db", isolation_level=None)
    bare.execute("PRAGMA synchronous = EXTRA")
    bare.execute("CREATE TABLE rows (number INTEGER PRIMARY KEY, text TEXT)")

    def write() -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO rows (text) VALUES (?)", ("x" * 200,))
        bare.execute("COMMIT")

    return write


def plain_open(path: Path) -> Callable[[], object]:
    """Connect and read one value."""

    def connect() -> None:
        with closing(sqlite3.connect(path)) as bare:
            bare.execute("PRAGMA user_version").fetchone()

    return connect


def plain_copy(path: Path) -> Callable[[], object]:
    """Copy the bytes of the file and force them onto the disk."""

    def copy() -> None:
        with path.with_suffix(".copy").open("wb") as target:
            target.write(path.read_bytes())
            target.flush()
            os.fsync(target.fileno())

    return copy


def plain_read(path: Path, *queries: str) -> Callable[[], object]:
    """Fetch the rows of queries and do nothing with them."""
    bare = sqlite3.connect(path)
    return lambda: [bare.execute(query).fetchall() for query in queries]


def told(what: str, ours: float, plainly: str, plain: float) -> None:
    print(f"{what:34} {ours:9.2f} ms   {plainly:30} {plain:9.2f} ms   {ours / plain:6.1f}x")


def write_speed(repertoire: Repertoire, folder: Path, tunes: list[Tune]) -> None:
    checks = invented_checks(WRITES, tunes, random.Random(2))
    later = (
        replace(check, uuid=str(UUID(int=10**10 + number))) for number, check in enumerate(checks)
    )
    write = plain_write(folder)
    ours, plain = [], []
    for check in later:  # by turns, so that a busy disk is busy for both
        ours.append(timed(lambda check=check: repertoire.checks.record(check, bytes(400)), 1))
        plain.append(timed(write, 1))
    told("record a check", median(ours), "insert one row, commit", median(plain))


def read_speed(repertoire: Repertoire) -> None:
    path = repertoire.path
    told(
        "all tunes",
        timed(repertoire.tunes.all),
        "fetch their rows",
        timed(
            plain_read(
                path,
                "SELECT * FROM tunes ORDER BY tune_id",
                "SELECT * FROM titles ORDER BY tune_id, place",
                "SELECT * FROM starts ORDER BY tune_id, place",
            )
        ),
    )
    told(
        "all beliefs",
        timed(repertoire.beliefs.all),
        "fetch their rows",
        timed(plain_read(path, "SELECT * FROM beliefs")),
    )
    told(
        "last check of each tune",
        timed(repertoire.checks.last_by_tune),
        "count the checks",
        timed(plain_read(path, "SELECT count(*) FROM checks WHERE withdrawn_at IS NULL")),
    )
    told(
        "last 200 checks",
        timed(lambda: repertoire.checks.recent(200)),
        "fetch their rows",
        timed(plain_read(path, "SELECT * FROM checks ORDER BY check_id DESC LIMIT 200")),
    )
    told(
        "all checks",
        timed(repertoire.checks.all, 1),
        "fetch checks and levels",
        timed(plain_read(path, "SELECT * FROM checks", "SELECT * FROM levels"), 1),
    )


def main(tune_count: int, check_count: int) -> None:
    chance = random.Random(1)
    tunes = invented_tunes(tune_count, chance)
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "large.tunes"
        with Repertoire.open(path) as repertoire:
            adding = timed(lambda: repertoire.tunes.add(tunes), 1)
            history = invented_checks(check_count, tunes, chance)
            history_taken = timed(lambda: repertoire.checks.add(history), 1)
            repertoire.beliefs.save({tune.uuid: bytes(400) for tune in tunes}, parameters_version=0)
            print(f"{tune_count} tunes added in {adding:.0f} ms")
            print(f"{check_count} checks added in {history_taken / 1000:.1f} s")
            print(f"size of the file {path.stat().st_size / 2**20:.0f} MiB")
        told(
            "open and close",
            timed(lambda: Repertoire.open(path).close()),
            "connect, read a pragma, close",
            timed(plain_open(path)),
        )
        with Repertoire.open(path) as repertoire:
            # The first write of a day copies the file; a program may do that write beforehand.
            first = timed(lambda: repertoire.settings.save({"minutes": "6"}), 1)
            told("first write of a day", first, "copy the file", timed(plain_copy(path), 1))
            read_speed(repertoire)
            write_speed(repertoire, Path(name), tunes)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3] or ("5000", "500000")))
