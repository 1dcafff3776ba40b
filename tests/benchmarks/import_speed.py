"""Import of a tune book against a full music21 parse of the same file.

Run it: ``python -m tests.benchmarks.import_speed [FOLDER/FILE ...]``. It prints ratios and gates
nothing. Both readers run in this process one after the other, on processor time.
"""

from __future__ import annotations

import contextlib
import io
import sys
import time
from pathlib import Path

import music21
from music21 import abcFormat
from music21.abcFormat import translate

from tunememory.music.abc.books import read_book

BOOKS = (
    "oneills1850/1176-1275.abc",
    "airdsAirs/book1.abc",
    "miscFolk/northumbrianminstrelsyopus.abc",
)
TARGET = 5.0

PIECES = ("[A:", '"a', "{a", "[ce", "!a", "(3", "A//", "+c", "a>", "x", ":", "[|", "a-")
"""Unfinished or crowded signs that a careless pattern reads over and over."""


def seconds(work) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def full_parse(text: str) -> None:
    """Every tune as a stream, the way music21 reads a tune book."""
    with contextlib.redirect_stderr(io.StringIO()):
        translate.abcToStreamOpus(abcFormat.ABCFile(abcVersion=(2, 1, 0)).readstr(text))


def growth() -> None:
    """Ten times as long a line should take about ten times as long, never a hundred."""
    print("\nten times the line takes so many times as long")
    for piece in PIECES:
        short, long = (
            min(seconds(lambda data=data: list(read_book(data).tunes)) for _ in range(3))
            for data in (f"X:1\nT:One\nK:D\n{piece * n}\n".encode() for n in (1_000, 10_000))
        )
        print(f"{piece!r:6} {long / short:6.1f}x")


def main(names: list[str]) -> None:
    corpus = Path(music21.__file__).parent / "corpus"
    print(f"{'book':45} {'tunes':>6} {'ours, s':>9} {'music21, s':>11} {'ratio':>7}")
    for name in names or BOOKS:
        data = (corpus / name).read_bytes()
        tunes = read_book(data).total
        ours = min(seconds(lambda data=data: list(read_book(data).tunes)) for _ in range(5))
        theirs = seconds(lambda data=data: full_parse(data.decode()))
        print(f"{name:45} {tunes:6} {ours:9.3f} {theirs:11.3f} {theirs / ours:6.1f}x")
    print(f"target: at least {TARGET:.0f}x")
    growth()


if __name__ == "__main__":
    main(sys.argv[1:])
