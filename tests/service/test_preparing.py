"""Days prepared in advance are what working them out on the day gives; nothing else is shown."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tunememory import __version__
from tunememory.clock import fixed_clock
from tunememory.dates.changing import DateDraft
from tunememory.demo import make_demo
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft
from tunememory.practice.today import DAYS_AHEAD, TodayView, from_text, made_as
from tunememory.recall.check import Level, RoundKind
from tunememory.service.desk import Desk, open_desk
from tunememory.session import rebuild
from tunememory.store.errors import Full
from tunememory.store.records import At
from tunememory.store.repertoire import Repertoire
from tunememory.ui.running import first_picture

NOW = datetime(2026, 11, 24, 18, 30, tzinfo=ZoneInfo("Europe/Dublin"))
DAY = NOW.date()


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample repertoire with a year of history, sets and dates."""
    path = tmp_path_factory.mktemp("sample") / "sample.tunes"
    make_demo(path, fixed_clock(NOW))
    return path


@pytest.fixture
def path(sample: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(sample, tmp_path / "own.tunes"))


@pytest.fixture
def desk(path: Path) -> Iterator[Desk]:
    with open_desk(path, fixed_clock(NOW)) as opened:
        yield opened


def prepared(desk: Desk) -> dict[date, TodayView | None]:
    found = desk.repertoire.prepared_days(made_as(desk.clock))
    return {day: from_text(text) for day, text in found.items()}


def afresh(path: Path, moment: datetime) -> TodayView:
    with open_desk(path, fixed_clock(moment)) as other:
        return other.today()


def play(desk: Desk, kind: RoundKind, most: int = 99) -> None:
    run = desk.begin(desk.plan(kind))
    while run.current is not None and run.done < most:
        level = Level(1 + run.done % 4)
        run.rate(dict.fromkeys(run.current.strands, level), seconds=2.0)
    run.stop()


def test_what_is_prepared_is_what_each_day_gives_when_it_comes(desk: Desk, path: Path) -> None:
    assert desk.prepare()
    days = prepared(desk)
    assert [*days] == [DAY + timedelta(days=ahead) for ahead in range(1 + DAYS_AHEAD)]
    for ahead, view in enumerate(days.values()):
        assert view is not None
        assert view.day == DAY + timedelta(days=ahead)
        assert view.steps[0].prompts > 0
        assert view.coming
        assert view.tunes
        assert view == afresh(path, NOW + timedelta(days=ahead))


def test_tomorrow_follows_from_what_was_done_today(desk: Desk, path: Path) -> None:
    play(desk, RoundKind.FIRST)
    desk.close_day("B part, phrase 3")
    assert desk.prepare()
    today, tomorrow = [*prepared(desk).values()][:2]
    assert today == desk.today()
    assert today.closed
    assert today.steps[0].done
    assert tomorrow == afresh(path, NOW + timedelta(days=1))
    assert (tomorrow.at, tomorrow.closed, tomorrow.steps[0].done) == (At.FIRST, False, False)
    assert (tomorrow.pick_up, tomorrow.pick_up_day) == ("B part, phrase 3", DAY)


def test_the_player_is_expected_at_the_hour_of_the_first_round(desk: Desk, path: Path) -> None:
    play(desk, RoundKind.FIRST, most=2)
    with open_desk(path, fixed_clock(NOW + timedelta(hours=4))) as evening:
        assert evening.prepare()
        assert prepared(evening)[DAY + timedelta(days=1)] == afresh(path, NOW + timedelta(days=1))


def test_days_are_counted_by_the_clock_on_the_wall(sample: Path, tmp_path: Path) -> None:
    """The clocks of Dublin went back at one in the morning, UTC, of 25 October 2026."""
    path = Path(shutil.copy(sample, tmp_path / "own.tunes"))
    before = datetime(2026, 10, 24, 4, 30, tzinfo=ZoneInfo("Europe/Dublin"))
    with open_desk(path, fixed_clock(before)) as desk:
        assert desk.prepare()
        assert [*prepared(desk)] == [date(2026, 10, number) for number in (24, 25, 26, 27)]
    after = datetime(2026, 10, 25, 4, 30, tzinfo=UTC)
    assert first_picture(path, fixed_clock(after.astimezone(ZoneInfo("Europe/Dublin")))).view


def test_preparing_leaves_the_open_file_as_it_was(desk: Desk) -> None:
    before = desk.today()
    assert desk.prepare()
    assert desk.today() == before
    assert desk.day() == DAY


def test_what_is_prepared_is_not_prepared_again(desk: Desk, path: Path) -> None:
    assert desk.prepare()
    before = path.read_bytes()
    assert desk.prepare()
    with open_desk(path, fixed_clock(NOW + timedelta(days=2))) as later:
        assert later.prepare()
    assert path.read_bytes() == before


def test_the_first_picture_is_of_the_day(desk: Desk, path: Path) -> None:
    assert first_picture(path, fixed_clock(NOW)).view is None
    assert desk.prepare()
    for ahead in range(1 + DAYS_AHEAD):
        at = NOW + timedelta(days=ahead, hours=-7)
        assert first_picture(path, fixed_clock(at)).view == prepared(desk)[at.date()]
    for ahead in (-1, 1 + DAYS_AHEAD):
        assert first_picture(path, fixed_clock(NOW + timedelta(days=ahead))).view is None


CHANGES: dict[str, Callable[[Desk], object]] = {
    "a rating": lambda desk: play(desk, RoundKind.FIRST, most=1),
    "a tune more": lambda desk: desk.add(Draft(("Saltpan",))),
    "an edit": lambda desk: desk.edit(next(iter(desk.tunes)), Draft(("Another",))),
    "a tune taken out": lambda desk: desk.remove(next(iter(desk.tunes))),
    "a setting": lambda desk: desk.save_settings(replace(desk.settings, intake=2)),
    "a date": lambda desk: desk.save_date(DateDraft("30 November 2026", "gig")),
    "the line for the next time": lambda desk: desk.close_day("bar 5"),
    "beliefs worked out anew": rebuild,
}


@pytest.mark.parametrize("change", CHANGES)
def test_no_day_is_shown_that_was_prepared_before_a_change(
    desk: Desk, path: Path, change: str
) -> None:
    assert desk.prepare()
    CHANGES[change](desk)
    for ahead in range(1 + DAYS_AHEAD):
        assert first_picture(path, fixed_clock(NOW + timedelta(days=ahead))).view is None
    assert desk.prepare()
    assert prepared(desk)[DAY] == afresh(path, NOW)


def test_no_day_is_shown_that_was_prepared_before_a_book_came_in(
    desk: Desk, path: Path, tmp_path: Path
) -> None:
    assert desk.prepare()
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:The New One\nM:C|\nK:D\nDFAd fdAF|\n", encoding="utf-8")
    assert desk.import_file(book, lambda done, total: None).taken == 1
    assert first_picture(path, fixed_clock(NOW)).view is None


def test_what_another_window_wrote_is_in_what_is_prepared(desk: Desk, path: Path) -> None:
    assert desk.today().practice is not None  # all is read
    with open_desk(path, fixed_clock(NOW)) as window:
        window.add(Draft(("Saltpan",), key="D"))
    assert desk.prepare()
    view = prepared(desk)[DAY]
    assert view == afresh(path, NOW)
    assert len(view.tunes) == sum(1 for _ in desk.active())


@pytest.mark.parametrize(("name", "other"), [("__version__", __version__ + ".1"), ("MODEL", 99)])
def test_another_zone_version_or_memory_does_not_find_it(
    desk: Desk, path: Path, monkeypatch: pytest.MonkeyPatch, name: str, other: object
) -> None:
    assert desk.prepare()
    assert first_picture(path, fixed_clock(NOW)).view is not None
    assert first_picture(path, fixed_clock(NOW.astimezone(ZoneInfo("Europe/Paris")))).view is None
    monkeypatch.setattr(f"tunememory.practice.today.{name}", other)
    assert first_picture(path, fixed_clock(NOW)).view is None


def test_a_file_that_is_only_read_is_not_prepared(path: Path) -> None:
    with Repertoire.open(path, readonly=True) as repertoire:
        assert not Desk(repertoire, fixed_clock(NOW)).prepare()


DAY_OF_IT = f'"day":"{DAY}"'
WRONG: dict[str, Callable[[str], str]] = {
    "nothing": lambda text: " ",
    "null": lambda text: "null",
    "a list": lambda text: "[]",
    "empty": lambda text: "{}",
    "cut short": lambda text: text[:-1],
    "another field": lambda text: text.replace('"note"', '"remark"'),
    "a number for a yes": lambda text: text.replace('"closed":false', '"closed":0'),
    "half a tune": lambda text: text.replace('"practice":', '"practice":1.5,"x":'),
    "no step": lambda text: text.replace('"at":"first"', '"at":"tea"'),
    "no round": lambda text: text.replace('["first",', '["second",'),
    "above certain": lambda text: text.replace("[[0.", "[[7.").replace(",0.", ",7."),
    "no roots": lambda text: text.replace('"tunes":[["', '"tunes":[[],["'),
    "no day": lambda text: text.replace(DAY_OF_IT, '"day":"today"'),
    "another day": lambda text: text.replace(DAY_OF_IT, f'"day":"{DAY + timedelta(days=1)}"'),
    "no text": lambda text: text.replace('"note":"', '"note":7,"x":"'),
    "no number": lambda text: text.replace('"coming_back":false', '"coming_back":NaN'),
    "deep": lambda text: "[" * 100_000,
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_day_that_is_not_as_it_was_prepared_is_passed_over(
    desk: Desk, path: Path, wrong: str
) -> None:
    assert desk.prepare()
    form = made_as(desk.clock)
    text = desk.repertoire.prepared_days(form)[DAY]
    changed = WRONG[wrong](text)
    assert changed != text
    assert desk.repertoire.save_prepared_days({DAY: changed}, form)
    assert first_picture(path, fixed_clock(NOW)).view is None


def test_a_full_disk_at_the_end_is_no_fault(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> bool:
        raise Full("no room")

    monkeypatch.setattr(desk.repertoire, "save_prepared_days", full)
    assert not desk.prepare()


def test_a_date_nobody_can_read_keeps_nothing_from_ending(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable(_: object) -> TodayView:
        raise NotDoneError("a date cannot be read")

    monkeypatch.setattr(Desk, "today", unreadable)
    assert not desk.prepare()
