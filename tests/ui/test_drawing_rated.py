"""What a level did, in one line."""

from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.tune import Tune
from tunememory.recall.check import Prompt
from tunememory.recall.state import Rated
from tunememory.rounds.planning import Asked
from tunememory.ui.round.drawing import rated_line
from tunememory.ui.text import width_of


def said(asked, before, after, week, width=76) -> str:
    return "".join(text for text, _ in rated_line(asked, Rated(before, after, week), width))


def test_a_tune_a_name_and_a_join(asked_of) -> None:
    assert said(asked_of(), 0.2, 0.97, 0.7) == (
        "Off to California: was about 2 in 10, tomorrow over 9, in a week about 7."
    )
    assert said(asked_of(Prompt.WHAT), 0.2, 0.6, 0.4, 90) == (
        "Off to California, the name: was about 2 in 10, tomorrow about 6, in a week about 4."
    )
    before = Tune("tune-0", ("The Boys of Bluehill",))
    assert said(asked_of(Prompt.JOIN, after=before), 0.5, 0.02, 0.01, 100) == (
        "The Boys of Bluehill → Off to California:"
        " was about 5 in 10, tomorrow under 1, in a week under 1."
    )


def test_what_stays_is_said_once(asked_of) -> None:
    assert said(asked_of(), 0.96, 0.98, 0.95) == "Off to California: over 9 in 10, as before."


def test_a_narrow_window_shortens_the_chances_before_the_title(asked_of) -> None:
    assert said(asked_of(), 0.8, 0.9, 0.3, 56) == (
        "Off to California: was ~8/10, tomorrow ~9, in a week ~3."
    )
    assert said(asked_of(Prompt.WHAT), 0.8, 0.9, 0.3, 56) == (
        "Off to…, the name: was ~8/10, tomorrow ~9, in a week ~3."
    )


@given(st.text(max_size=300), *3 * [st.floats(0, 1)], st.integers(52, 120))
def test_it_stays_on_one_line(title, before, after, week, width) -> None:
    asked = Asked(Tune("tune-1", (title,)), Prompt.WHAT, ("name",), 0.4, (), (), "GDAE")
    assert width_of(said(asked, before, after, week, width)) <= width
