from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunememory.music.ways.material import WIDTH
from tunememory.music.ways.registry import WAYS, material, next_way

ids = st.sampled_from(list(WAYS))


@settings(max_examples=60)
@given(st.data())
def test_every_way_takes_every_tune(draw, data):
    subject = data.draw(draw.subjects())
    for way in WAYS:
        made = material(way, subject)
        assert made.heading
        assert made.possible or made.caution
        assert all(line and line == line.rstrip() for line in made.lines)
        assert all(len(line) <= WIDTH + 4 for line in made.lines)
        for piece in made.pieces:
            assert piece.start.notes
            assert len(piece.under) in {0, len(piece.start.notes)}
            assert all(note.quarters > 0 for note in piece.start.notes)


def test_a_start_in_doubt_is_said_to_be(subject):
    one = subject("D2FA d2f2")
    doubtful = replace(one.tune.starts[0], doubt="bar 2 is long")
    tune = replace(one.tune, starts=(doubtful,))
    assert "A start: bar 2 is long" in material("sing", replace(one, tune=tune)).caution
    assert material("sing", one).caution == ""


def test_an_unknown_way_is_a_mistake(subject):
    with pytest.raises(KeyError):
        material("juggling", subject("D4"))


def test_ways_are_offered_in_their_order_until_all_are_done():
    done: list[str] = []
    for _ in WAYS:
        done.append(next_way(done))
    assert done == list(WAYS)


def test_then_the_one_done_longest_ago_comes_again():
    done = [*WAYS, *list(WAYS)[:3]]
    assert next_way(done) == list(WAYS)[3]


@given(st.lists(ids), st.sets(ids, min_size=1))
def test_what_is_offered_can_be_offered_and_is_the_least_recent(done, among):
    way = next_way(done, among)
    assert way in among
    if way in done:
        assert among <= set(done)
        assert all(way not in done[place:] or other in done[place:]
                   for place in range(len(done)) for other in among)  # fmt: skip


def test_nothing_to_offer_is_said():
    with pytest.raises(ValueError, match="no way"):
        next_way([], [])
