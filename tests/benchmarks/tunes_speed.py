"""How long naming, finding and comparing take in a large repertoire; run by hand.

    python -m tests.benchmarks.tunes_speed [TUNES]

The tunes are printed ones (O'Neill, Ryan, Aird, from the music21 package), repeated under other
names where there are too few. Each figure stands beside the time that sorting their titles takes
in the same minute, so that figures of different machines can be compared. Process time.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from statistics import median

import music21

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune
from tunememory.music.finding import NameIndex, NoteIndex
from tunememory.music.fingering import fingering
from tunememory.music.likeness import LikenessIndex
from tunememory.music.strings import STANDARD
from tunememory.music.tune import Tune
from tunememory.text import fold

FOLDERS = ("oneills1850", "ryansMammoth", "airdsAirs", "miscFolk")
QUERIES = 60


def printed() -> list[Tune]:
    corpus = Path(music21.__file__).parent / "corpus"
    return [
        Tune(f"{number}", read.titles, read.kind, read.key, read.metre, starts=read.starts)
        for number, read in enumerate(
            read
            for folder in FOLDERS
            for path in sorted((corpus / folder).glob("*.abc"))
            for read in read_book(path.read_bytes()).tunes
            if isinstance(read, ReadTune) and read.starts
        )
    ]


def seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def each(calls: Iterable[Callable[[], object]]) -> tuple[float, float]:
    """Median and longest time of single calls."""
    times = [seconds(call) for call in calls]
    return median(times), max(times)


def tell(what: str, time_taken: float, yardstick: float) -> None:
    print(f"{what:<56}{1000 * time_taken:10.2f} ms{time_taken / yardstick:10.3f} x sorting")


def main(count: int = 5_000) -> None:
    draw = random.Random(1903)
    books = printed()
    tunes = [replace(books[i % len(books)], uuid=str(i)) for i in range(count)]
    starts = [(tune, start) for tune in tunes for start in tune.starts if len(start.notes) > 12]
    yardstick = median(
        seconds(lambda: sorted(tunes, key=lambda tune: fold(tune.title))) for _ in range(9)
    )
    print(f"{count} tunes, {len(starts)} starts; sorting titles {1000 * yardstick:.1f} ms")

    begun = time.process_time()
    names = NameIndex.of((tune.uuid, tune.titles) for tune in tunes)
    tell("names: the index", time.process_time() - begun, yardstick)
    words = [draw.choice(fold(tune.title).split() or ["x"]) for tune in draw.sample(tunes, QUERIES)]
    for what, asked in (
        ("names: three letters", [word[:3] for word in words]),
        (
            "names: a word with a letter swapped",
            [word[1:2] + word[:1] + word[2:] for word in words],
        ),
    ):
        usual, longest = each(lambda word=word: names.find(word) for word in asked)
        tell(what, usual, yardstick)
        tell(what + ", longest", longest, yardstick)

    begun = time.process_time()
    notes = NoteIndex(tunes)
    tell("notes: the index", time.process_time() - begun, yardstick)
    for typed in (4, 8, 12):
        lines = []
        for _ in range(QUERIES):
            line = [note.pitch for note in draw.choice(starts)[1].notes]
            del line[draw.randrange(typed)]
            lines.append(line[:typed])
        usual, longest = each(lambda line=line: notes.find(line) for line in lines)
        tell(f"notes: {typed} typed, one left out", usual, yardstick)
        tell(f"notes: {typed} typed, longest", longest, yardstick)

    begun = time.process_time()
    alike = LikenessIndex(tunes)
    alike.twins_of(tunes[0])
    tell("twins: the index", time.process_time() - begun, yardstick)
    usual, longest = each(
        lambda tune=tune: alike.twins_of(tune) for tune in draw.sample(tunes, QUERIES)
    )
    tell("twins: one tune against all", usual, yardstick)
    tell("twins: one tune, longest", longest, yardstick)
    tell("twins: one tune put in", seconds(lambda: alike.changed(tunes[0])), yardstick)
    few = LikenessIndex(draw.sample(tunes, min(300, count)))
    tell("twins: 300 tunes, all pairs", seconds(lambda: list(few.all_pairs())), yardstick)
    tell("twins: all tunes, all pairs", seconds(lambda: list(alike.all_pairs())), yardstick)

    usual, longest = each(
        lambda start=start: fingering(start.notes, STANDARD)
        for _, start in draw.sample(starts, QUERIES)
    )
    tell("fingering: one start", usual, yardstick)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
