"""The practice day as lines: clock, ways, journal, dates, sets."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest

from tunememory.dates.readiness import DateTune, DateView, Readiness
from tunememory.dates.tonight import Starter
from tunememory.music.key import Key
from tunememory.music.tune import Tune
from tunememory.music.ways.material import Material
from tunememory.music.ways.registry import Way
from tunememory.music.ways.singing import sing
from tunememory.practice.heard import HeardTune
from tunememory.practice.journal import CalendarDay, JournalDay, JournalEntry
from tunememory.practice.sitting import Minutes
from tunememory.practice.ways import TuneWay
from tunememory.store.records import Date
from tunememory.ui.dates import date_lines, date_tune_spans, preview_words, ready_words
from tunememory.ui.practice.clock import Stopwatch
from tunememory.ui.practice.drawing import (
    clock_line,
    clock_words,
    sitting_words,
    way_spans,
    ways_lines,
)
from tunememory.ui.practice.journal import calendar_lines, day_rows
from tunememory.ui.text import width_of
from tunememory.ui.today import coming_words
from tunememory.ui.tonight import TonightRow, tonight_spans

TODAY = date(2026, 11, 24)
WIDTHS = (24, 40, 57, 68, 77, 120)


def text(spans) -> str:
    return "".join(piece for piece, _ in spans)


def a_date(**given) -> DateView:
    facts = {
        "dated": Date("d", "Barn dance", date(2026, 12, 5), "dance", "Saltpan Hall"),
        "when": "5 December 2026", "on": date(2026, 12, 5), "days": 11, "wanted": 20, "ready": 12,
        "will_be": 3, "sets": (),
    }  # fmt: skip
    return DateView(**{**facts, **given})


@pytest.mark.parametrize(
    ("seconds", "words"), [(0, "0:00"), (59.9, "0:59"), (61, "1:01"), (3725, "62:05"), (-3, "0:00")]
)
def test_the_clock_reads_minutes_and_seconds(seconds, words) -> None:
    assert clock_words(seconds) == words


@pytest.mark.parametrize("width", WIDTHS)
def test_the_clock_fills_its_line_and_its_head_goes_on(width) -> None:
    places = []
    for minutes in (0, 5, 12, 25, 60):
        line = text(clock_line(minutes * 60, 25, "instrument · GDAE", width, running=True))
        assert width_of(line) == width
        places.append(line.index("●"))
    assert all(before <= after for before, after in pairwise(places))
    assert places[0] < places[2] < places[3]


def test_a_paused_clock_says_so_without_colour() -> None:
    line = text(clock_line(60, 25, "GDAE", 60, running=False))
    assert "paused" in line
    assert "●" not in line


def test_minutes_are_said_apart() -> None:
    minutes = Minutes(instrument=12.2, head=4.0)
    said = sitting_words("GDAE", minutes, head_only=True)
    assert said == "in the head · GDAE · 12 min today · 4 min in the head"
    assert sitting_words("GDAE", Minutes(), head_only=False) == "instrument · GDAE"


def a_way(way: str, *, possible: bool = True, **given) -> TuneWay:
    material = Material("Heading", ("A line",) if possible else ())
    about = Way(way, f"way {way}", "What for.", sing)
    return TuneWay(Tune("t", ("Tune",)), about, material, **given)


def test_a_way_shows_when_it_was_done_and_which_is_next() -> None:
    days = (TODAY - timedelta(days=9), TODAY - timedelta(days=1))
    assert text(way_spans(a_way("scale"), TODAY, 50)).split() == ["○", "way", "scale", "not", "yet"]
    assert "yesterday, 2 days" in text(way_spans(a_way("scale", done=days), TODAY, 50))
    assert text(way_spans(a_way("scale", next=True), TODAY, 50)).startswith("→ ")
    assert text(way_spans(a_way("scale", possible=False), TODAY, 50)).startswith("– ")


def test_a_stopwatch_counts_only_while_it_runs() -> None:
    now = [100.0]
    watch = Stopwatch(lambda: now[0])
    now[0] += 60
    watch.turn()
    now[0] += 500
    assert not watch.running
    assert watch.lap == 60.0
    watch.turn()
    now[0] += 30
    assert watch.seconds == 90.0
    watch.begin_lap()
    assert watch.lap == 0.0
    watch.lengthen_lap(60.0)
    assert watch.lap == 60.0
    watch.lengthen_lap(99.0)
    assert watch.lap == 90.0


def test_how_ready_a_date_is_in_words() -> None:
    assert ready_words(a_date()) == "12 of 20 would start, 15 by then"
    assert ready_words(a_date(will_be=0)) == "12 of 20 would start"
    assert ready_words(a_date(), brief=True) == "12 of 20, 15 by then"
    assert ready_words(a_date(wanted=0, ready=0, will_be=0)) == "no tunes yet"
    assert coming_words(a_date()) == "in 11 days · 12 of 20"


def test_under_half_ready_says_what_to_leave_out_and_not_how_much_is_undone() -> None:
    lines = date_lines(a_date(leave_out=("Drowsy Maggie",)), TODAY, 57)
    said = " ".join(text(line) for line in lines)
    assert "Rather leave out: Drowsy Maggie" in said
    over = " ".join(text(line) for line in date_lines(a_date(on=None, days=None), TODAY, 57))
    assert "would start" not in over


@pytest.mark.parametrize("width", WIDTHS[1:])
def test_lines_of_lists_keep_within_their_width(width) -> None:
    for title in ("Short", "鯨の歌" * 30, "x" * 500):
        known = Tune("t", (title,), kind="hornpipe", key=Key("G"))
        wanted = DateTune(known, "GDAE", 0.3, 0.3, 0.9, Readiness.WILL_BE, None)
        assert width_of(text(date_tune_spans(wanted, width))) <= width
        starter = Starter(known, "GDAE", 0.9, TODAY - timedelta(days=7), lately=True)
        assert width_of(text(tonight_spans(TonightRow("G", starter), width))) <= width


def test_a_date_is_read_back() -> None:
    days = (date(2026, 11, 26), date(2026, 12, 3))
    assert preview_words("every Thursday", days) == "every Thursday: 26 November, 3 December …"
    assert preview_words("over", ()) == "over"


def test_days_are_told_apart_without_colour_and_never_counted_in_a_row() -> None:
    first = date(2026, 11, 23)
    kinds = ((3.0, 0, False, ()), (0.0, 4, False, ()), (0.0, 0, True, ()), (0.0, 0, False, ("D",)),
             (2.0, 0, False, ("D",)), (0.0, 0, False, ()), (0.0, 0, False, ()))  # fmt: skip
    days = [
        CalendarDay(first + timedelta(days=n), minutes, asked, off, dates)
        for n, (minutes, asked, off, dates) in enumerate(kinds)
    ]
    lines = calendar_lines(days, first + timedelta(days=6), first)
    assert [text(line)[-1] for line in lines[1:]] == ["●", "○", "–", "◇", "◆", "·", "·"]
    assert [text(line)[4] for line in lines[1:]] == ["▸", *" " * 6]


def test_a_day_holds_all_that_was_done_and_heard() -> None:
    entry = JournalEntry("e", TODAY, datetime(2026, 11, 24, 19, tzinfo=UTC), "t", "Garryowen",
                         "scale", "its scale", "slowly", 3.0,
                         head_only=True, played_at="")  # fmt: skip
    heard = HeardTune("h", TODAY, "", "the box player", "Garryowen")
    found = HeardTune("h", TODAY, "A jig", note="slow,\nin A", tune="t2", title="Low Tide")
    minutes = Minutes(head=3.0, rounds=2.2)
    day = JournalDay(TODAY, minutes, 4, ("Drowsy Maggie",), (entry,), (heard, found), "bar 5")
    rows = day_rows(day, 60)
    said = "\n".join(text(row.spans) for row in rows)
    pieces = ("Tuesday 24 November 2026  3 min in the head · 2 min in", "rounds · 4 checks",
              "would not come: Drowsy Maggie", "A jig, slow, in A, that was Low Tide",
                  "Garryowen · its scale · slowly · 3 min · in the head",
                  "no name yet, from the box player, like Garryowen",
              "pick up here: bar 5")  # fmt: skip
    assert [piece for piece in pieces if piece not in said] == []
    assert [row.tune for row in rows if row.tune] == ["t", "t2"]
    assert [row.heard for row in rows if row.heard] == [heard, found]
    assert all(width_of(text(row.spans)) <= 60 for row in rows)


def an_entry(days: int, **given) -> JournalEntry:
    day = TODAY - timedelta(days=days)
    facts = {"uuid": "e", "day": day, "at": datetime(day.year, day.month, day.day, 9, tzinfo=UTC),
             "tune": "t", "title": "Tune", "way": "", "way_name": "", "words": "", "minutes": 0.0,
             "head_only": False, "played_at": ""}  # fmt: skip
    return JournalEntry(**{**facts, **given})


def test_a_tunes_page_says_what_to_try_and_what_was_tried_newest_first() -> None:
    ways = (
        a_way("a", done=(TODAY - timedelta(days=9), TODAY - timedelta(days=4))),
        a_way("b", next=True),
        a_way("c", done=(TODAY,)),
        a_way("d"),
        a_way("e", possible=False),
    )
    entries = (
        an_entry(1, words="slow\nand soft", minutes=9.0),
        an_entry(4, way="a", way_name="way a"),
        an_entry(8, played_at="Barn dance"),
    )
    lines = [" ".join(text(line).split()) for line in ways_lines(ways, entries, TODAY, 76)]
    assert lines == [
        "→ next way b: What for.",
        "today way c",
        "4 days ago way a, 2 days",
        "yesterday slow and soft · 9 min",
        "8 days ago played at Barn dance",
        "not yet way d",
    ]
    assert ways_lines((), (), TODAY, 76) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_what_was_done_keeps_to_the_width(width) -> None:
    ways = tuple(a_way(f"way of many words {n}", done=(TODAY,)) for n in range(4))
    for line in ways_lines(ways, (an_entry(1, words="words " * 40),), TODAY, width):
        assert width_of(text(line)) <= width
