"""Hypothesis strategies for keys, pitches and notes."""

from fractions import Fraction

import pytest
from hypothesis import strategies as st

from tunememory.music.key import MODES, Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.spelling import spell
from tunememory.music.strings import NICKNAMES, Tuning


class Draw:
    """Strategies shared by the tests of this folder."""

    # Signatures of at most seven signs, as in the table of ABC 2.1, section 3.1.14.
    keys = st.builds(
        Key,
        st.sampled_from([letter + sign for letter in "CDEFGAB" for sign in ("", "#", "b")]),
        st.sampled_from(MODES),
    ).filter(lambda key: abs(key.fifths) <= 7)
    pitches = st.builds(Pitch, st.integers(2, 6), st.sampled_from("CDEFGAB"), st.integers(-2, 2))
    lengths = st.sampled_from(
        [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(3)]
    )
    notes = st.lists(st.builds(Note, pitches, lengths), min_size=1, max_size=20).map(tuple)

    tunings = st.one_of(
        st.sampled_from([Tuning(strings) for strings in NICKNAMES]),
        st.lists(st.integers(40, 80), min_size=1, max_size=8).map(lambda s: Tuning(tuple(s))),
    )

    @staticmethod
    def plain(midis, key=None, quarters=Fraction(1, 2)):
        """Notes of equal length, spelled in a key."""
        return tuple(Note(spell(midi, key), quarters) for midi in midis)


@pytest.fixture(scope="session")
def draw():
    return Draw
