"""The sample repertoire: where it is found, and how its history is read and moved."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest

from tunememory import demo as sample
from tunememory.clock import fixed_clock
from tunememory.demo import (
    COLUMNS,
    HISTORY,
    JOURNAL,
    TUNE_BOOK,
    identity,
    load_sample,
    make_demo,
    read_history,
    read_tunes,
    rounds_of,
    sample_folder,
)
from tunememory.errors import NotDoneError
from tunememory.forecast import own_parameters
from tunememory.music.strings import STANDARD, Tuning
from tunememory.music.tune import Status, Tune
from tunememory.practice.today import today_view
from tunememory.recall.check import NAMED, Level, Prompt, RoundKind, prompt_strands
from tunememory.recall.state import State
from tunememory.rounds.planning import plan_round
from tunememory.session import open_session
from tunememory.store.errors import RepertoireError
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

if TYPE_CHECKING:
    from pathlib import Path

IDS = {1: "one", 2: "two"}
LAST = date(2026, 5, 20)
HEAD = ",".join(COLUMNS) + "\n"
ROWS = (
    HEAD
    + "3,19:02:03,first,1,1,how,key:4 A:3 B:2,3.4,0,1,2\n"
    + "3,19:03:00,first,1,2,what,name:2,11.0,1,0,\n"
    + "0,22:15:00,away,,2,how,key:4 A:4,,0,0,\n"
)


def test_a_row_says_what_was_asked_and_what_came() -> None:
    first, second, away = read_history(ROWS, LAST, UTC, IDS)
    assert first.tune == "one"
    assert first.at == datetime(2026, 5, 17, 19, 2, 3, tzinfo=UTC)
    assert first.day == date(2026, 5, 17)
    assert (first.round_kind, first.prompt) == (RoundKind.FIRST, Prompt.HOW)
    assert first.levels == (("key", Level.KICK_OFF), ("A", Level.FIND), ("B", Level.JOIN_IN))
    assert (first.seconds, first.hints, first.wrong_key) == (3.4, 0, True)
    assert first.strayed_into == "two"
    assert second.prompt is Prompt.WHAT
    assert (second.hints, second.strayed_into) == (1, "")
    assert second.round_uuid == first.round_uuid != ""
    assert (away.seconds, away.round_uuid, away.day) == (None, "", LAST)


def test_the_same_rows_keep_their_identities_wherever_they_are_moved() -> None:
    here = read_history(ROWS, LAST, UTC, IDS)
    there = read_history(ROWS, date(2031, 1, 2), ZoneInfo("Pacific/Auckland"), IDS)
    assert [c.uuid for c in here] == [c.uuid for c in there]
    assert [c.round_uuid for c in here] == [c.round_uuid for c in there]
    assert len({c.uuid for c in here}) == 3
    assert there[0].day == date(2030, 12, 30)


@pytest.mark.parametrize("zone", ["Europe/Dublin", "America/St_Johns", "Asia/Kolkata"])
def test_times_are_local_on_both_sides_of_a_clock_change(zone: str) -> None:
    place = ZoneInfo(zone)
    rows = HEAD + "".join(f"{n},19:30:00,loose,{n},1,how,A:4,1.0,0,0,\n" for n in range(300, 0, -9))
    for check in read_history(rows, LAST, place, IDS):
        assert check.at.tzinfo is UTC
        assert check.at.astimezone(place).strftime("%H:%M") == "19:30"
        assert check.day == check.at.astimezone(place).date()


def test_a_time_after_midnight_belongs_to_the_practice_day_before() -> None:
    (check,) = read_history(HEAD + "0,01:10:00,loose,1,1,how,A:4,1.0,0,0,\n", LAST, UTC, IDS)
    assert check.day == date(2026, 5, 19)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "line 1"),
        ("tune,level\n", "line 1"),
        (HEAD + "0,19:00:00,first,1,1,how,A:4,1.0,0,0\n", "line 2"),
        (ROWS + "0,19:00:00,first,1,1,how,A:5,1.0,0,0,\n", "line 5"),
        (ROWS + "0,19:00:00,first,1,1,sing,A:4,1.0,0,0,\n", "line 5"),
        (ROWS + "0,19:00:00,first,1,9,how,A:4,1.0,0,0,\n", "line 5"),
        (ROWS + "0,25:00:00,first,1,1,how,A:4,1.0,0,0,\n", "line 5"),
        (ROWS + "0,19:00:00,fast,1,1,how,A:4,1.0,0,0,\n", "line 5"),
        (ROWS + "0,19:00:00,first,1,1,how,A 4,1.0,0,0,\n", "line 5"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(text: str, line: str) -> None:
    with pytest.raises(ValueError, match=line):
        read_history(text, LAST, UTC, IDS)


def test_rounds_are_gathered_from_their_checks() -> None:
    cross = Tuning((57, 64, 69, 76))
    tunes = {"one": Tune("one", ("One",), tuning=cross), "two": Tune("two", ("Two",))}
    (found,) = rounds_of(read_history(ROWS, LAST, UTC, IDS), tunes)
    assert (found.kind, found.day, found.tuning) == (RoundKind.FIRST, date(2026, 5, 17), cross)
    assert found.begun_at == datetime(2026, 5, 17, 19, 1, 59, 600000, tzinfo=UTC)
    assert found.ended_at == datetime(2026, 5, 17, 19, 3, tzinfo=UTC)
    assert found.minutes == 4.0


def test_the_folder_holds_the_book_and_the_history() -> None:
    folder = sample_folder()
    assert (folder / TUNE_BOOK).is_file()
    assert (folder / HISTORY).is_file()


def test_a_missing_folder_gives_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.resources.files", lambda _: tmp_path / "tunememory")
    with pytest.raises(NotDoneError, match="sample repertoire is missing"):
        sample_folder()


def test_an_installed_folder_is_found_inside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside = tmp_path / "tunememory" / "sample_repertoire"
    inside.mkdir(parents=True)
    (inside / TUNE_BOOK).write_text("X:1\n")
    monkeypatch.setattr("importlib.resources.files", lambda _: tmp_path / "tunememory")
    assert sample_folder() == inside


def test_a_damaged_book_gives_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for file in sample_folder().iterdir():
        if file.suffix in {".csv", ".toml", ".json"}:
            (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / TUNE_BOOK).write_text("X:1\nT:Odd\nM:4/4\nL:1/8\nK:G\nP:A\nGA$%\n")
    monkeypatch.setattr(sample, "sample_folder", lambda: tmp_path)
    with (
        Repertoire.open(tmp_path / "file.tunes") as repertoire,
        pytest.raises(NotDoneError, match="damaged"),
    ):
        load_sample(repertoire, LAST, UTC)


def test_a_tune_book_that_has_doubts_is_refused() -> None:
    book = "X:1\nT:Short\nM:4/4\nL:1/8\nK:G\nP:A\nGA|\n"
    with pytest.raises(ValueError, match="line 1"):
        read_tunes(book, {}, 10, LAST)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Repertoire:
    path = tmp_path_factory.mktemp("sample") / "saltpan.tunes"
    clock = fixed_clock(datetime(2026, 5, 21, 12, tzinfo=UTC))
    repertoire = Repertoire.open(path, clock=clock)
    load_sample(repertoire, LAST, ZoneInfo("Europe/Dublin"))
    return repertoire


def test_the_whole_sample_goes_into_a_file(filled: Repertoire) -> None:
    tunes = filled.tunes.all()
    assert [tune.uuid for tune in tunes] == [identity("tune", n) for n in range(1, 37)]
    assert min(tune.added for tune in tunes) == date(2025, 10, 20)
    assert Counter(tune.status for tune in tunes) == {
        Status.KEPT: 28,
        Status.LEARNING: 4,
        Status.WANTED: 2,
        Status.RESTING: 2,
    }


LATER = set(NAMED) - {"key", "name"}
"""Strands that were not asked yet when this history was made."""


def test_every_check_fits_its_tune(filled: Repertoire) -> None:
    tunes = {tune.uuid: tune for tune in filled.tunes.all()}
    checks = filled.checks.all()
    assert checks[-1].day == LAST
    for check in checks:
        tune = tunes[check.tune]
        asked = set(prompt_strands(tune, check.prompt)) - LATER
        assert {strand for strand, _ in check.levels} == asked
        assert check.day >= tune.added
    assert sum(1 for check in checks if not check.round_uuid) == sum(
        1 for check in checks if check.round_kind is RoundKind.AWAY
    )


def test_a_round_keeps_to_one_tuning(filled: Repertoire) -> None:
    tunes = {tune.uuid: tune for tune in filled.tunes.all()}
    tunings: dict[str, set[Tuning]] = {}
    for check in filled.checks.all():
        if check.round_uuid:
            tuning = tunes[check.tune].tuning or STANDARD
            tunings.setdefault(check.round_uuid, set()).add(tuning)
    assert all(len(found) == 1 for found in tunings.values())


def test_sets_dates_and_the_last_days_come_with_it(filled: Repertoire) -> None:
    tunes = {tune.uuid: tune for tune in filled.tunes.all()}
    sets = {one.uuid: one for one in filled.sets.all()}
    assert [one.name for one in sets.values()] == ["Low Tide", "Salt and Candle",
                                                   "The Last Cart Home"]  # fmt: skip
    assert all(len(one.tunes) == 3 and tunes.keys() >= set(one.tunes) for one in sets.values())
    weekly, dance, festival = filled.dates.all()
    assert (weekly.first_day.weekday(), weekly.rule) == (3, "FREQ=WEEKLY;BYDAY=TH")
    assert weekly.first_day == date(2025, 10, 23)
    assert 8 <= dance.first_day.day <= 14
    assert dance.first_day.weekday() == 5
    assert festival.first_day == date(2026, 6, 2)
    assert all(sets.keys() >= set(dated.sets) for dated in (weekly, dance, festival))
    practices = filled.practices.all()
    assert practices[-1].day == LAST
    assert practices[-1].at == datetime(2026, 5, 20, 18, 30, tzinfo=UTC)
    assert any(entry.head_only for entry in practices)
    assert any(not entry.tune for entry in practices)
    assert list(filled.pick_ups.all()) == [date(2026, 5, 16), date(2026, 5, 18), LAST]
    assert [line.name for line in filled.heard.all()] == ["", "The Kid on the Mountain"]
    assert verify(filled) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('way = "sing"', 'way = "shout"'),
        ("tune = 26", "tune = 99"),
        ('time = "19:20"', 'time = "late"'),
        ("minutes = 5", ""),
        ("[[heard]]", "[[herd]]"),
    ],
)
def test_a_damaged_journal_gives_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str
) -> None:
    for file in sample_folder().iterdir():
        if file.suffix in {".csv", ".toml", ".json", ".abc"}:
            (tmp_path / file.name).write_bytes(file.read_bytes())
    text = (tmp_path / JOURNAL).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / JOURNAL).write_text(text.replace(old, new), encoding="utf-8")
    monkeypatch.setattr(sample, "sample_folder", lambda: tmp_path)
    with (
        Repertoire.open(tmp_path / "file.tunes") as repertoire,
        pytest.raises(NotDoneError, match="damaged"),
    ):
        load_sample(repertoire, LAST, UTC)


def test_loading_twice_is_refused_and_changes_nothing(filled: Repertoire) -> None:
    before = filled.checks.count()
    with pytest.raises(RepertoireError):
        load_sample(filled, LAST, UTC)
    assert filled.checks.count() == before


def test_the_picture_it_gives_has_something_of_everything(tmp_path: Path) -> None:
    clock = fixed_clock(datetime(2026, 5, 21, 18, tzinfo=ZoneInfo("Europe/Dublin")))
    path = tmp_path / "demo.tunes"
    make_demo(path, clock)
    with open_session(path, clock) as session:
        counts = dict(today_view(session).counts)
        planned = plan_round(session, RoundKind.FIRST)
    assert sum(counts.values()) == 32
    assert 14 <= counts[State.SAFE] <= 21
    assert 5 <= counts[State.FADING] <= 11
    assert 2 <= counts[State.RUSTY] <= 6
    assert 1 <= counts[State.LOST] <= 3
    # One has no name to be asked by, one came in the day before yesterday.
    assert counts[State.NOT_ASKED] == 2
    assert planned.tuning == "GDAE"
    assert "2 tunes wait in AEAE" in planned.note
    assert not planned.coming_back


def test_what_was_learned_of_the_player_is_in_use_and_nothing_is_due(tmp_path: Path) -> None:
    clock = fixed_clock(datetime(2026, 5, 21, 18, tzinfo=UTC))
    path = tmp_path / "demo.tunes"
    make_demo(path, clock)
    with open_session(path, clock) as session:
        assert own_parameters.guessed_with(session).fitted_on == date(2026, 5, 20)
        assert not own_parameters.fit_is_due(session)
        assert not own_parameters.look_is_due(session)
        fitted = session.params
    make_demo(tmp_path / "plain.tunes", clock, learned=False)
    with open_session(tmp_path / "plain.tunes", clock) as session:
        assert own_parameters.guessed_with(session).fitted_on is None
        assert own_parameters.fit_is_due(session)
        assert session.params != fitted
