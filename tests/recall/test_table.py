"""The table of all beliefs gives what was put in, and what it gave out stays as it was."""

from dataclasses import replace
from datetime import UTC, date, datetime, time
from fractions import Fraction

import numpy as np
import pytest

from tunememory.clock import to_days
from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.tune import Declared, Start, Tune
from tunememory.recall.belief import first_belief
from tunememory.recall.check import column_of
from tunememory.recall.parameters import PRIOR
from tunememory.recall.table import LEAST_COLUMNS, columns_of, each_untouched, read_table
from tunememory.recall.update import CheckEvent, after

TO_B = 1 + column_of("B")
"""Columns of a tune whose last part is B."""

NOTES = (Note(Pitch(4, "D"), Fraction(1)),)


def tune(number: int, parts: str = "AB", *, keyed: bool = True) -> Tune:
    return Tune(
        uuid=f"{number:032x}",
        titles=(f"Tune {number}",),
        key=Key("D", "major") if keyed else None,
        starts=tuple(Start(part, NOTES) for part in parts),
        declared=list(Declared)[number % 4],
        added=date(2026, 1, 1 + number),
    )


TUNES = [tune(0), tune(1, "A"), tune(2, "ABCDE"), tune(3, keyed=False), tune(4, "")]


def untouched(one: Tune, params):
    (first,) = each_untouched([one], params)
    return first


def checked(belief, at: float = 20_500.0):
    rated = tuple((int(column), 3) for column in belief.present.nonzero()[0][:2])
    return after(belief, CheckEvent(at=at, day=int(at), levels=rated, hints=0, cold=True), PRIOR)


@pytest.fixture
def stored() -> dict[str, bytes]:
    return {each.uuid: checked(untouched(each, PRIOR)).to_bytes() for each in TUNES}


def test_what_is_stored_is_read_to_the_bit(stored) -> None:
    table, missing = read_table(TUNES, stored, PRIOR)
    assert not missing
    assert table.all().uuids == tuple(each.uuid for each in TUNES)
    for each in TUNES:
        assert table.of(each.uuid).to_bytes() == stored[each.uuid]


def test_what_the_file_lacks_is_as_before_the_first_check_and_named(stored) -> None:
    del stored[TUNES[1].uuid]
    stored[TUNES[0].uuid] = b"no belief"
    # Of strands the tune no longer has, or does not have yet.
    tunes = [*TUNES[:3], replace(TUNES[3], key=Key("D", "major")), tune(4, "ABCDEFGH")]
    table, missing = read_table(tunes, stored, PRIOR)
    assert missing == [tunes[0], tunes[1], tunes[3], tunes[4]]
    for each in missing:
        assert table.of(each.uuid).to_bytes() == untouched(each, PRIOR).to_bytes()
    assert table.of(tunes[2].uuid).to_bytes() == stored[tunes[2].uuid]


def test_a_tune_before_its_first_check_is_as_it_was_declared() -> None:
    for each in TUNES:
        days = to_days(datetime.combine(each.added, time(12), tzinfo=UTC))
        expected = first_belief(columns_of(each), each.declared, days, PRIOR)
        assert np.array_equal(expected.mean, untouched(each, PRIOR).mean)
        assert np.allclose(
            expected.exposed_at, untouched(each, PRIOR).exposed_at, rtol=1e-12, equal_nan=True
        )


def test_some_are_no_wider_than_they_need(stored) -> None:
    table, _ = read_table(TUNES, stored, PRIOR)
    some = table.some([TUNES[3].uuid, TUNES[1].uuid])
    assert some.uuids == (TUNES[3].uuid, TUNES[1].uuid)
    assert some.mean.shape == (2, TO_B)
    assert table.some([TUNES[4].uuid]).mean.shape == (1, LEAST_COLUMNS)
    assert table.some([]).mean.shape == (0, LEAST_COLUMNS)
    assert some.tune(1, TO_B - 1).to_bytes() == stored[TUNES[1].uuid]


def test_what_was_given_out_stays_when_a_belief_is_put_in(stored) -> None:
    table, _ = read_table(TUNES, stored, PRIOR)
    everything, one = table.all(), table.of(TUNES[0].uuid)
    now = checked(one, 20_600.0)
    table.put(TUNES[0].uuid, now)
    table.put(TUNES[1].uuid, checked(table.of(TUNES[1].uuid), 20_600.0))
    assert one.to_bytes() == stored[TUNES[0].uuid]
    assert everything.tune(0, TO_B).to_bytes() == stored[TUNES[0].uuid]
    assert table.of(TUNES[0].uuid).to_bytes() == now.to_bytes()
    assert table.all().tune(0, TO_B).to_bytes() == now.to_bytes()
    assert table.of(TUNES[2].uuid).to_bytes() == stored[TUNES[2].uuid]


def test_a_tune_may_get_more_parts_and_a_new_one_may_come_in(stored) -> None:
    table, _ = read_table(TUNES, stored, PRIOR)
    longer, new = tune(1, "ABCDEFGH"), tune(9)
    table.update({each.uuid: untouched(each, PRIOR) for each in (longer, new)})
    assert table.of(longer.uuid).to_bytes() == untouched(longer, PRIOR).to_bytes()
    assert table.of(new.uuid).to_bytes() == untouched(new, PRIOR).to_bytes()
    assert table.all().uuids[-1] == new.uuid
    assert table.of(TUNES[2].uuid).to_bytes() == stored[TUNES[2].uuid]
