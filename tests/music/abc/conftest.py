from __future__ import annotations

from collections.abc import Callable

import pytest

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune


@pytest.fixture
def read() -> Callable[[str], ReadTune]:
    """Reads a text that holds one tune."""

    def one(text: str) -> ReadTune:
        (tune,) = read_book(text.encode()).tunes
        assert isinstance(tune, ReadTune), tune
        return tune

    return one


@pytest.fixture
def body(read: Callable[[str], ReadTune]) -> Callable[..., list[str]]:
    """The starts of a body in canonical text, one a part."""

    def starts(music: str, metre: str = "4/4", key: str = "C", unit: str = "1/8") -> list[str]:
        tune = read(f"X:1\nT:Test\nM:{metre}\nL:{unit}\nK:{key}\n{music}\n")
        return [start.written for start in tune.starts]

    return starts
