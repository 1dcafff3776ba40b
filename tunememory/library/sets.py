"""Sets of tunes: how they stand, and how they are made."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory import history
from tunememory.errors import NotDoneError
from tunememory.library.overview import rows_of
from tunememory.recall.state import SAFE
from tunememory.session import About
from tunememory.store.records import TuneSet, new_identity
from tunememory.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.library.overview import TuneRow
    from tunememory.recall.check import Level
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class SetStanding:
    """How a set stands: as well as its weakest tune or join.

    Attributes:
        chance: Of the weakest of all.
        tune: Place in the set of its weakest tune.
        join: Place of the tune before the weakest join, -1 for none.
        unasked: How many joins were never asked.
    """

    chance: float
    tune: int
    join: int
    unasked: int

    @property
    def ready(self) -> bool:
        """Whether every tune and every join is ready; a join never asked is not."""
        return self.chance >= SAFE and not self.unasked


def set_standing(tunes: Sequence[float], joins: Sequence[float | None]) -> SetStanding:
    """Return how a set stands.

    Args:
        tunes: Chance of starting each tune, at least one.
        joins: Chance of each join, ``None`` where it was never asked; one fewer than tunes.

    Raises:
        ValueError: Not one join fewer than tunes.
    """
    if not tunes or len(joins) != len(tunes) - 1:
        raise ValueError(f"{len(tunes)} tunes have {len(tunes) - 1} joins, not {len(joins)}")
    tune = min(range(len(tunes)), key=tunes.__getitem__)
    known = [(value, place) for place, value in enumerate(joins) if value is not None]
    weakest, join = min(known, default=(1.0, -1))
    return SetStanding(min(tunes[tune], weakest), tune, join, len(joins) - len(known))


@dataclass(frozen=True, slots=True)
class SetTune:
    """A tune of a set, with its chance of being started now."""

    tune: str
    title: str
    key: str
    tuning: str
    chance: float


@dataclass(frozen=True, slots=True)
class JoinView:
    """From one tune of a set into the next.

    Attributes:
        chance: That it comes now; ``None`` when it was never asked.
        asked: The days on which it was asked and how it came, newest first.
    """

    first: str
    second: str
    chance: float | None
    asked: tuple[tuple[date, Level], ...] = ()


@dataclass(frozen=True, slots=True)
class SetView:
    """A set.

    Attributes:
        name: As the player calls it, else made of its titles.
        joins: One fewer than tunes.
        chance: Of its weakest tune or join.
        ready: Every tune and every join is ready.
        weakest: What holds it back, in words; empty when it is ready.
    """

    uuid: str
    name: str
    tunes: tuple[SetTune, ...]
    joins: tuple[JoinView, ...]
    chance: float
    ready: bool
    weakest: str


MOST_TUNES = 40

ASKED_SHOWN = 12
"""Past checks of a join handed to the page of its set."""


def all_sets(session: Session) -> tuple[SetView, ...]:
    """Return every set and how it stands, by name."""
    found = (view_of(session, one) for one in session.sets.values())
    return tuple(sorted(found, key=lambda view: (fold_title(view.name), view.uuid)))


def set_view(session: Session, uuid: str) -> SetView:
    """Return one set.

    Raises:
        NotDoneError: It is gone.
    """
    return view_of(session, _one(session, uuid))


def save_set(session: Session, name: str, tunes: Sequence[str], uuid: str = "") -> SetView:
    """Make a set, or change the one of identity ``uuid``.

    Args:
        session: The open repertoire.
        name: May be empty.
        tunes: Identities in order.
        uuid: Which set is changed; empty for a new one.

    Raises:
        NotDoneError: The set or a tune is gone, there are too few or too many tunes, or the file
            cannot be written.
    """
    if uuid:
        _one(session, uuid)
    kept = TuneSet(
        uuid or new_identity(), clean_text(name), tuple(session.tune(tune).uuid for tune in tunes)
    )
    if not 2 <= len(kept.tunes) <= MOST_TUNES:
        raise NotDoneError(f"a {session.settings.set_word} has from 2 to {MOST_TUNES} tunes")
    with session.changing():
        session.repertoire.sets.save(kept)
    session.changed(About.SETS)
    return set_view(session, kept.uuid)


def remove_set(session: Session, uuid: str) -> None:
    """Take a set apart; its tunes stay.

    Raises:
        NotDoneError: It is gone, or the file cannot be written.
    """
    _one(session, uuid)
    with session.changing():
        session.repertoire.sets.remove(uuid)
    session.changed(About.SETS)


def name_of(session: Session, one: TuneSet) -> str:
    """Return a set's name, or its titles where it has none."""
    titles = (session.tunes[uuid].title for uuid in one.tunes if uuid in session.tunes)
    return one.name or " / ".join(titles) or "no tunes"


def view_of(session: Session, one: TuneSet) -> SetView:
    """Return a set and how it stands now."""
    by_tune = {row.tune.uuid: row for row in rows_of(session, tuple(dict.fromkeys(one.tunes)))}
    rows = [by_tune[uuid] for uuid in one.tunes]
    tunes = [row.tune for row in rows]
    chances = [_join_chance(session, pair) for pair in pairwise(one.tunes)]
    stands = set_standing([row.chance.chance for row in rows], chances) if rows else None
    return SetView(
        uuid=one.uuid,
        name=name_of(session, one),
        tunes=tuple(
            SetTune(
                row.tune.uuid, row.tune.title, row.tune.key_short, row.tuning, row.chance.chance
            )
            for row in rows
        ),
        joins=tuple(
            JoinView(tune.title, then.title, chance, _asked(session, (tune.uuid, then.uuid)))
            for (tune, then), chance in zip(pairwise(tunes), chances, strict=True)
        ),
        chance=stands.chance if stands else 0.0,
        ready=stands is not None and stands.ready,
        weakest=_weakest(rows, stands) if stands else "",
    )


def _join_chance(session: Session, pair: tuple[str, str]) -> float | None:
    """Chance of a join, ``None`` where it was never asked; a tune goes on into itself."""
    if pair[0] == pair[1]:
        return 1.0
    asked = history.joins_of(session).last_asked(pair)
    return history.join_chance(session, pair) if asked else None


def _asked(session: Session, pair: tuple[str, str]) -> tuple[tuple[date, Level], ...]:
    """Days on which a join was asked and how it came, newest first."""
    checks = history.joins_of(session).checks.get(pair, [])[-ASKED_SHOWN:]
    return tuple((check.day, check.levels[0][1]) for check in reversed(checks))


def _weakest(rows: Sequence[TuneRow], stands: SetStanding) -> str:
    """What holds a set back, in words; empty when it is ready."""
    if stands.ready:
        return ""
    if stands.chance >= SAFE:
        number = "1 join" if stands.unasked == 1 else f"{stands.unasked} joins"
        return f"{number} not asked yet"
    if stands.join >= 0 and stands.chance < rows[stands.tune].chance.chance:
        first, second = (row.tune.title for row in rows[stands.join : stands.join + 2])
        return f"{first} into {second}"
    return rows[stands.tune].tune.title


def _one(session: Session, uuid: str) -> TuneSet:
    try:
        return session.sets[uuid]
    except KeyError:
        raise NotDoneError(f"that {session.settings.set_word} is no longer there") from None
