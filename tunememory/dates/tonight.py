"""Help for a mind gone blank: what to start, and what there is in a key."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from tunememory.dates import agenda
from tunememory.errors import NotDoneError
from tunememory.library.overview import rows_of
from tunememory.music.forms import first_notes
from tunememory.music.strings import tuning_of
from tunememory.music.typed_starts import key_of
from tunememory.recall.state import SAFE
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tunememory.music.tune import Tune
    from tunememory.session import Session


LATELY_DAYS = 28
"""Played at this place within so many days is lately: four weekly sessions (own choice)."""

MOST = 5
"""Tunes to start that are named."""


@dataclass(frozen=True, slots=True)
class Starter:
    """A tune to start.

    Attributes:
        tune: The tune.
        tuning: Letters of its tuning, the usual one filled in.
        chance: Of starting it now.
        played_here: When it was last played at the place meant, ``None`` if never.
        lately: That was lately.
    """

    tune: Tune
    tuning: str
    chance: float
    played_here: date | None
    lately: bool

    @property
    def sure(self) -> bool:
        """Whether it is a sure starter."""
        return self.chance >= SAFE

    @property
    def first(self) -> str:
        """Its first notes in letters."""
        return first_notes(self.tune)


def best_first(
    starters: Iterable[Starter], *, tuning: str = "", root: int | None = None, kind: str = ""
) -> list[Starter]:
    """Return the tunes to start that fit, best first.

    Sure ones before others, those not played there lately before those that were, then
    favourites, then the longest unplayed there, then the surest.

    Args:
        starters: All there are.
        tuning: Only in this tuning, as letters; empty for any.
        root: Only on this pitch class, 0 (C) to 11 (B).
        kind: Only of this kind; empty for any.
    """
    only = kind.casefold()
    fitting = (
        one
        for one in starters
        if tuning in {"", one.tuning}
        and only in {"", one.tune.kind.casefold()}
        and root in {None, one.tune.key.root_class if one.tune.key else -1}
    )
    return sorted(fitting, key=_rank)


def by_tuning(starters: Iterable[Starter]) -> list[tuple[str, list[Starter]]]:
    """Return tunes by tuning, the tuning with most of them first."""
    groups: defaultdict[str, list[Starter]] = defaultdict(list)
    for one in starters:
        groups[one.tuning].append(one)
    return sorted(groups.items(), key=lambda group: (-len(group[1]), group[0]))


def one_a_key(starters: Sequence[Starter]) -> list[tuple[str, Starter | None]]:
    """Return one sure starter for each root there are tunes on, ``None`` where there is none.

    The root with most tunes first; roots are named as most of their tunes are.

    Args:
        starters: All there are, best first.
    """
    names: defaultdict[int, Counter[str]] = defaultdict(Counter)
    best: dict[int, Starter] = {}
    for one in starters:
        if one.tune.key is not None:
            names[one.tune.key.root_class][one.tune.key.root] += 1
            best.setdefault(one.tune.key.root_class, one)
    found = []
    for root in sorted(names, key=lambda root: (-names[root].total(), root)):
        name = min(names[root], key=lambda spelled: (-names[root][spelled], spelled))
        found.append((name, best[root] if best[root].sure else None))
    return found


def _rank(one: Starter) -> tuple[bool, bool, bool, int, float, str]:
    return (
        not one.sure,
        one.lately,
        not one.tune.favourite,
        (one.played_here or date.min).toordinal(),
        -one.chance,
        one.tune.uuid,
    )


def what_to_start(
    session: Session, key: str = "", kind: str = "", tuning: str = "", at: str = ""
) -> list[Starter]:
    """Return tunes to start, best first.

    Args:
        session: The open repertoire.
        key: Only on this root; empty for any.
        kind: Only of this kind; empty for any.
        tuning: Strings or nickname; empty is what the instrument stands in.
        at: Identity of the date whose place counts; empty is today's, or the next one.

    Raises:
        NotDoneError: Key or tuning cannot be read, or the date is gone.
    """
    root = key_of(key)
    found = best_first(
        _starters(session, at),
        tuning=_tuning(session, tuning),
        root=root.root_class if root else None,
        kind=clean_text(kind),
    )
    return found[:MOST]


def tunes_in_key(
    session: Session, key: str, kind: str = "", tuning: str = ""
) -> list[tuple[str, list[Starter]]]:
    """Return what there is on a root, by tuning.

    Args:
        session: The open repertoire.
        key: The root.
        kind: Only of this kind; empty for any.
        tuning: Strings or nickname; empty for any.

    Raises:
        NotDoneError: Key or tuning cannot be read.
    """
    root = key_of(key)
    if root is None:
        raise NotDoneError("give a key: A, D, G …")
    only = tuning_of(tuning)
    letters = only.letters if only else ""
    found = best_first(
        _starters(session), tuning=letters, root=root.root_class, kind=clean_text(kind)
    )
    return by_tuning(found)


def one_for_each_key(
    session: Session, tuning: str = "", kind: str = ""
) -> list[tuple[str, Starter | None]]:
    """Return one sure starter for each key, ``None`` where there is none.

    Args:
        session: The open repertoire.
        tuning: Strings or nickname; empty is what the instrument stands in.
        kind: Only of this kind; empty for any.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    letters = _tuning(session, tuning)
    return one_a_key(best_first(_starters(session), tuning=letters, kind=clean_text(kind)))


def _starters(session: Session, at: str = "") -> list[Starter]:
    """Kept tunes and those in learning as they stand now, where it is asked for."""
    near = agenda.coming(session)
    uuid = agenda.date_of(session, at).uuid if at else near[0][1].uuid if near else ""
    played = session.repertoire.practices.last_played_at(uuid) if uuid else {}
    found = []
    for row in rows_of(session, [tune.uuid for tune in session.active()]):
        here = played.get(row.tune.uuid)
        lately = here is not None and (session.day() - here).days <= LATELY_DAYS
        chance = row.chance.chance
        found.append(Starter(row.tune, row.tuning, chance, here, lately))
    return found


def _tuning(session: Session, tuning: str) -> str:
    return (tuning_of(tuning) or session.settings.standing).letters
