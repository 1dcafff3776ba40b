"""Prompts to answer."""

import pytest

from tunememory.library.starts import StartView
from tunememory.library.twins import Twin
from tunememory.music.key import Key
from tunememory.music.tune import Start, Tune
from tunememory.recall.check import Prompt
from tunememory.rounds.planning import Asked

G_MAJOR = Key("G")


def start(part: str, letters: str, fingers: str) -> StartView:
    notes = tuple(letters.split())
    return StartView(part, Start(part), notes, notes, tuple(fingers.split()), (4,))


@pytest.fixture
def asked_of():
    """Make a prompt: ``asked_of(prompt=Prompt.WHAT, key=None, starts=())``."""

    def make(
        prompt=Prompt.HOW,
        *,
        title="Off to California",
        key=G_MAJOR,
        starts=None,
        twins=(),
        after=None,
    ):
        views = (
            (start("A", "D G F G B A", "D0 D3 D2 D3 A1 A0"), start("B", "e f g", "E0 E1 E2"))
            if starts is None
            else starts
        )
        strands = ("name",) if prompt is Prompt.WHAT else (
            *(("key",) if key else ()), *(tuple(view.part for view in views) or ("A",))
        )  # fmt: skip
        if prompt is Prompt.JOIN:
            strands = ("join tune-1",)
        tune = Tune("tune-1", (title, "The Whiskey Hornpipe"), kind="hornpipe", key=key)
        return Asked(tune, prompt, strands, 0.4, views, twins, "GDAE", after)

    return make


@pytest.fixture
def twin():
    """A tune that begins alike."""
    return Twin("tune-2", "The Boys of Bluehill", "A", "A", 5, 0.1)
