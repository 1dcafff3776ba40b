"""Tonight's help, the card for the case, and tunes between files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft
from tunememory.music.forms import barred
from tunememory.music.tune import Declared, Status
from tunememory.recall.check import Level
from tunememory.service.desk import Desk, open_desk
from tunememory.teaching import pupils
from tunememory.teaching.card import card_text

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def know(desk: Desk, *uuids: str) -> None:
    for uuid in uuids:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.KICK_OFF), desk.now())


def test_what_to_start_is_sure_and_not_played_here_lately(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(8)  # D, G, A, Em, and again
    view = desk.save_date(DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    hands.forward(days=3)
    know(desk, uuids[0], uuids[4], uuids[1])
    (past,) = desk.dates_to_tell()
    desk.played_there(view.uuid, past.on, [uuids[0]])
    first, second, *_ = desk.what_to_start("D")
    assert (first.tune, first.sure, first.lately) == (uuids[4], True, False)
    assert (second.tune, second.played_here, second.lately) == (uuids[0], past.on, True)
    (start, _) = desk.view(uuids[4]).starts
    assert first.first == barred(start.letters[:8], start.bars)
    assert {one.key for one in desk.what_to_start("D")} == {"D"}
    assert desk.what_to_start(kind="waltz") == ()
    with pytest.raises(NotDoneError, match="not a key"):
        desk.what_to_start("H")
    with pytest.raises(NotDoneError, match="no longer"):
        desk.what_to_start(at="gone")


def test_what_there_is_in_a_key_by_tuning(desk: Desk, kept: Kept) -> None:
    uuids = kept(2, key="A")
    crossed = desk.add(Draft(titles=("Crossed",), key="Amix", tuning="AEAE")).uuid
    kept(1, key="D")
    found = desk.what_have_i_in("A")
    assert [(tuning, {one.tune for one in some}) for tuning, some in found] == [
        ("GDAE", set(uuids)), ("AEAE", {crossed}),
    ]  # fmt: skip
    with pytest.raises(NotDoneError, match="give a key"):
        desk.what_have_i_in("")


def test_one_sure_starter_a_key(desk: Desk, kept: Kept) -> None:
    uuids = kept(4)
    know(desk, uuids[1])
    found = dict(desk.one_a_key())
    assert found.keys() == {"D", "G", "A", "E"}
    assert found["D"] is None
    assert found["G"] is not None
    assert found["G"].tune == uuids[1]


def test_an_empty_repertoire_has_no_answer_and_no_fault(desk: Desk) -> None:
    assert desk.what_to_start() == ()
    assert desk.one_a_key() == ()
    assert desk.today().practice == 0
    assert desk.work_list().groups == ()
    assert desk.pupil_page() == pupils.PupilPage((), (), ())


def test_a_card_of_everything_a_date_a_set_a_status_or_a_state(desk: Desk, kept: Kept) -> None:
    uuids = kept(6)
    desk.set_status(uuids[5], Status.LEARNING)
    made = desk.save_set("Low Tide", uuids[:2])
    desk.save_date(DateDraft("+3d", "Barn dance", tunes=(uuids[3],), sets=(made.uuid,)))
    know(desk, uuids[4])

    def on(what: str) -> set[str]:
        card = desk.card(what)
        return {
            e.title for page in card.pages for section in page.sections for e in section.entries
        }

    titles = [desk.tune(uuid).title for uuid in uuids]
    assert on("") == set(titles)
    assert on("barn dance") == {titles[0], titles[1], titles[3]}
    assert on("dance") == on("barn dance")
    assert on("low tide") == set(titles[:2])
    assert on("learning") == {titles[5]}
    assert on("safe") == {titles[4]}
    assert card_text(desk.card("barn dance")).startswith("Barn dance\n")


def test_a_card_warns_of_twins(desk: Desk) -> None:
    for name, notes in (("Heron", "DFAd fdAF"), ("Egret", "DFAd fdAG")):
        desk.add(Draft(titles=(name,), key="D", metre="C|", starts=(("A", notes),)))
    assert "do not mix with Egret: they part at note 8" in card_text(desk.card())


def test_a_card_of_nothing_says_what_it_could_be(desk: Desk, kept: Kept) -> None:
    uuids = kept(3)
    for name in ("Low Tide", "Low Water"):
        desk.save_set(name, uuids[:2])
    with pytest.raises(NotDoneError, match="no date and no set"):
        desk.card("wedding")
    with pytest.raises(NotDoneError, match="could be Low Tide; Low Water"):
        desk.card("low")
    with pytest.raises(NotDoneError, match="no tune"):
        desk.card("lost")


def test_tunes_are_given_with_their_starts_once(
    desk: Desk, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(3, note="the turn is odd", favourite=True)
    path = tmp_path / "pupils" / "one.tunes"
    with pytest.raises(NotDoneError, match=r"one\.tunes"):
        desk.give(path, uuids[:1])
    assert not path.exists()
    given = desk.give(path, uuids[:2], create=True)
    assert (len(given.given), given.had) == (2, ())
    with open_desk(path, clock) as other:
        tune = other.tune(uuids[0])
        assert tune.starts == desk.tune(uuids[0]).starts
        assert (tune.status, tune.declared, tune.favourite) == (
            Status.LEARNING, Declared.NEW, False,
        )  # fmt: skip
        other.remove(uuids[0])
        other.add(Draft(titles=("Saltpan 02",)))
    again = desk.give(path, uuids)
    assert again.given == ("Saltpan 00",)  # it comes back; the third is there by its name
    assert again.had == ("Saltpan 01", "Saltpan 02")
    with open_desk(path, clock) as other:
        assert len(other.tunes) == 3
        assert other.repertoire.verify() == []
    with pytest.raises(NotDoneError, match="itself"):
        desk.give(desk.path, uuids)
    with pytest.raises(NotDoneError, match="no longer"):
        desk.give(path, ["gone"])


def test_which_tunes_several_can_start(
    desk: Desk, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(4)
    paths = [desk.path, tmp_path / "two.tunes", tmp_path / "three.tunes"]
    for path in paths[1:]:
        desk.give(path, uuids[:3], create=True)
    know(desk, *uuids)
    for number, path in enumerate(paths[1:]):
        with open_desk(path, clock) as other:
            know(other, uuids[0], uuids[1 + number])
    shared = pupils.shared(paths, clock)
    titles = [desk.tune(uuid).title for uuid in uuids]
    assert shared.all_can == (titles[0],)
    assert set(shared.all_have) == {titles[1], titles[2]}
    with pytest.raises(NotDoneError, match="two"):
        pupils.shared(paths[:1], clock)
    with pytest.raises(NotDoneError, match=r"none\.tunes"):
        pupils.shared([paths[0], tmp_path / "none.tunes"], clock)


def test_a_pupils_page(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(4)
    desk.set_status(uuids[0], Status.LEARNING)
    desk.check_away(uuids[2], dict.fromkeys(ALL, Level.SIT_OUT), desk.now())
    hands.forward(days=60)
    know(desk, uuids[1])
    page = desk.pupil_page()
    titles = [desk.tune(uuid).title for uuid in uuids]
    assert page == pupils.PupilPage((titles[0],), (titles[1],), (titles[2],), (titles[3],))


def test_a_round_of_tunes_that_were_picked(desk: Desk, kept: Kept) -> None:
    uuids = kept(3)
    wanted = desk.add(Draft(("Later",), status=Status.WANTED)).uuid
    planned = desk.plan_tunes([uuids[2], wanted, uuids[0], uuids[2]])
    assert [asked.tune.uuid for asked in planned.asked] == [uuids[2], uuids[0]]
    assert planned.minutes == pytest.approx(2 * desk.plan_tune(uuids[0]).minutes)
    for nothing in ([], [wanted]):
        with pytest.raises(NotDoneError, match="nothing can be asked"):
            desk.plan_tunes(nothing)
