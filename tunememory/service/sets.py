"""Sets of tunes: how they stand, and how they are made."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.planning.readiness import READY, set_standing
from tunememory.service import joins
from tunememory.service.date_views import JoinView, SetTune, SetView
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.service.overview import rows_of
from tunememory.tunes.sets import TuneSet
from tunememory.tunes.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.planning.readiness import SetStanding
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Level

MOST_TUNES = 40

ASKED_SHOWN = 12
"""Past checks of a join handed to the page of its set."""


def views(desk: OpenFile) -> tuple[SetView, ...]:
    """Return every set and how it stands, by name."""
    found = (view_of(desk, one) for one in desk.sets.values())
    return tuple(sorted(found, key=lambda view: (fold_title(view.name), view.uuid)))


def view(desk: OpenFile, uuid: str) -> SetView:
    """Return one set.

    Raises:
        ServiceError: It is gone.
    """
    return view_of(desk, _one(desk, uuid))


def save(desk: OpenFile, name: str, tunes: Sequence[str], uuid: str = "") -> SetView:
    """Make a set, or change the one of identity ``uuid``.

    Args:
        desk: The open repertoire.
        name: May be empty.
        tunes: Identities in order.
        uuid: Which set is changed; empty for a new one.

    Raises:
        ServiceError: The set or a tune is gone, there are too few or too many tunes, or the file
            cannot be written.
    """
    if uuid:
        _one(desk, uuid)
    kept = TuneSet(
        uuid or new_identity(), clean_text(name), tuple(desk.tune(tune).uuid for tune in tunes)
    )
    if not 2 <= len(kept.tunes) <= MOST_TUNES:
        raise ServiceError(f"a {desk.settings.set_word} has from 2 to {MOST_TUNES} tunes")
    with desk.changing():
        desk.repertoire.save_set(kept)
    desk.sets_changed()
    return view(desk, kept.uuid)


def remove(desk: OpenFile, uuid: str) -> None:
    """Take a set apart; its tunes stay.

    Raises:
        ServiceError: It is gone, or the file cannot be written.
    """
    _one(desk, uuid)
    with desk.changing():
        desk.repertoire.remove_set(uuid)
    desk.sets_changed()


def name_of(desk: OpenFile, one: TuneSet) -> str:
    """Return a set's name, or its titles where it has none."""
    titles = (desk.tunes[uuid].title for uuid in one.tunes if uuid in desk.tunes)
    return one.name or " / ".join(titles) or "no tunes"


def view_of(desk: OpenFile, one: TuneSet) -> SetView:
    """Return a set and how it stands now."""
    by_tune = {row.uuid: row for row in rows_of(desk, tuple(dict.fromkeys(one.tunes)))}
    rows = [by_tune[uuid] for uuid in one.tunes]
    chances = [_join_chance(desk, pair) for pair in pairwise(one.tunes)]
    stands = set_standing([row.chance.chance for row in rows], chances) if rows else None
    return SetView(
        uuid=one.uuid,
        name=name_of(desk, one),
        tunes=tuple(
            SetTune(row.uuid, row.title, row.key, row.tuning, row.chance.chance) for row in rows
        ),
        joins=tuple(
            JoinView(first.title, second.title, chance, _asked(desk, (first.uuid, second.uuid)))
            for first, second, chance in zip(rows, rows[1:], chances, strict=False)
        ),
        chance=stands.chance if stands else 0.0,
        ready=stands is not None and stands.ready,
        weakest=_weakest(desk, one, stands),
    )


def _join_chance(desk: OpenFile, pair: tuple[str, str]) -> float | None:
    """Chance of a join, ``None`` where it was never asked; a tune goes on into itself."""
    if pair[0] == pair[1]:
        return 1.0
    asked = joins.joins_of(desk).last_asked(pair)
    return joins.chance_of(desk, pair) if asked else None


def _asked(desk: OpenFile, pair: tuple[str, str]) -> tuple[tuple[date, Level], ...]:
    """Days on which a join was asked and how it came, newest first."""
    checks = joins.joins_of(desk).checks.get(pair, [])[-ASKED_SHOWN:]
    return tuple((check.day, check.levels[0][1]) for check in reversed(checks))


def _weakest(desk: OpenFile, one: TuneSet, stands: SetStanding | None) -> str:
    if stands is None or stands.ready:
        return ""
    if stands.chance >= READY:
        number = "1 join" if stands.unasked == 1 else f"{stands.unasked} joins"
        return f"{number} not asked yet"
    titles = [desk.tune(uuid).title for uuid in one.tunes]
    (row,) = rows_of(desk, one.tunes[stands.tune : stands.tune + 1])
    if stands.join >= 0 and stands.chance < row.chance.chance:
        return f"{titles[stands.join]} into {titles[stands.join + 1]}"
    return titles[stands.tune]


def _one(desk: OpenFile, uuid: str) -> TuneSet:
    try:
        return desk.sets[uuid]
    except KeyError:
        raise ServiceError(f"that {desk.settings.set_word} is no longer there") from None
