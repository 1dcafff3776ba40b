from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.key import Key
from tunememory.music.likeness import (
    LikenessIndex,
    Opening,
    Openings,
    compare,
    limit_of,
    opening_of,
    parting,
)
from tunememory.music.tune import Start, Tune

D, A, G = Key("D"), Key("A"), Key("G")


def start(text, part="A", key=D, metre="C|"):
    parsed = parse_notes(text, key, metre)
    assert not parsed.problem
    return Start(part, parsed.notes, parsed.pickup, text)


def tune(uuid, *texts, key=D, metre="C|"):
    starts = tuple(start(text, part, key, metre) for part, text in zip("ABC", texts, strict=False))
    return Tune(uuid, (uuid,), key=key, metre=metre, starts=starts)


def opening(text, key=D, metre="C|"):
    found = opening_of(start(text, "A", key, metre), key, metre)
    assert found is not None
    return found


REEL = "A2FA DAFA|B2GB EBGB|A2FA"
FAR = "d2ef gfed|cABc dcBA|F2EF"


def test_the_same_start_has_no_distance():
    assert compare(opening(REEL), opening(REEL)).distance == 0
    assert compare(opening(REEL), opening(REEL)).first == 0


def test_the_key_does_not_matter():
    in_a = "E2CE A,ECE|F2DF B,FDF|E2CE"
    assert compare(opening(REEL), opening(in_a, A)).distance == 0


def test_written_lengths_do_not_matter_only_lengths_in_bars():
    in_sixteenths = "[L:1/16]A2FA DAFA|B2GB EBGB|A2FA"
    assert compare(opening(REEL), opening(in_sixteenths, metre="2/4")).distance == 0


def test_a_metre_of_the_part_counts_before_the_tunes():
    text = "[M:9/8]gfe dcB ABc|dBG AFD G3"
    notes = parse_notes(text, Key("G"), "6/8").notes
    own = opening_of(Start("B", notes, written=text), Key("G"), "6/8")
    assert own == opening_of(Start("B", notes), Key("G"), "9/8")
    assert own != opening_of(Start("B", notes), Key("G"), "6/8")


def test_a_key_of_the_part_counts_before_the_tunes():
    own = Start("A", start(REEL).notes, key=D)
    assert opening_of(own, A, "C|") == opening(REEL)


def test_the_measure_by_hand():
    """Two bars of eighths that differ in one note by two semitones: 2/5 of an eighth of a bar."""
    changed = REEL.replace("B2GB", "B2AB")
    parting = compare(opening(REEL), opening(changed))
    assert parting.distance == pytest.approx((2 / 5) * (1 / 8) / 4)
    assert (parting.first, parting.second) == (9, 9)


def test_a_note_left_out_costs_three_quarters_of_its_length():
    one = Opening((0, 2, 4, 5, 7, 9, 11), (1 / 4,) * 7, 0)
    other = Opening((0, 2, 4, 5, 7, 9), (1 / 4,) * 6, 0)
    # The same length, so that neither is cut.
    other = Opening(other.pitches, (*other.bars[:5], 1 / 2), 0)
    parting = compare(one, other)
    assert parting.distance == pytest.approx((0.75 + 0.35) * (1 / 4) / (2 * 7 / 4))
    assert parting.first == 7


def test_a_pickup_that_only_one_has_does_not_part_them():
    parting = compare(opening("FG|" + REEL), opening(REEL))
    assert (parting.first, parting.second) == (0, 0)
    assert 0 < parting.distance < 0.1
    changed = "FG|" + REEL.replace("B2GB", "B2AB")
    parting = compare(opening(changed), opening(REEL))
    assert (parting.first, parting.second) == (11, 9)


def test_a_short_start_is_compared_as_far_as_it_goes():
    # One eighth too few of nine, its length given to the note before.
    assert compare(opening(REEL), opening("A2FA DAF2")).distance == pytest.approx(
        (0.75 * 1 / 8 + 0.35 * 1 / 8) / 2
    )
    assert compare(opening(REEL), opening("A2FA DAFA")).distance == 0


def test_short_starts_must_be_more_alike():
    assert limit_of(2) == limit_of(1.5) == 0.10
    assert limit_of(1) == pytest.approx(0.05)
    assert limit_of(0.5) == limit_of(0.25) == 0


def test_what_cannot_be_compared():
    assert opening_of(start(REEL), None, "C|") is None
    assert opening_of(start("A2FA D"), D, "C|") is None
    assert opening_of(Start("A"), D, "C|") is None


def test_only_pickup_and_two_bars_are_compared():
    assert opening(REEL).length == 2
    assert opening("FG|" + REEL).length == 2.25
    assert opening("FG|" + REEL).pickup == 2
    # Free metre counts as common time.
    assert opening(REEL, metre="none").length == 2


@given(st.data())
def test_the_distance_is_the_same_both_ways(draw, data):
    one, other = (
        opening_of(Start("A", data.draw(draw.notes)), data.draw(draw.keys), "6/8") for _ in "ab"
    )
    if one and other:
        there, back = compare(one, other), compare(other, one)
        assert there.distance == pytest.approx(back.distance)
        assert 0 <= there.distance <= 1
        assert 0 <= there.first <= len(one.pitches)


@given(st.data(), st.integers(-12, 12))
def test_transposing_is_the_same_start(draw, data, semitones):
    midis = data.draw(st.lists(st.integers(50, 80), min_size=6, max_size=16))
    here = opening_of(Start("A", draw.plain(midis)), Key("C"), "C")
    names = ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]
    moved = draw.plain([midi + semitones for midi in midis])
    there = opening_of(Start("A", moved), Key(names[semitones % 12]), "C")
    assert here is not None
    assert there is not None
    shift = {a - b for a, b in zip(here.pitches, there.pitches, strict=True)}
    # At worst the octave of the root is another one where the mean lies just between two.
    assert shift in ({0}, {12}, {-12})


def random_openings(seed, count):
    """Openings that are often nearly alike: few themes, each changed in some notes."""
    rng = Random(seed)
    themes = [
        [
            (rng.randint(-3, 14), rng.choice([1 / 8, 1 / 6, 1 / 4]))
            for _ in range(rng.randint(6, 24))
        ]
        for _ in range(6)
    ]
    openings = []
    for _ in range(count):
        notes = []
        for pitch, bars in rng.choice(themes):
            turn = rng.random()
            if turn < 0.03:
                continue
            shift = rng.randint(-4, 4) if turn < 0.15 else 0
            notes.append((pitch + shift, bars * (rng.choice([1, 2, 0.5]) if turn > 0.95 else 1)))
        notes = notes or [(0, 1.0)]
        openings.append(Opening(tuple(n[0] for n in notes), tuple(n[1] for n in notes), 0))
    return openings


@pytest.mark.parametrize("seed", range(3))
def test_no_pair_within_the_limit_is_lost(seed):
    """The arrays against the table of Needleman and Wunsch for every pair, one by one."""
    openings = random_openings(seed, 90)
    table = Openings(openings, [1000 + number for number in range(len(openings))])
    distances = {
        frozenset((1000 + i, 1000 + j)): by_definition(openings[i], openings[j])
        for i in range(len(openings))
        for j in range(i)
    }
    for limit in (0.02, 0.1, 0.2):
        near = [frozenset(pair) for pair in table.near(table, limit)]
        within = {pair for pair, distance in distances.items() if distance <= limit}
        assert len(near) == len(set(near))
        assert within <= set(near)
        # What comes with them lies just outside.
        assert all(distances[pair] <= limit + 0.002 for pair in near)
        assert len(within) >= 3


def by_definition(one, other):
    """Needleman and Wunsch 1970 with the costs of the measure."""
    table = {(0, 0): 0.0}
    for i in range(len(one.pitches) + 1):
        for j in range(len(other.pitches) + 1):
            costs = [] if i or j else [0.0]
            if i:
                costs.append(table[i - 1, j] + 0.75 * one.bars[i - 1])
            if j:
                costs.append(table[i, j - 1] + 0.75 * other.bars[j - 1])
            if i and j:
                wrong = min(abs(one.pitches[i - 1] - other.pitches[j - 1]), 5) / 5
                bars = one.bars[i - 1], other.bars[j - 1]
                pair = wrong * min(bars) + 0.35 * abs(bars[0] - bars[1])
                costs.append(table[i - 1, j - 1] + pair)
            table[i, j] = min(costs)
    return table[len(one.pitches), len(other.pitches)] / (one.length + other.length)


def test_twins_name_both_parts_and_where_they_part():
    index = LikenessIndex(
        [tune("one", FAR, REEL), tune("two", REEL.replace("B2GB", "B2AB")), tune("three", FAR)]
    )
    twins = index.twins_of(tune("two", REEL.replace("B2GB", "B2AB")))
    assert [(t.tune, t.part, t.other, t.other_part, t.parts_at) for t in twins] == [
        ("two", "A", "one", "B", 9)
    ]
    assert [(t.other, t.distance) for t in index.twins_of(tune("one", FAR, REEL))] == [
        ("three", 0.0),
        ("two", pytest.approx(0.0125)),
    ]


def test_parts_of_one_tune_are_no_twins():
    index = LikenessIndex([tune("one", REEL, REEL)])
    assert list(index.all_pairs()) == []
    assert index.twins_of(tune("one", REEL)) == ()


def test_an_index_is_replaced_when_a_tune_changes_or_comes():
    index = LikenessIndex([tune("one", REEL), tune("two", FAR)])
    assert list(index.all_pairs()) == []
    changed = index.changed(tune("two", REEL))
    assert [(pair.tune, pair.other) for pair in changed.all_pairs()] == [("one", "two")]
    assert list(index.all_pairs()) == []
    assert len(list(changed.changed(tune("three", REEL)).all_pairs())) == 3


def test_an_empty_repertoire_has_no_twins():
    assert list(LikenessIndex([]).all_pairs()) == []
    assert LikenessIndex([]).twins_of(tune("one", REEL)) == ()


@pytest.mark.parametrize("seed", range(3))
def test_all_pairs_and_one_by_one_agree_with_short_starts_among_them(seed):
    rng = Random(seed)
    texts = [REEL, FAR, REEL.replace("B2GB", "B2AB"), "FG|" + REEL, "A2FA DAFA", "A2FA DAFA|B2"]
    tunes = []
    for number in range(24):
        text = rng.choice(texts)
        if rng.random() < 0.3:
            text = text.replace("D", "E")
        tunes.append(tune(str(number), text))
    index = LikenessIndex(tunes)
    pairs = {frozenset((pair.tune, pair.other)): pair.distance for pair in index.all_pairs()}
    one_by_one = {
        frozenset((twin.tune, twin.other)): twin.distance
        for each in tunes
        for twin in index.twins_of(each)
    }
    assert pairs == pytest.approx(one_by_one)
    openings = [opening_of(each.starts[0], D, "C|") for each in tunes]
    assert None not in openings
    known = [opening for opening in openings if opening is not None]
    measured = {
        frozenset((str(i), str(j)))
        for i in range(24)
        for j in range(i)
        if compare(known[i], known[j]).distance <= limit_of(min(known[i].length, known[j].length))
    }
    assert set(pairs) == measured
    assert len(measured) > 30


def test_lengths_are_exact_for_the_clock():
    assert opening("ABc def|edc BAG", metre="6/8").bars[0] == float(Fraction(1, 6))


@pytest.mark.parametrize(
    ("note", "words"),
    [
        (0, "alike as far as they are written"),
        (1, "alike after the first note"),
        (2, "they part at note 2"),
        (12, "they part at note 12"),
    ],
)
def test_where_two_starts_part_in_words(note: int, words: str) -> None:
    assert parting(note) == words
