"""The key guessed from the notes against the key printed."""

from __future__ import annotations

import pytest

from tunememory.music.abc.key import guess_key
from tunememory.music.abc.notes import join_sounds

pytestmark = pytest.mark.slow

MAJOR_THIRD = frozenset({"major", "mixolydian", "lydian"})


@pytest.fixture(scope="module")
def guesses(printed):
    """The printed key and the guess for every tune in one key throughout."""
    found = []
    for tune in printed:
        key = tune.header.key.key
        if key is None or tune.header.key.doubt:
            continue
        if any(bar.key.key != key for bar in tune.body.bars):
            continue
        parts = [
            join_sounds(sound for bar in part.bars for sound in bar.sounds) for part in tune.parts
        ]
        guess = guess_key(parts)
        assert guess is not None
        signed = guess_key(parts, key.fifths) if not key.changes else None
        found.append((key, guess, signed))
    return found


def test_root_and_third_are_right_nine_times_in_ten(guesses):
    assert len(guesses) > 4300
    roots = sum(guess.key.root_class == key.root_class for key, guess, _ in guesses)
    thirds = sum(
        guess.key.root_class == key.root_class
        and (guess.key.mode in MAJOR_THIRD) == (key.mode in MAJOR_THIRD)
        for key, guess, _ in guesses
    )
    assert roots / len(guesses) >= 0.91
    assert thirds / len(guesses) >= 0.91


def test_what_is_doubted_is_doubtful(guesses):
    sure = [(key, guess) for key, guess, _ in guesses if guess.sure]
    unsure = [(key, guess) for key, guess, _ in guesses if not guess.sure]
    assert len(unsure) / len(guesses) <= 0.10

    def right(some):
        return sum(guess.key.root_class == key.root_class for key, guess in some) / len(some)

    assert right(sure) >= 0.93
    assert right(unsure) <= 0.70


def test_a_signature_makes_the_guess_better(guesses):
    usual = [(key, signed) for key, _, signed in guesses if signed is not None]
    usual = [(key, signed) for key, signed in usual if key.mode not in {"lydian", "phrygian"}]
    right = sum((signed.key.root, signed.key.mode) == (key.root, key.mode) for key, signed in usual)
    assert len(usual) > 4300
    assert right / len(usual) >= 0.90
