"""Tonight's help, the card for the case, and tunes between files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft, save_date
from tunememory.dates.played import dates_to_tell, played_there
from tunememory.dates.tonight import (
    LATELY_DAYS,
    MOST,
    one_for_each_key,
    tunes_in_key,
    what_to_start,
)
from tunememory.errors import NotDoneError
from tunememory.history.recording import record_check_away
from tunememory.library.adding import Draft, add_tune, remove_tune, set_status
from tunememory.library.overview import tune_view
from tunememory.library.sets import save_set
from tunememory.music.forms import barred
from tunememory.music.tune import Declared, Status
from tunememory.practice.today import today_view
from tunememory.practice.work_list import tunes_to_practise
from tunememory.recall.check import Level
from tunememory.rounds.planning import plan_tune, plan_tunes
from tunememory.session import Session, open_session
from tunememory.store.verify import verify
from tunememory.teaching import pupils
from tunememory.teaching.card import card_for, card_text
from tunememory.teaching.pupils import Progress, by_progress, give_tunes

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def know(session: Session, *uuids: str) -> None:
    for uuid in uuids:
        record_check_away(session, uuid, dict.fromkeys(ALL, Level.KICK_OFF), session.now())


def test_what_to_start_is_sure_and_not_played_here_lately(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(8)  # D, G, A, Em, and again
    view = save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    hands.forward(days=3)
    know(session, uuids[0], uuids[4], uuids[1])
    (past,) = dates_to_tell(session)
    played_there(session, view.uuid, past.on, [uuids[0]])
    first, second, *_ = what_to_start(session, "D")
    assert (first.tune.uuid, first.sure, first.lately) == (uuids[4], True, False)
    assert (second.tune.uuid, second.played_here, second.lately) == (uuids[0], past.on, True)
    (start, _) = tune_view(session, uuids[4]).starts
    assert first.first == barred(start.letters[:8], start.bars)
    assert {one.tune.key_short for one in what_to_start(session, "D")} == {"D"}
    assert what_to_start(session, kind="waltz") == []
    with pytest.raises(NotDoneError, match="not a key"):
        what_to_start(session, "H")
    with pytest.raises(NotDoneError, match="no longer"):
        what_to_start(session, at="gone")


def test_five_of_those_kept_or_in_learning_and_for_four_weeks_lately(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(8, key="D")
    for uuid, status in zip(uuids, (Status.RESTING, Status.WANTED), strict=False):
        set_status(session, uuid, status)
    assert len(what_to_start(session)) == MOST == 5
    assert {one.tune.uuid for _, some in tunes_in_key(session, "D") for one in some} == set(
        uuids[2:]
    )
    jam = save_date(session, DateDraft("every day", "Jam"))
    played_there(session, jam.uuid, session.day(), uuids[2:3])
    for days, lately in ((LATELY_DAYS, True), (1, False)):
        hands.forward(days=days)
        ((_, found),) = tunes_in_key(session, "D")
        assert [one.tune.uuid for one in found if one.lately] == [uuids[2]] * lately


def test_what_there_is_in_a_key_by_tuning(session: Session, kept: Kept) -> None:
    uuids = kept(2, key="A")
    crossed = add_tune(session, Draft(titles=("Crossed",), key="Amix", tuning="AEAE")).uuid
    kept(1, key="D")
    found = tunes_in_key(session, "A")
    assert [(tuning, {one.tune.uuid for one in some}) for tuning, some in found] == [
        ("GDAE", set(uuids)), ("AEAE", {crossed}),
    ]  # fmt: skip
    with pytest.raises(NotDoneError, match="give a key"):
        tunes_in_key(session, "")


def test_one_sure_starter_a_key(session: Session, kept: Kept) -> None:
    uuids = kept(4)
    know(session, uuids[1])
    found = dict(one_for_each_key(session))
    assert found.keys() == {"D", "G", "A", "E"}
    assert found["D"] is None
    assert found["G"] is not None
    assert found["G"].tune.uuid == uuids[1]


def test_an_empty_repertoire_has_no_answer_and_no_fault(session: Session) -> None:
    assert what_to_start(session) == []
    assert one_for_each_key(session) == []
    assert today_view(session).practice == 0
    assert tunes_to_practise(session).groups == ()
    assert not any(by_progress(session).values())


def test_a_card_of_everything_a_date_a_set_a_status_or_a_state(
    session: Session, kept: Kept
) -> None:
    uuids = kept(6)
    set_status(session, uuids[5], Status.LEARNING)
    made = save_set(session, "Low Tide", uuids[:2])
    save_date(session, DateDraft("+3d", "Barn dance", tunes=(uuids[3],), sets=(made.uuid,)))
    know(session, uuids[4])

    def on(what: str) -> set[str]:
        card = card_for(session, what)
        pages = (entries for page in card.pages.values() for entries in page.values())
        return {entry.tune.title for entries in pages for entry in entries}

    titles = [session.tune(uuid).title for uuid in uuids]
    assert on("") == set(titles)
    assert on("barn dance") == {titles[0], titles[1], titles[3]}
    assert on("dance") == on("barn dance")
    assert on("low tide") == set(titles[:2])
    assert on("learning") == {titles[5]}
    assert on("safe") == {titles[4]}
    assert card_text(card_for(session, "barn dance")).startswith("Barn dance\n")


def test_a_card_warns_of_twins(session: Session) -> None:
    for name, notes in (("Heron", "DFAd fdAF"), ("Egret", "DFAd fdAG")):
        add_tune(session, Draft(titles=(name,), key="D", metre="C|", starts=(("A", notes),)))
    assert "do not mix with Egret: they part at note 8" in card_text(card_for(session))


def test_a_card_of_nothing_says_what_it_could_be(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    for name in ("Low Tide", "Low Water"):
        save_set(session, name, uuids[:2])
    with pytest.raises(NotDoneError, match="no date and no set"):
        card_for(session, "wedding")
    with pytest.raises(NotDoneError, match="could be Low Tide; Low Water"):
        card_for(session, "low")
    with pytest.raises(NotDoneError, match="no tune"):
        card_for(session, "lost")


def test_tunes_are_given_with_their_starts_once(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(3, note="the turn is odd", favourite=True)
    path = tmp_path / "pupils" / "one.tunes"
    with pytest.raises(NotDoneError, match=r"one\.tunes"):
        give_tunes(session, path, uuids[:1])
    assert not path.exists()
    given = give_tunes(session, path, uuids[:2], create=True)
    assert (len(given.given), given.had) == (2, ())
    with open_session(path, clock) as other:
        tune = other.tune(uuids[0])
        assert tune.starts == session.tune(uuids[0]).starts
        assert (tune.status, tune.declared, tune.favourite) == (
            Status.LEARNING, Declared.NEW, False,
        )  # fmt: skip
        remove_tune(other, uuids[0])
        add_tune(other, Draft(titles=("Saltpan 02",)))
    again = give_tunes(session, path, uuids)
    assert again.given == ("Saltpan 00",)  # it comes back; the third is there by its name
    assert again.had == ("Saltpan 01", "Saltpan 02")
    with open_session(path, clock) as other:
        assert len(other.tunes) == 3
        assert verify(other.repertoire) == []
    with pytest.raises(NotDoneError, match="itself"):
        give_tunes(session, session.path, uuids)
    with pytest.raises(NotDoneError, match="no longer"):
        give_tunes(session, path, ["gone"])


def test_which_tunes_several_can_start(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(4)
    paths = [session.path, tmp_path / "two.tunes", tmp_path / "three.tunes"]
    for path in paths[1:]:
        give_tunes(session, path, uuids[:3], create=True)
    know(session, *uuids)
    for number, path in enumerate(paths[1:]):
        with open_session(path, clock) as other:
            know(other, uuids[0], uuids[1 + number])
    shared = pupils.shared(paths, clock)
    titles = [session.tune(uuid).title for uuid in uuids]
    assert shared.all_can == (titles[0],)
    assert set(shared.all_have) == {titles[1], titles[2]}
    with pytest.raises(NotDoneError, match="two"):
        pupils.shared(paths[:1], clock)
    with pytest.raises(NotDoneError, match=r"none\.tunes"):
        pupils.shared([paths[0], tmp_path / "none.tunes"], clock)


def test_a_pupils_page(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(4)
    set_status(session, uuids[0], Status.LEARNING)
    record_check_away(session, uuids[2], dict.fromkeys(ALL, Level.SIT_OUT), session.now())
    hands.forward(days=60)
    know(session, uuids[1])
    assert {progress: [tune.uuid for tune in some] for progress, some in
            by_progress(session).items()} == {
        Progress.GIVEN: uuids[:1], Progress.MEND: uuids[2:3], Progress.NOT_ASKED: uuids[3:],
        Progress.CAN_START: uuids[1:2], Progress.LATER: [],
    }  # fmt: skip


def test_a_round_of_tunes_that_were_picked(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    wanted = add_tune(session, Draft(("Later",), status=Status.WANTED)).uuid
    planned = plan_tunes(session, [uuids[2], wanted, uuids[0], uuids[2]])
    assert [asked.tune.uuid for asked in planned.asked] == [uuids[2], uuids[0]]
    assert planned.minutes == pytest.approx(2 * plan_tune(session, uuids[0]).minutes)
    for nothing in ([], [wanted]):
        with pytest.raises(NotDoneError, match="nothing can be asked"):
            plan_tunes(session, nothing)
