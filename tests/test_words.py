from __future__ import annotations

from datetime import date, timedelta

import pytest

from tunememory.words import ago, ahead, counted, day_words, listed, weekday_words

TODAY = date(2026, 11, 24)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-3, "today"), (0, "today"), (1, "yesterday"), (2, "2 days ago"), (13, "13 days ago"),
        (14, "2 weeks ago"), (25, "4 weeks ago"), (30, "a month ago"), (61, "2 months ago"),
        (365, "12 months ago"), (800, "2 years ago"),
    ],
)  # fmt: skip
def test_days_ago(days, words):
    assert ago(TODAY - timedelta(days), TODAY) == words


def test_never_met():
    assert ago(None, TODAY) == "not met yet"


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "today"), (0.6, "tomorrow"), (7, "in 7 days"), (30, "in a month"), (60, "in 2 months")],
)
def test_days_ahead(days, words):
    assert ahead(days) == words


def test_numbers_of_things():
    assert counted(1, "tune") == "1 tune"
    assert counted(0, "tune") == "0 tunes"
    assert counted(2, "box", "boxes") == "2 boxes"
    assert counted(12_345, "tune").split("\N{NO-BREAK SPACE}") == ["12", "345 tunes"]


def test_a_day_with_and_without_its_weekday_and_year():
    assert day_words(TODAY) == "24 November 2026"
    assert weekday_words(TODAY) == "Tuesday 24 November 2026"
    assert weekday_words(TODAY, year=False) == "Tuesday 24 November"
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
