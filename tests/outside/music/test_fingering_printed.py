"""The awkwardness of printed tunes rises with their keys as fiddlers say.

Common practice, no source: G, D and A lie well, flat keys do not, and a cross tuning makes the
tunes of its own key easier.
"""

from collections import defaultdict
from statistics import mean, quantiles

import pytest

from tunememory.music.fingering import fingering
from tunememory.music.metre import bar_quarters
from tunememory.music.pitch import Note
from tunememory.music.spelling import spell
from tunememory.music.strings import STANDARD, parse_tuning, places_of


@pytest.fixture(scope="module")
def starts(printed):
    """Key, notes and metre of the A starts of O'Neill and Ryan within first position."""
    found = []
    for tune in printed:
        if (
            tune.uuid.startswith(("oneills", "ryans"))
            and tune.key
            and tune.starts
            and bar_quarters(tune.metre)
        ):
            notes = tune.starts[0].notes
            if notes and all(places_of(note.pitch, STANDARD) for note in notes):
                found.append((tune.key, notes, tune.metre))
    return found


@pytest.mark.slow
def test_the_bands_part_the_collections_as_they_say(starts):
    scores = [fingering(notes, STANDARD, metre).awkwardness for _, notes, metre in starts]
    assert len(scores) > 2_800
    first, half, last = quantiles(scores, n=4)
    assert first == pytest.approx(0.13, abs=0.01)
    assert half == pytest.approx(0.175, abs=0.01)
    assert last == pytest.approx(0.24, abs=0.01)
    assert quantiles(scores, n=20)[-1] == pytest.approx(0.39, abs=0.02)


@pytest.mark.slow
def test_keys_are_as_awkward_as_players_say(starts):
    by_key = defaultdict(list)
    for key, notes, metre in starts:
        by_key[key.short].append(fingering(notes, STANDARD, metre).awkwardness)
    awkward = {key: mean(scores) for key, scores in by_key.items() if len(scores) >= 10}
    assert max(awkward["D"], awkward["G"], awkward["A"]) < awkward["C"] + 0.02
    assert max(awkward["D"], awkward["G"], awkward["A"], awkward["C"]) < awkward["F"]
    assert awkward["F"] < awkward["Bb"]


@pytest.mark.slow
@pytest.mark.parametrize(("root", "letters"), [("A", "AEAE"), ("G", "GDGD")])
def test_a_cross_tuning_makes_its_own_key_easier(starts, root, letters):
    cross = parse_tuning(letters)
    both = [
        (
            fingering(notes, STANDARD, metre).awkwardness,
            fingering(notes, cross, metre).awkwardness,
        )
        for key, notes, metre in starts
        if key.root == root and all(places_of(note.pitch, cross) for note in notes)
    ]
    assert len(both) > 200
    usual, crossed = (mean(scores) for scores in zip(*both, strict=True))
    assert crossed < 0.95 * usual


@pytest.mark.slow
@pytest.mark.parametrize("semitones", [-1, 1, 6])
def test_half_a_tone_away_most_starts_get_awkward(starts, semitones):
    here, there = [], []
    for key, notes, metre in starts:
        moved = [Note(spell(n.pitch.midi + semitones, None), n.quarters) for n in notes]
        reach = all(places_of(note.pitch, STANDARD) for note in moved)
        if key.short in {"D", "G", "A"} and reach:
            here.append(fingering(notes, STANDARD, metre).awkwardness)
            there.append(fingering(moved, STANDARD, metre).awkwardness)
    assert len(here) > 300
    assert mean(there) > 2 * mean(here)
