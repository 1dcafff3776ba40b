"""A pupil's file in a lesson: what is listed, marked, given, written down, printed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len

from tests.playing import came_at
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, add_tune, set_status
from tunememory.music.tune import Status
from tunememory.practice.sitting import set_pick_up
from tunememory.recall.check import Level, Prompt, prompt_strands
from tunememory.session import Session, open_session
from tunememory.teaching import pupils
from tunememory.teaching.pupils import (
    MEND_AT_A_TIME,
    Lesson,
    Progress,
    file_for,
    files_beside,
    give_tunes,
)

Kept = Callable[..., list[str]]


@pytest.fixture
def lesson(session: Session, kept: Kept, clock: Clock) -> Iterator[Lesson]:
    """A pupil who was given three tunes of the teacher's six."""
    path = file_for(session.path, "Ada")
    give_tunes(session, path, kept(6)[:3], create=True)
    opened = Lesson(path, clock)
    yield opened
    opened.session.close()


def progress(lesson: Lesson) -> dict[str, Progress]:
    return {row.tune.title: row.progress for row in lesson.rows()}


def test_pupils_are_the_other_files_of_the_folder(session: Session, clock: Clock) -> None:
    assert files_beside(session.path) == ()
    for name in ("bríd", "Ada", "Zoë the second"):
        open_session(file_for(session.path, name), clock).close()
    (session.path.parent / "notes.txt").write_text("")
    (session.path.parent / "folder.tunes").mkdir()
    assert [path.stem for path in files_beside(session.path)] == ["Ada", "bríd", "Zoë the second"]
    with pytest.raises(NotDoneError, match="there already"):
        file_for(session.path, "Ada")
    for name in ("", " ", "../up", "a/b", ".hidden", "x:y"):
        with pytest.raises(NotDoneError, match="a name that a file can have"):
            file_for(session.path, name)


def test_tunes_stand_in_the_order_a_teacher_looks_at_them(
    session: Session, kept: Kept, clock: Clock, hands: Any
) -> None:
    path = file_for(session.path, "Ada")
    uuids = kept(6)
    give_tunes(session, path, uuids[1:], create=True)
    lesson = Lesson(path, clock)
    for uuid in uuids[2:]:
        set_status(lesson.session, uuid, Status.KEPT)
    set_status(lesson.session, uuids[3], Status.RESTING)
    lesson.mark(uuids[4], Level.SIT_OUT)
    hands.forward(days=40)
    give_tunes(session, path, uuids[:1])
    lesson.mark(uuids[5], Level.KICK_OFF)
    rows = lesson.rows()
    assert [(row.tune.uuid, row.progress) for row in rows] == [
        (uuids[0], Progress.GIVEN),
        (uuids[1], Progress.GIVEN),
        (uuids[4], Progress.MEND),
        (uuids[2], Progress.NOT_ASKED),
        (uuids[5], Progress.CAN_START),
        (uuids[3], Progress.LATER),
    ]
    assert rows[0].tune.added - rows[1].tune.added == timedelta(days=40)
    assert [start.part for start in rows[0].starts] == ["A", "B"]
    lesson.session.close()


def test_who_was_away_has_no_longer_list_than_the_others(
    session: Session, kept: Kept, clock: Clock, hands: Any
) -> None:
    path = file_for(session.path, "Ada")
    uuids = kept(12)
    give_tunes(session, path, uuids, create=True)
    lesson = Lesson(path, clock)
    for uuid in uuids:
        set_status(lesson.session, uuid, Status.KEPT)
        lesson.mark(uuid, Level.JOIN_IN)
    hands.forward(days=120)
    found = progress(lesson)
    assert list(found.values()).count(Progress.MEND) == MEND_AT_A_TIME
    assert list(found.values()).count(Progress.LATER) == 12 - MEND_AT_A_TIME
    lesson.session.close()


def test_a_mark_is_of_every_start_and_can_be_taken_back(lesson: Lesson) -> None:
    first, second = (row.tune.uuid for row in lesson.rows()[:2])
    lesson.mark(first, Level.FIND)
    lesson.mark(second, Level.JOIN_IN)
    marks = {row.tune.uuid: row.marked for row in lesson.rows()}
    assert marks[first] is Level.FIND
    (check,) = lesson.session.repertoire.checks.all(first)
    asked = prompt_strands(lesson.session.tune(first), Prompt.HOW)
    assert asked[-2:] == ("A", "B")
    assert check.levels == tuple((strand, Level.FIND) for strand in asked)
    assert lesson.undo() == lesson.session.tune(second).title
    assert lesson.session.repertoire.checks.all(second) == []
    assert lesson.undo() == lesson.session.tune(first).title
    assert lesson.undo() == ""
    assert all(row.marked is None for row in lesson.rows())


def test_a_wanted_tune_that_is_asked_is_in_learning(lesson: Lesson) -> None:
    uuid = lesson.rows()[0].tune.uuid
    set_status(lesson.session, uuid, Status.WANTED)
    lesson.mark(uuid, Level.JOIN_IN)
    assert lesson.session.tune(uuid).status is Status.LEARNING


def test_a_tune_without_a_name_cannot_be_asked(lesson: Lesson) -> None:
    nameless = add_tune(lesson.session, Draft(key="D", starts=(("A", "d2 fa"),)))
    with pytest.raises(NotDoneError, match="no name"):
        lesson.mark(nameless.uuid, Level.FIND)


def test_a_tune_is_given_while_the_lesson_is_open(session: Session, lesson: Lesson) -> None:
    missing = [uuid for uuid in session.tunes if uuid not in lesson.session.tunes]
    given = lesson.give(session, missing[0])
    assert given.given == (session.tune(missing[0]).title,)
    assert lesson.rows()[0].progress is Progress.GIVEN
    assert missing[0] in {row.tune.uuid for row in lesson.rows()}
    assert lesson.give(session, missing[0]).had == given.given


def test_the_line_of_this_lesson_is_the_first_of_the_next(lesson: Lesson, hands: Any) -> None:
    assert lesson.line() == ("", None)
    set_pick_up(lesson.session, "the turn of the polka")
    assert lesson.next_line() == "the turn of the polka"
    assert lesson.line() == ("", None)
    on = lesson.session.day()
    hands.forward(days=7)
    assert lesson.line() == ("the turn of the polka", on)
    assert lesson.next_line() == ""


def test_a_slip_holds_what_is_new_and_what_was_asked(lesson: Lesson, tmp_path: Path) -> None:
    first, second, third = lesson.rows()
    set_status(lesson.session, second.tune.uuid, Status.KEPT)
    set_status(lesson.session, third.tune.uuid, Status.KEPT)
    lesson.mark(third.tune.uuid, Level.KICK_OFF)
    set_pick_up(lesson.session, "the turn first")
    text, page = tmp_path / "slip.txt", tmp_path / "slip.html"
    assert lesson.write_slip(text) == 2
    said = text.read_text(encoding="utf-8")
    assert said.startswith("Ada · the turn first")
    assert first.tune.title in said
    assert third.tune.title in said
    assert second.tune.title not in said
    assert " ".join(first.starts[0].letters[:3]) in " ".join(said.split())
    lesson.write_slip(page)
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    with pytest.raises(NotDoneError, match="end in"):
        lesson.write_slip(tmp_path / "slip.pdf")


def test_who_has_which_tune(session: Session, lesson: Lesson, clock: Clock, tmp_path: Path) -> None:
    bo = file_for(session.path, "Bo")
    uuids = list(session.tunes)
    give_tunes(session, bo, uuids[2:4], create=True)
    lesson.mark(uuids[2], Level.KICK_OFF)
    with open_session(bo, clock) as other:
        came_at(other, Level.KICK_OFF, uuids[2])
        # The same tune under its name alone.
        add_tune(other, Draft(titles=(session.tune(uuids[0]).title,)))
    who = pupils.table([lesson.session.path, bo], clock)
    title = {uuid: session.tune(uuid).title for uuid in uuids}
    assert who.names == ("Ada", "Bo")
    assert who.rows == (
        (title[uuids[2]], (True, True)),
        (title[uuids[0]], (False, False)),
        (title[uuids[1]], (False, None)),
        (title[uuids[3]], (None, False)),
    )
    text = pupils.table_text(who).splitlines()
    assert text[1].split() == [*title[uuids[2]].split(), "●", "●"]
    assert text[-1] == "● can start   ○ has it   · has it not"
    assert {"1  Ada", "2  Bo"} <= {line.strip() for line in text}
    with pytest.raises(NotDoneError):
        pupils.table([], clock)


def test_signs_stand_under_one_another_whatever_the_titles_are_written_in() -> None:
    titles = ("鯨の歌", "Haste to the Wedding", "Tá an La\u0301", "")
    who = pupils.Table(("Ada",), tuple((title, (True,)) for title in titles))
    lines = pupils.table_text(who).splitlines()[1 : 1 + len(titles)]
    assert {cell_len(line.partition("●")[0]) for line in lines} == {23}
    assert [line.partition("●")[0].strip() for line in lines] == [*titles]
