"""A prompt and its answer as lines of text."""

from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.tune import Tune
from tunememory.recall.check import Level, Prompt
from tunememory.rounds.answer import Answer
from tunememory.text import ASCII
from tunememory.ui.round.drawing import (
    answer_lines,
    facts_line,
    hint_lines,
    ladder_lines,
    prompt_lines,
    question,
    straying_lines,
    title_rows,
)
from tunememory.ui.text import width_of

BOTH = ("letters", "fingers")


def text(rows) -> list[str]:
    return ["".join(piece for piece, _ in row).rstrip() for row in rows]


def test_the_title_is_asked_about_with_an_empty_row_above(asked_of) -> None:
    assert text(prompt_lines(Answer(asked_of()), 40, 3, BOTH)) == ["", "Off to California"]


def test_a_start_is_asked_about_without_its_title(asked_of) -> None:
    lines = text(prompt_lines(Answer(asked_of(Prompt.WHAT)), 40, 3, BOTH))
    assert lines == ["", "D  G  F  G  │ B  A", "D0 D3 D2 D3 │ A1 A0"]
    assert "California" not in " ".join(lines)


def test_the_key_is_not_in_the_small_print(asked_of) -> None:
    assert facts_line(Answer(asked_of())) == "hornpipe · GDAE"


@given(st.text(max_size=400), st.integers(4, 60), st.integers(1, 4))
def test_a_title_of_any_kind_stays_within_its_rows(title, width, height) -> None:
    rows = title_rows(title, width, height)
    assert 1 <= len(rows) <= height
    assert all(width_of(row) <= width for row in rows)


def test_a_long_title_breaks_at_a_blank_and_is_cut_at_the_end() -> None:
    assert title_rows("The Humours of Glendart and of Glen", 16, 2) == [
        "The Humours of",
        "Glendart and of…",
    ]


def test_hints_show_a_little_more_each_time(asked_of) -> None:
    answer = Answer(asked_of())
    assert hint_lines(answer, 40, BOTH) == []
    shown = []
    for step in (1, 2, 3):
        answer.hints = step
        shown.append(text(hint_lines(answer, 40, BOTH)))
    assert shown == [
        ["key   G major"],
        ["key   G major", "A     D …", "      D0 …"],
        ["key   G major", "A     D  G  F …", "      D0 D3 D2 …"],
    ]


def test_a_name_is_hinted_by_its_first_letters(asked_of) -> None:
    answer = Answer(asked_of(Prompt.WHAT), hints=3)
    assert text(hint_lines(answer, 40, BOTH)) == ["key   G major", "name  O… t… C…"]


def test_the_answer_has_key_starts_and_twins(asked_of, twin) -> None:
    lines = text(answer_lines(Answer(asked_of(twins=(twin,))), 60, 8, BOTH))
    assert lines == [
        "key   G major",
        "A     D  G  F  G  │ B  A",
        "      D0 D3 D2 D3 │ A1 A0",
        "B     e  f  g",
        "      E0 E1 E2",
        "Don't mix with The Boys of Bluehill, they part at note 5",
    ]


def test_letters_alone_where_there_is_no_room_for_fingers(asked_of) -> None:
    lines = text(answer_lines(Answer(asked_of()), 60, 4, BOTH))
    assert lines == ["key   G major", "A     D G F G │ B A", "B     e f g"]


def test_the_answer_to_a_name_is_the_name(asked_of) -> None:
    lines = text(answer_lines(Answer(asked_of(Prompt.WHAT)), 60, 8, BOTH))
    assert lines[:2] == ["name  Off to California", "      also The Whiskey Hornpipe"]


def test_marks_and_levels_are_seen_in_the_answer(asked_of) -> None:
    answer = Answer(asked_of(), shown=True, wrong_key=True, strand="B")
    answer.levels["A"] = Level.JOIN_IN
    answer.strayed_into = ("tune-2", "The Boys of Bluehill")
    lines = text(answer_lines(answer, 60, 9, BOTH))
    assert lines[0] == "key   G major   began in another key"
    assert lines[1].startswith("A 2")
    assert lines[3].startswith("B ?")
    assert lines[-1] == "strayed into The Boys of Bluehill"


def test_a_tune_without_key_and_start_can_still_be_judged(asked_of) -> None:
    lines = text(answer_lines(Answer(asked_of(key=None, starts=())), 60, 8, BOTH))
    assert lines == ["A     no start written down; you judge"]


def test_the_ladder_has_the_words_in_the_spaces(asked_of) -> None:
    answer = Answer(asked_of(), shown=True)
    lines = text(ladder_lines(answer, 40, 0, (0.6, 0.9), Level.KICK_OFF, ASCII))
    assert lines == [
        "                        ________________",
        "▸ 4 would kick it off   ___________@____",
        "  3 would find it       _____.__________",
        "  2 would join in       ________________",
        "  1 would sit it out    ________________",
    ]


def test_the_ladder_of_a_name_has_its_own_words(asked_of) -> None:
    lines = text(ladder_lines(Answer(asked_of(Prompt.WHAT)), 40, 1, None, None, ASCII))
    assert [line[4:20].strip() for line in lines[1::2]] == [
        "named it", "came to me", "with a nudge", "no name",
    ]  # fmt: skip


def test_levels_above_the_cap_do_not_look_live(asked_of) -> None:
    rows = ladder_lines(Answer(asked_of(), shown=True, hints=1), 40, 0, None, Level.JOIN_IN, ASCII)
    roles = [{piece.strip(): role for piece, role in row} for row in rows[1:]]
    assert roles[0]["4"] == roles[1]["3"] == "staff"
    assert roles[2]["2"] == roles[3]["1"] == "bright"


def test_the_list_of_tunes_follows_the_cursor() -> None:
    choices = [(str(number), f"Tune {number}", "reel G") for number in range(20)]
    lines = text(straying_lines(choices, 10, 6, 30))
    assert lines[0] == "Strayed into which tune?"
    assert [line.split()[1] if "▸" not in line else line for line in lines[1:]] == [
        "8", "9", "▸ Tune 10               reel G", "11", "12",
    ]  # fmt: skip


def test_a_join_names_the_tune_before_and_shows_the_one_that_follows(asked_of):
    before = Tune("tune-0", ("The Boys of Bluehill",))
    answer = Answer(asked_of(Prompt.JOIN, after=before))
    assert question(answer) == Prompt.JOIN.value
    assert text(prompt_lines(answer, 40, 3, BOTH)) == ["", "The Boys of Bluehill"]
    answer.hints = 2
    assert "Off to California" not in "".join(text(hint_lines(answer, 60, BOTH)))
    lines = text(answer_lines(answer, 60, 8, BOTH))
    assert lines[0].split(maxsplit=1) == ["next", "Off to California"]
    assert any(line.startswith("A ") for line in lines)
