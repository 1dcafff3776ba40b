from datetime import date
from fractions import Fraction

import pytest

from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.tune import Start, Status, Tune
from tunememory.recall.check import (
    HINT_CAP,
    NAME_WORDS,
    START_WORDS,
    Level,
    Prompt,
    prompt_strands,
    strands_of,
)

D4 = (Note(Pitch(4, "D"), Fraction(1)),)
IN_D = Key("D")
BOTH = (Start("A", D4), Start("B", D4))


def tune(titles=("Reel",), key=IN_D, starts=BOTH, **fields):
    return Tune("id", titles, key=key, starts=starts, **fields)


@pytest.mark.parametrize(
    ("given", "strands"),
    [
        (tune(), ("key", "A", "B", "name")),
        (tune(key=None), ("A", "B", "name")),
        # The player judges a start that is not written down; its name cannot be asked for.
        (tune(starts=()), ("key", "A")),
        (tune(starts=(Start("A"),)), ("key", "A")),
        (tune(starts=(Start("A"), Start("B", D4))), ("key", "A", "B", "name")),
        # Nothing can be asked of a tune without a name.
        (tune(titles=()), ()),
    ],
)
def test_strands(given, strands):
    assert strands_of(given) == strands


@pytest.mark.parametrize("status", [Status.LEARNING, Status.KEPT, Status.RESTING])
def test_each_prompt_asks_its_own_strands(status):
    assert prompt_strands(tune(status=status), Prompt.HOW) == ("key", "A", "B")
    assert prompt_strands(tune(status=status), Prompt.WHAT) == ("name",)


def test_what_cannot_be_shown_or_is_only_wanted_is_not_asked():
    assert prompt_strands(tune(starts=()), Prompt.WHAT) == ()
    for prompt in Prompt:
        assert prompt_strands(tune(status=Status.WANTED), prompt) == ()


def test_every_level_has_words_and_a_hint_caps_at_joining_in():
    assert set(START_WORDS) == set(NAME_WORDS) == set(Level)
    assert len(set(START_WORDS.values()) | set(NAME_WORDS.values())) == 8
    assert HINT_CAP == 2


def test_a_tune_without_a_name_says_so():
    assert tune(titles=()).title == "no name yet"
    assert tune(titles=("One", "Two")).title == "One"
    assert tune().added == date.min
