from __future__ import annotations

import pytest

from tunememory.library.overview import TuneRow
from tunememory.music.abc.key import read_key
from tunememory.music.tune import Status, Tune
from tunememory.recall.state import Chance, State
from tunememory.ui.library.tunes import STATES, STATUSES, Order, Shown, choose


def row(title, *, other=(), key="D", kind="reel", tuning="GDAE", status=Status.KEPT, chance=0.9,
        state=State.SAFE):  # fmt: skip
    tune = Tune(title, (title, *other), kind, read_key(key).key, status=status)
    return TuneRow(tune, tuning, Chance(chance, chance, chance, state))


ROWS = (
    row(
        "Mná na hÉireann", other=("The Women",), key="Em", kind="air", chance=0.3, state=State.RUSTY
    ),
    row("O'Neill's March", key="", kind="march", chance=0.6, state=State.FADING),
    row("The Women of Glen", key="G", status=Status.RESTING, chance=0.1, state=State.LOST),
)


def titles(shown):
    return [r.tune.title for r in choose(ROWS, shown)]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", 3), ("mna", 1), ("MNÁ", 1), ("wom", 2), ("glen wom", 1), ("oneill", 1), ("o'ne", 1),
        ("eill", 0), ("   ", 3), ("?!", 3), ("[", 3), ("x" * 10_000, 0),
    ],
)  # fmt: skip
def test_words_begin_any_word_of_any_title(words, found):
    assert len(titles(Shown(words))) == found


def test_unknown_keys_come_last_both_ways():
    assert titles(Shown(order=Order.KEY))[-1] == "O'Neill's March"
    assert titles(Shown(order=Order.KEY, backwards=True))[-1] == "O'Neill's March"
    assert titles(Shown(order=Order.KEY, backwards=True))[0] == "The Women of Glen"


def test_by_chance():
    assert titles(Shown(order=Order.CHANCE)) == [ROWS[place].tune.title for place in (2, 0, 1)]


def test_what_is_only_wanted_has_no_chance_to_be_sorted_by():
    rows = (row("Wanted", status=Status.WANTED, chance=0.5), *ROWS)
    for backwards in (False, True):
        shown = choose(rows, Shown(order=Order.CHANCE, backwards=backwards))
        assert shown[-1].tune.title == "Wanted"


def test_a_state_is_only_that_of_tunes_that_are_asked_for():
    assert titles(Shown(state=State.LOST)) == []
    assert titles(Shown(status=Status.RESTING)) == ["The Women of Glen"]


def test_turning_through_states_statuses_and_orders_comes_round():
    shown = Shown()
    for state in STATES:
        shown = shown.next_state()
        assert shown.state is state
    assert shown.next_state() == Shown()
    for status in STATUSES:
        shown = shown.next_status()
        assert shown.status is status
    assert set(STATES) == set(State)
    assert set(STATUSES) == set(Status)
    seen = [Shown().order]
    shown = Shown()
    for _ in Order:
        shown = shown.next_order()
        seen.append(shown.order)
    assert seen[0] is seen[-1]
    assert set(seen) == set(Order)
