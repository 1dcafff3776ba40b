"""What a prompt becomes while it is answered."""

import pytest

from tunememory.recall.check import Level, Prompt
from tunememory.rounds.answer import Answer, name_hint


@pytest.mark.parametrize(
    ("seconds", "level"),
    [(0.5, 4), (3.0, 4), (3.1, 3), (10.0, 3), (10.1, 2), (30.0, 2), (31.0, 1)],
)
def test_the_clock_suggests_a_level(asked_of, seconds, level) -> None:
    # Common practice, no source: 3 s would be kicked off, 10 s would be found.
    answer = Answer(asked_of())
    answer.show(seconds)
    assert answer.suggested() == Level(level)


def test_somebody_who_went_away_is_not_timed(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(400.0)
    assert answer.seconds is None
    assert answer.suggested() is None


def test_the_clock_stops_once(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(2.0)
    answer.show(9.0)
    assert answer.seconds == 2.0


def test_a_hint_caps_the_level(asked_of) -> None:
    answer = Answer(asked_of())
    assert answer.hint(0.5)
    answer.show(1.0)
    assert answer.suggested() is Level.JOIN_IN
    with pytest.raises(ValueError, match="3"):
        answer.take(Level.FIND)
    assert answer.take(Level.JOIN_IN)
    assert answer.rated == {"key": 2, "A": 2, "B": 2}


def test_hints_come_in_steps_and_skip_what_is_not_known(asked_of) -> None:
    def steps(asked) -> list[int]:
        answer = Answer(asked)
        found = []
        while answer.hint(5.0):
            found.append(answer.hints)
        return found

    assert steps(asked_of()) == [1, 2, 3, 4]
    assert steps(asked_of(key=None)) == [2, 3, 4]
    assert steps(asked_of(starts=())) == [1]
    assert steps(asked_of(key=None, starts=())) == []
    assert steps(asked_of(Prompt.WHAT)) == [1, 2, 3, 4]


def test_one_key_rates_all_strands(asked_of) -> None:
    answer = Answer(asked_of())
    assert answer.take(Level.KICK_OFF)
    assert answer.rated == {"key": 4, "A": 4, "B": 4}


def test_a_strand_can_be_rated_alone_and_the_rest_follow(asked_of) -> None:
    answer = Answer(asked_of())
    answer.choose_strand("B")
    assert not answer.take(Level.SIT_OUT)
    assert answer.take(Level.KICK_OFF)
    assert answer.rated == {"key": 4, "A": 4, "B": 1}


def test_rating_every_strand_alone_ends_the_prompt(asked_of) -> None:
    answer = Answer(asked_of())
    done = []
    for strand, level in (("key", 4), ("A", 3), ("B", 2)):
        answer.choose_strand(strand)
        done.append(answer.take(Level(level)))
    assert done == [False, False, True]
    assert answer.levels == {"key": 4, "A": 3, "B": 2}


def test_choosing_a_strand_twice_lets_it_go(asked_of) -> None:
    answer = Answer(asked_of())
    answer.choose_strand("A")
    answer.choose_strand("A")
    assert answer.strand == ""


def test_marks_lower_what_is_suggested(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(1.0)
    answer.wrong_key = True
    assert answer.suggested() is Level.FIND
    answer.strayed_into = ("tune-2", "Another")
    assert answer.suggested() is Level.JOIN_IN


def test_after_an_undo_the_answer_stays_shown(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(2.0)
    answer.take(Level.FIND)
    answer.again()
    assert answer.shown
    assert (answer.levels, answer.rated) == ({}, {})


def test_after_an_undo_a_strand_keeps_the_level_of_its_own(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(2.0)
    answer.choose_strand("A")
    answer.take(Level.SIT_OUT)
    answer.take(Level.FIND)
    answer.again()
    assert answer.levels == {"A": Level.SIT_OUT}
    assert answer.take(Level.KICK_OFF)
    levels = dict.fromkeys(answer.asked.strands, Level.KICK_OFF)
    assert answer.rated == {**levels, "A": Level.SIT_OUT}


def test_after_an_undo_all_is_open_where_every_strand_had_its_own(asked_of) -> None:
    answer = Answer(asked_of())
    answer.show(2.0)
    done = []
    for strand in answer.asked.strands:
        answer.choose_strand(strand)
        done.append(answer.take(Level.FIND))
    assert done == [False] * (len(done) - 1) + [True]
    answer.again()
    assert answer.levels == {}


def test_letters_name_strands_that_are_asked_for(asked_of) -> None:
    answer = Answer(asked_of())
    assert [answer.strand_of(letter) for letter in "kabgn"] == ["key", "A", "B", "", ""]
    assert Answer(asked_of(Prompt.WHAT)).strand_of("a") == ""


def test_the_last_hint_is_the_answer_and_stops_the_clock(asked_of) -> None:
    answer = Answer(asked_of())
    notes = []
    while answer.hint(8.0):
        notes.append(answer.notes_hinted)
    assert notes == [0, 1, 3, 6]
    assert answer.shown
    assert answer.seconds == 8.0


def test_a_name_is_hinted_at_by_its_letters() -> None:
    assert name_hint("Off to California", 2) == "O…"
    assert name_hint("Off to California", 3) == "O… t… C…"


def test_only_what_is_asked_from_its_name_has_marks(asked_of) -> None:
    assert Answer(asked_of()).may_be_marked
    assert not Answer(asked_of(Prompt.WHAT)).may_be_marked
