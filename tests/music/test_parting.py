"""Where two starts part, in words."""

import pytest

from tunememory.music.likeness import parting


@pytest.mark.parametrize(
    ("note", "words"),
    [
        (0, "alike as far as they are written"),
        (1, "alike after the first note"),
        (2, "they part at note 2"),
        (12, "they part at note 12"),
    ],
)
def test_parting(note: int, words: str) -> None:
    assert parting(note) == words
