"""The measure of likeness on printed tunes: the same tune twice, and any two tunes."""

from collections import defaultdict
from random import Random
from statistics import median, quantiles

import pytest

from tunememory.library.adding import SURE
from tunememory.music.likeness import MOST_ALIKE, LikenessIndex, compare, limit_of, opening_of


@pytest.fixture(scope="module")
def openings(printed):
    """A opening of every tune that has one."""
    found = {}
    for tune in printed:
        first = opening_of(tune.starts[0], tune.key, tune.metre) if tune.starts else None
        if first is not None:
            found[tune.uuid] = first
    return found


@pytest.mark.slow
def test_a_tune_copied_out_by_two_people_is_its_own_twin(openings):
    """O'Neill's numbers that stand in two files of the collection: two people copied them out.

    Of about 160 pairs nine in ten lie below the threshold; the rest are different settings.
    """
    by_number = defaultdict(list)
    for uuid, opening in openings.items():
        folder, _file, number, _ = uuid.split("/")
        if folder == "oneills1850":
            by_number[number].append(opening)
    pairs = [same[:2] for same in by_number.values() if len(same) > 1]
    distances = [compare(*pair).distance for pair in pairs]
    assert len(distances) >= 150
    assert median(distances) == 0
    assert sum(distance <= MOST_ALIKE for distance in distances) / len(distances) >= 0.90


@pytest.mark.slow
def test_two_tunes_taken_at_random_are_hardly_ever_twins(openings):
    rng = Random(1903)
    pool = sorted(openings)
    distances = [
        compare(*(openings[uuid] for uuid in rng.sample(pool, 2))).distance for _ in range(12_000)
    ]
    assert sum(distance <= MOST_ALIKE for distance in distances) / len(distances) <= 0.001
    assert 0.30 <= median(distances) <= 0.38
    assert quantiles(distances, n=100)[0] >= 0.15


@pytest.mark.slow
def test_what_is_taken_for_one_tune_under_two_names(openings):
    """O'Neill's numbers in two files are one tune; two tunes taken at random are not."""

    def one(first, second):
        parting = compare(first, second)
        return parting.distance <= SURE and parting.first == parting.second == 0

    by_number = defaultdict(list)
    for uuid, opening in openings.items():
        folder, _file, number, _ = uuid.split("/")
        if folder == "oneills1850":
            by_number[number].append(opening)
    pairs = [same[:2] for same in by_number.values() if len(same) > 1]
    assert sum(one(*pair) for pair in pairs) / len(pairs) >= 0.85
    rng = Random(1850)
    pool = [opening for _, opening in sorted(openings.items())]
    assert sum(one(*rng.sample(pool, 2)) for _ in range(20_000)) / 20_000 <= 0.0002


@pytest.mark.slow
@pytest.mark.parametrize("bars", [0.75, 1, 1.25])
def test_short_starts_are_by_chance_about_as_rarely_twins(openings, bars):
    """The limit falls with length, so that chance pairs stay below one in a thousand."""
    rng = Random(1883)
    cut = [opening.cut(bars) for _, opening in sorted(openings.items())]
    cut = [opening for opening in cut if len(opening.pitches) >= 6]
    chance = sum(compare(*rng.sample(cut, 2)).distance <= limit_of(bars) for _ in range(8_000))
    assert chance / 8_000 <= 0.001


@pytest.mark.slow
def test_the_index_finds_every_pair_of_a_repertoire(printed):
    """All starts of 110 tunes, every pair measured one by one."""
    tunes = Random(1782).sample(printed, 110)
    starts = [
        (tune.uuid, start.part, opening)
        for tune in tunes
        for start in tune.starts
        if (opening := opening_of(start, tune.key, tune.metre)) is not None
    ]
    measured = set()
    for number, (tune, part, one) in enumerate(starts):
        for other_tune, other_part, other in starts[:number]:
            if tune != other_tune:
                limit = limit_of(min(one.length, other.length))
                if compare(one, other).distance <= limit:
                    measured.add(frozenset({(tune, part), (other_tune, other_part)}))
    found = {
        frozenset({(pair.tune, pair.part), (pair.other, pair.other_part)})
        for pair in LikenessIndex(tunes).all_pairs()
    }
    assert found == measured
    assert len(found) >= 2
