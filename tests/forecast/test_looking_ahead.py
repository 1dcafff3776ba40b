"""The year ahead, from the service's side."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tunememory.errors import NotDoneError
from tunememory.forecast.year import assumed, sentence, year_ahead
from tunememory.history.recording import record_check_away
from tunememory.library.adding import set_status
from tunememory.recall.check import Level


def quietly(_: float) -> None:
    """Nobody watches."""


def test_a_year_for_a_few_tunes(session, kept):
    kept(9)
    said: list[float] = []
    found = year_ahead(session, 2.0, None, 1.0, said.append)
    assert found.points[0].tunes == 9
    assert found.points[-1].tunes == 21
    assert found.points[-1].day == 364
    assert all(p.low <= p.middle <= p.high <= p.tunes for p in found.points)
    assert found.checks == 8  # 15 seconds each until they are measured
    assert found.days == 1.0
    assert said[-1] == 1.0


def test_only_tunes_that_are_asked_for_count_and_more_can_be_imagined(session, kept):
    uuids = kept(4)
    set_status(session, uuids[0], session.tune(uuids[0]).status.RESTING)
    assert year_ahead(session, 1.0, None, 0, quietly).points[0].tunes == 3
    assert year_ahead(session, 1.0, 12, 0, quietly).points[0].tunes == 12


def test_days_are_as_the_last_weeks_were(session, kept, hands):
    (uuid,) = kept(1)
    for _ in range(10):
        record_check_away(session, uuid, {"key": Level.FIND}, hands.now())
        hands.forward(days=2)
    found = year_ahead(session, 1.0, None, 0, quietly)
    assert found.days == pytest.approx(0.5)
    assert "4 days a week" in assumed(found)
    assert "no new tunes" in assumed(found)


@pytest.mark.parametrize(
    ("minutes", "tunes", "new"),
    [(0, None, 0), (-1, None, 0), (float("nan"), None, 0), (999, None, 0), (4, 0, 0), (4, 9999, 0),
     (4, None, -1), (4, None, 99)],
)  # fmt: skip
def test_what_cannot_be_is_said(session, kept, minutes, tunes, new):
    kept(1)
    with pytest.raises(NotDoneError, match="can be"):
        year_ahead(session, minutes, tunes, new, quietly)


def test_without_tunes_there_is_nothing_to_foretell(session):
    with pytest.raises(NotDoneError, match="add one first"):
        year_ahead(session, 4, None, 0, quietly)


def test_the_sentence_says_what_was_found(session, kept):
    kept(3)
    found = year_ahead(session, 1.0, None, 0, quietly)
    first, last = found.points[0], found.points[-1]
    said = sentence(found)
    assert said.startswith(f"Of 3 tunes about {first.middle:.0f} would come tonight")
    assert f"({last.low:.0f} to {last.high:.0f})" in said
    more = replace(found.more, middle=last.middle + 7)
    assert "about 7 more" in sentence(replace(found, more=more))
    assert "change little" in sentence(replace(found, more=replace(more, middle=last.middle)))
    assert "no room for new tunes" in sentence(replace(found, borne=None))
    assert "room for 1 new tune a month" in sentence(replace(found, borne=1))
    assert f"{found.most_new} or more new tunes" in sentence(replace(found, borne=found.most_new))


def test_a_longer_history_than_the_window_counts_only_the_window(session, kept, hands):
    (uuid,) = kept(1)
    record_check_away(session, uuid, {"key": Level.FIND}, hands.now() - timedelta(days=400))
    hands.forward(days=1)
    record_check_away(session, uuid, {"key": Level.FIND}, hands.now())
    assert year_ahead(session, 1.0, None, 0, quietly).days == 1.0
