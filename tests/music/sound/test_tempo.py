"""Speeds by kind: common practice, no source."""

from __future__ import annotations

import pytest

from tunememory.music.sound.tempo import TEMPI, quarters_per_minute


@pytest.mark.parametrize(
    ("kind", "metre", "beat", "beats"),
    [
        ("reel", "4/4", 2, 90),
        ("reel", "C|", 2, 90),
        ("jig", "6/8", 1.5, 110),
        ("slip jig", "9/8", 1.5, 110),
        ("slide", "12/8", 1.5, 130),
        ("slide", "6/8", 1.5, 130),
        ("polka", "2/4", 1, 120),
        ("waltz", "3/4", 1, 120),
        ("hornpipe", "C", 2, 75),
        ("march", "4/4", 1, 96),
        ("march", "2/4", 1, 96),
        ("march", "6/8", 1.5, 96),
        ("air", "4/4", 1, 66),
    ],
)
def test_beats_a_minute(kind: str, metre: str, beat: float, beats: float) -> None:
    assert quarters_per_minute(kind, metre) == pytest.approx(beat * beats)


@pytest.mark.parametrize(
    ("kind", "metre", "other", "ratio"),
    [("reel", "4/4", "2/4", 2), ("polka", "2/4", "4/4", 1 / 2), ("jig", "6/8", "6/4", 1 / 2),
     ("waltz", "3/4", "3/8", 2), ("jig", "6/8", "12/8", 1)],
)  # fmt: skip
def test_the_same_dance_in_other_notes(kind: str, metre: str, other: str, ratio: float) -> None:
    written = quarters_per_minute(kind, metre) / quarters_per_minute(kind, other)
    assert written == pytest.approx(ratio)


@pytest.mark.parametrize(
    ("written", "plain"),
    [("Reels", "reel"), ("SLIP JIGS", "slip jig"), ("double jig", "jig"), ("Slow Air", "slow air"),
     ("old reel in four", "reel"), ("Marches", "march"), ("waltzes", "waltz"),
     ("two-step", "two step"), ("strathspeys", "strathspey")],
)  # fmt: skip
def test_kinds_are_known_however_they_are_written(written: str, plain: str) -> None:
    assert quarters_per_minute(written, TEMPI[plain].metre) == TEMPI[plain].quarters


@pytest.mark.parametrize("metre", ["", "none", "4/4", "2/4", "3/4", "6/8", "9/8", "5/8", "x"])
@pytest.mark.parametrize("kind", ["", "something else", "jig"])
def test_every_tune_has_a_speed_that_can_be_followed(kind: str, metre: str) -> None:
    assert 50 <= quarters_per_minute(kind, metre) <= 250


def test_a_word_inside_another_word_is_no_kind() -> None:
    assert quarters_per_minute("fairground piece", "") != quarters_per_minute("air", "")
