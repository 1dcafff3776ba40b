"""Finding by notes on random repertoires of 400 printed tunes, 8 notes typed, one of them a slip.

A slip is a wrong note (up to four places off), a note left out, or one put in. Counted is how
often the right tune is among the first five. Ties are part of it: many tunes begin with the same
run of a scale, and then seven good notes of eight do not tell them apart.
"""

from random import Random

import pytest

from tunememory.tunes.finding import NoteIndex
from tunememory.tunes.pitch import LETTERS, Pitch

REPERTOIRES = 16
QUESTIONS = 75
LETTERS_OFF = (-4, -3, -2, -1, 1, 2, 3, 4)


def moved(pitch, steps):
    octave, letter = divmod(pitch.step + steps, 7)
    return Pitch(octave, LETTERS[letter])


def slipped(rng, pitches, count, slip):
    """``count`` notes typed for a line, with one slip."""
    notes = list(pitches)
    place = rng.randrange(count)
    if slip == "wrong":
        notes[place] = moved(notes[place], rng.choice(LETTERS_OFF))
    elif slip == "missing":
        del notes[place]
    elif slip == "extra":
        notes.insert(place, moved(notes[place], rng.choice((-2, -1, 0, 1, 2))))
    return notes[:count]


def among_five(printed, count, slips, *, any_key, seed=1850):
    """Share of questions that have the right tune in the first five answers."""
    rng = Random(seed)
    tunes = [tune for tune in printed if any(len(start.notes) > count for start in tune.starts)]
    right = asked = 0
    for _ in range(REPERTOIRES):
        repertoire = rng.sample(tunes, 400)
        index = NoteIndex(repertoire)
        for _ in range(QUESTIONS):
            tune = rng.choice(repertoire)
            start = rng.choice([start for start in tune.starts if len(start.notes) > count])
            notes = slipped(rng, [n.pitch for n in start.notes], count, rng.choice(slips))
            shift = rng.randint(-3, 3) if any_key else 0
            answers = index.find([moved(pitch, shift) for pitch in notes], limit=5)
            right += tune.uuid in {answer.tune for answer in answers}
            asked += 1
    assert asked == REPERTOIRES * QUESTIONS
    return right / asked


ANY_SLIP = ("wrong", "missing", "extra")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("count", "slips", "any_key", "floor"),
    [
        # Typed in the letters of the tune's own key, one slip of eight: 99 in 100 is the aim.
        (8, ANY_SLIP, False, 0.99),
        (8, ["wrong"], False, 0.99),
        # In any key two notes more are needed for that; with eight it is 97 to 98.
        (8, ANY_SLIP, True, 0.975),
        (10, ANY_SLIP, True, 0.99),
        # Without a slip.
        (6, ["none"], False, 0.99),
        (6, ["none"], True, 0.955),
        (8, ["none"], True, 0.995),
    ],
)
def test_the_right_tune_is_among_five(printed, count, slips, any_key, floor):
    assert among_five(printed, count, slips, any_key=any_key) >= floor
