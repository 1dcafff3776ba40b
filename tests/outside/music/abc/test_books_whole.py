"""Whole printed collections through the book reader."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from tunememory.music.abc.books import read_book, read_one
from tunememory.music.abc.notes import parse_notes
from tunememory.music.abc.reading import ReadTune

pytestmark = pytest.mark.slow


def test_every_tune_comes_back_and_few_are_doubted(books):
    told: Counter[str] = Counter()
    for name, data in books.items():
        wanted = len(re.findall(rb"(?m)^X:", data))
        total, found, notes = read_book(data)
        tunes = list(found)
        assert total == len(tunes) == wanted, name
        for tune in tunes:
            assert isinstance(tune, ReadTune), (name, tune)
            told["doubted" if tune.doubts else "taken as it is"] += 1
            told["has starts"] += bool(tune.starts and tune.starts[0].notes)
            told["other titles"] += len(tune.titles) > 1
        told["notes"] += len(notes)
    assert told["has starts"] == 4435
    assert told["other titles"] >= 370
    assert told["doubted"] <= 0.04 * 4435
    # One stray ":1646" between two tunes of O'Neill.
    assert told["notes"] == 1


def test_starts_read_back_from_their_own_text(books):
    for name in ("oneills1850/0701-0720.abc", "airdsAirs/book3.abc", "oneills1850/1801-1850.abc"):
        for tune in read_book(books[name]).tunes:
            assert isinstance(tune, ReadTune)
            for start in tune.starts:
                read = parse_notes(start.written, start.key or tune.key, tune.metre)
                assert (read.notes, read.pickup, read.problem) == (start.notes, start.pickup, "")


def test_a_tune_reads_the_same_from_its_own_text(books):
    for tune in read_book(books["airdsAirs/book1.abc"]).tunes:
        assert isinstance(tune, ReadTune)
        again = read_one(tune.abc)
        assert isinstance(again, ReadTune)
        assert again.titles == tune.titles
        assert [start.notes for start in again.starts] == [start.notes for start in tune.starts]
        assert again.abc == tune.abc
