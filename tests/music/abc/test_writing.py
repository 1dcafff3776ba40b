"""Tunes written as ABC read back the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune
from tunememory.music.abc.writing import write_book
from tunememory.music.key import MODES, Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.strings import Tuning
from tunememory.music.tune import Declared, Start, Status, Tune
from tunememory.text import clean_text

ROOTS = ("C", "G", "D", "A", "E", "B", "F", "Bb", "Eb", "F#", "Ab")


def tune_of(read: ReadTune) -> Tune:
    """The tune a read one stands for, as an import keeps it."""
    facts = read.facts
    assert facts.status is not None
    assert facts.declared is not None
    assert facts.added is not None
    return Tune(
        uuid=facts.uuid,
        titles=read.titles,
        kind=read.kind,
        key=read.key,
        metre=read.metre,
        tuning=facts.tuning,
        status=facts.status,
        starts=read.starts,
        declared=facts.declared,
        source=read.source,
        note=read.note,
        favourite=facts.favourite,
        added=facts.added,
    )


lines = st.text(max_size=60).map(clean_text)
words = lines.filter(bool)
notes = st.builds(
    Note,
    st.builds(Pitch, st.integers(2, 7), st.sampled_from("CDEFGAB"), st.integers(-2, 2)),
    st.builds(Fraction, st.integers(1, 16), st.sampled_from([1, 2, 3, 4, 6, 8])),
)
plain_keys = st.builds(Key, st.sampled_from(ROOTS), st.sampled_from(MODES))


@st.composite
def keys(draw):
    key = draw(plain_keys)
    own = key.alters()
    changes = draw(st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-2, 2), max_size=2))
    return Key(key.root, key.mode, tuple(sorted((k, v) for k, v in changes.items() if own[k] != v)))


WRITTEN = (
    "", "d2f a2f|", "[L:1/16]d4f2|", "D3 A0 A1", "[M:9/8]letters: d f a", "[M:9/8]d2f|",
    "[K:Em][M: 2/4]d", "[M:%]", "[M:none]d",
)  # fmt: skip


@st.composite
def tunes(draw):
    key = draw(st.none() | keys())
    parts = draw(st.integers(0, 4))
    starts = tuple(
        Start(
            part=letter,
            notes=tuple(draw(st.lists(notes, max_size=12))),
            pickup=draw(st.fractions(0, 6, max_denominator=8)),
            written=draw(words | st.sampled_from(WRITTEN)),
            key=draw(st.none() | keys().filter(lambda own: own != key)),
            doubt=draw(lines),
        )
        for letter in "ABCD"[:parts]
    )
    titles = tuple(draw(st.lists(words, max_size=3, unique=True)))
    if not titles and not starts:
        titles = ("Sandy Point",)
    return Tune(
        uuid=draw(st.uuids()).hex,
        titles=titles,
        kind=draw(lines),
        key=key,
        metre=draw(st.sampled_from(["", "6/8", "C|", "C", "2/4", "3/4", "9/8", "crooked"])),
        tuning=draw(
            st.none()
            | st.builds(Tuning, st.lists(st.integers(30, 90), min_size=1, max_size=8).map(tuple))
        ),
        status=draw(st.sampled_from(list(Status))),
        starts=starts,
        declared=draw(st.sampled_from(list(Declared))),
        source=draw(lines),
        note=clean_text(draw(st.text(max_size=120)), multiline=True),
        favourite=draw(st.booleans()),
        added=draw(st.dates(date(1990, 1, 1))),
    )


@given(st.lists(tunes(), min_size=1, max_size=4))
def test_every_fact_of_every_tune_survives_out_and_in(some):
    result = read_book(write_book(some).encode())
    read = [tune for tune in result.tunes if isinstance(tune, ReadTune)]
    assert [tune_of(tune) for tune in read] == some
    assert result.notes == ()
    again = write_book([tune_of(tune) for tune in read])
    assert again == write_book(some)


JIG = Tune(
    uuid="5f0c",
    titles=("Salt on the Sill", "The Estuary"),
    kind="jig",
    key=Key("D"),
    metre="6/8",
    tuning=Tuning((57, 64, 69, 76)),
    status=Status.LEARNING,
    starts=(
        Start("A", (Note(Pitch(5, "D"), Fraction(1)), Note(Pitch(5, "F", 1), Fraction(1, 2)))),
        Start("B", (Note(Pitch(4, "A"), Fraction(3, 2)),), key=Key("A", "mixolydian")),
        Start("C"),
    ),
    source="the box player",
    note="played slowly\n  then faster",
    added=date(2026, 3, 1),
)


def test_a_written_tune_is_plain_abc():
    assert write_book([JIG]).splitlines() == [
        "%abc-2.1",
        "",
        "X:1",
        "T:Salt on the Sill",
        "T:The Estuary",
        '%%tunememory-uuid "5f0c"',
        '%%tunememory-status "learning"',
        '%%tunememory-declared "known"',
        '%%tunememory-added "2026-03-01"',
        "%%tunememory-tuning [57, 64, 69, 76]",
        "R:jig",
        "S:the box player",
        "N:played slowly",
        r"N:\u0020\u0020then faster",
        "M:6/8",
        "L:1/8",
        "K:D",
        "P:A",
        '%%tunememory-written ""',
        "d2f",
        "P:B",
        "K:Amix",
        '%%tunememory-written ""',
        "A3",
        "P:C",
        "K:D",
    ]


def test_a_part_in_another_metre_is_written_in_it_whatever_it_was_typed_in():
    """Section 3.2 of the ABC 2.1 standard."""
    six = tuple(Note(Pitch(5, letter), Fraction(1, 2)) for letter in "DEDEDEDEDE")
    typed = "[M:9/8]letters: d | e d e d e d e d e"
    tune = replace(JIG, starts=(Start("A", six[:4]), Start("B", six, Fraction(1, 2), typed)))
    text = write_book([tune])
    assert "[L:1/8][M:9/8]d|ede ded ede|" in text.splitlines()
    assert "[M:6/8][L:1/8]ded e" in text.splitlines()
    (read,) = read_book(text.encode()).tunes
    assert read.starts == tune.starts


def test_facts_spoilt_by_hand_are_doubted_and_the_rest_still_comes():
    text = write_book([JIG]).replace('"learning"', '"forgotten"').replace("[57, 64", '["x", 64')
    (read,) = read_book(text.encode()).tunes
    assert isinstance(read, ReadTune)
    assert (read.facts.uuid, read.facts.status, read.facts.tuning) == ("5f0c", None, None)
    assert len(read.doubts) == 2
    assert read.starts[:1] == JIG.starts[:1]


def test_music_spoilt_by_hand_is_doubted():
    text = write_book([JIG]).replace("d2f\n", "d2 7 f\n")
    (read,) = read_book(text.encode()).tunes
    assert isinstance(read, ReadTune)
    assert "A start" in read.doubts[0]
    assert read.starts[0].notes == JIG.starts[0].notes


def test_an_empty_repertoire_is_an_empty_book():
    assert write_book([]) == "%abc-2.1\n"


@given(st.integers(0, 900), st.integers(0, 30), st.text(max_size=12), st.integers(0, 900))
def test_a_book_of_ours_spoilt_anywhere_still_reads(at, cut, text, other):
    book = write_book([JIG])
    book = book[:at] + text + book[at + cut :]
    book = book[:other] + book[other + 1 :]
    assert list(read_book(book.encode("utf-8", "replace")).tunes)
