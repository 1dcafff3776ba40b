from __future__ import annotations

from datetime import UTC, datetime, timedelta

from tunememory.clock import fixed_clock
from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tune
from tunememory.library.overview import fading_tunes, tune_rows, tune_view
from tunememory.recall.check import Level
from tunememory.session import open_session

NOW = datetime(2026, 11, 24, 7, tzinfo=UTC)


def test_only_what_was_once_asked_fades(tmp_path):
    """The name was never asked: it is unknown, not fading; the B start was, and is weakest."""
    path = tmp_path / "my.tunes"
    with open_session(path, fixed_clock(NOW - timedelta(days=60))) as session:
        tune = add_tune(
            session, Draft(("One",), "reel", "D", starts=(("A", "d2 fa"), ("B", "a2 fa")))
        )
    levels = {"key": Level.KICK_OFF, "A": Level.KICK_OFF, "B": Level.FIND}
    with open_session(path, fixed_clock(NOW)) as session:
        record_check_away(session, tune.uuid, levels, NOW - timedelta(days=5))
        (row,) = fading_tunes(session)
        chances = {
            view.strand: view.chance.chance for view in tune_view(session, tune.uuid).strands
        }
    assert chances["name"] < chances["B"]
    assert row.strand == "B"
    assert row.chance.chance == chances["B"]


def test_a_tune_never_asked_is_shown_by_its_weakest_strand(tmp_path):
    with open_session(tmp_path / "my.tunes", fixed_clock(NOW)) as session:
        tune = add_tune(
            session, Draft(("One",), "reel", "D", starts=(("A", "d2 fa"), ("B", "a2 fa")))
        )
        (row,) = fading_tunes(session)
        chances = {
            view.strand: view.chance.chance for view in tune_view(session, tune.uuid).strands
        }
    assert row.chance.chance == min(chances.values())


def test_the_list_is_in_title_order_articles_left_out_and_nameless_last(tmp_path):
    titles = (("The Wind",), ("Áine's Reel",), (), ("boyne water",), ("A Lad",), ("[/]",))
    with open_session(tmp_path / "my.tunes", fixed_clock(NOW)) as session:
        for names in titles:
            add_tune(session, Draft(names, starts=(("A", "d2 fa"),)))
        shown = [row.tune.title for row in tune_rows(session)]
    assert shown[:4] == ["Áine's Reel", "boyne water", "A Lad", "The Wind"]
    assert set(shown[4:]) == {"[/]", "no name yet"}
