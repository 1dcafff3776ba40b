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
from tunememory.music.tune import Status
from tunememory.music.typed_starts import key_of, tuning_of
from tunememory.recall.state import SAFE
from tunememory.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from tunememory.music.tune import Tune
    from tunememory.session import Session


LATELY_DAYS = 28
"""Played at this place within so many days is lately: four weekly sessions (own choice)."""

MOST = 5

_PLAYED = frozenset({Status.KEPT, Status.LEARNING})


@dataclass(frozen=True, slots=True)
class Known:
    """A tune as it stands now.

    Attributes:
        tune: The tune.
        tuning: Letters of its tuning, the usual one filled in.
        chance: Of starting it now.
    """

    tune: Tune
    tuning: str
    chance: float


@dataclass(frozen=True, slots=True)
class Starter:
    """A tune to start.

    Attributes:
        known: The tune as it stands.
        played_here: When it was last played at the place meant, ``None`` if never.
        sure: Whether it is a sure starter.
        lately: Whether it was played there lately.
    """

    known: Known
    played_here: date | None
    sure: bool
    lately: bool


@dataclass(frozen=True, slots=True)
class Place:
    """Where and when.

    Attributes:
        day: The practice day.
        played: When each tune was last played there, by identity.
    """

    day: date
    played: Mapping[str, date]


def best_starters(
    known: Iterable[Known],
    place: Place,
    *,
    tuning: str | None = None,
    root: int | None = None,
    kind: str = "",
    most: int = MOST,
) -> tuple[Starter, ...]:
    """Return tunes to start, best first.

    Sure ones before others, those not played there lately before those that were, then
    favourites, then the longest unplayed there, then the surest. Only kept tunes and those in
    learning.

    Args:
        known: The repertoire.
        place: Where and when.
        tuning: Only in this tuning, as letters.
        root: Only on this pitch class.
        kind: Only of this kind; empty for any.
        most: At most so many.
    """
    starters = [
        _starter(one, place)
        for one in _playable(known, tuning, kind)
        if root is None or _root(one) == root
    ]
    return tuple(sorted(starters, key=_rank)[:most])


def what_have_i_in(
    known: Iterable[Known], root: int, *, kind: str = ""
) -> tuple[tuple[str, tuple[Known, ...]], ...]:
    """Return the tunes on a root by tuning, the tuning with most of them first.

    Within a tuning by title. Kept tunes and those in learning.

    Args:
        known: The repertoire.
        root: Pitch class, 0 (C) to 11 (B).
        kind: Only of this kind; empty for any.
    """
    by_tuning: defaultdict[str, list[Known]] = defaultdict(list)
    for one in _playable(known, kind=kind):
        if _root(one) == root:
            by_tuning[one.tuning].append(one)
    groups = sorted(by_tuning.items(), key=lambda group: (-len(group[1]), group[0]))
    return tuple((tuning, tuple(sorted(tunes, key=_by_title))) for tuning, tunes in groups)


def one_a_key(
    known: Sequence[Known], place: Place, *, tuning: str | None = None, kind: str = ""
) -> tuple[tuple[str, Starter | None], ...]:
    """Return one sure starter for each root there are tunes on, ``None`` where there is none.

    The root with most tunes first; roots are named as most of their tunes are.

    Args:
        known: The repertoire.
        place: Where and when.
        tuning: Only in this tuning, as letters.
        kind: Only of this kind; empty for any.
    """
    names: defaultdict[int, Counter[str]] = defaultdict(Counter)
    for one in _playable(known, tuning, kind):
        if one.tune.key is not None:
            names[one.tune.key.root_class][one.tune.key.root] += 1
    roots = sorted(names, key=lambda root: (-names[root].total(), root))
    found = []
    for root in roots:
        (best,) = best_starters(known, place, tuning=tuning, root=root, kind=kind, most=1)
        name = min(names[root], key=lambda spelled: (-names[root][spelled], spelled))
        found.append((name, best if best.sure else None))
    return tuple(found)


def _playable(known: Iterable[Known], tuning: str | None = None, kind: str = "") -> Iterator[Known]:
    only = kind.casefold()
    for one in known:
        fits = (tuning is None or one.tuning == tuning) and only in {"", one.tune.kind.casefold()}
        if one.tune.status in _PLAYED and fits:
            yield one


def _root(one: Known) -> int | None:
    return one.tune.key.root_class if one.tune.key else None


def _starter(one: Known, place: Place) -> Starter:
    played = place.played.get(one.tune.uuid)
    lately = played is not None and (place.day - played).days <= LATELY_DAYS
    return Starter(one, played, one.chance >= SAFE, lately)


def _rank(starter: Starter) -> tuple[bool, bool, bool, int, float, str]:
    return (
        not starter.sure,
        starter.lately,
        not starter.known.tune.favourite,
        (starter.played_here or date.min).toordinal(),
        -starter.known.chance,
        starter.known.tune.uuid,
    )


def _by_title(one: Known) -> tuple[str, str]:
    return fold_title(one.tune.title), one.tune.uuid


@dataclass(frozen=True, slots=True)
class StarterView:
    """A tune to start.

    Attributes:
        sure: A sure starter.
        played_here: When it was last played at the place meant.
        lately: That was lately.
        first: Its first notes in letters.
    """

    tune: str
    title: str
    kind: str
    key: str
    tuning: str
    chance: float
    sure: bool
    played_here: date | None
    lately: bool
    first: str


def what_to_start(
    session: Session, key: str = "", kind: str = "", tuning: str = "", at: str = ""
) -> tuple[StarterView, ...]:
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
    found = best_starters(
        _known(session),
        _place(session, at),
        tuning=_tuning(session, tuning),
        root=root.root_class if root else None,
        kind=clean_text(kind),
    )
    return tuple(_view(one) for one in found)


def tunes_in_key(
    session: Session, key: str, kind: str = "", tuning: str = ""
) -> tuple[tuple[str, tuple[StarterView, ...]], ...]:
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
    place = _place(session, "")
    only = tuning_of(tuning)
    groups = what_have_i_in(_known(session), root.root_class, kind=clean_text(kind))
    return tuple(
        (
            letters,
            tuple(_view(one) for one in best_starters(group, place, most=len(group))),
        )
        for letters, group in groups
        if only is None or letters == only.letters
    )


def one_for_each_key(
    session: Session, tuning: str = "", kind: str = ""
) -> tuple[tuple[str, StarterView | None], ...]:
    """Return one sure starter for each key, ``None`` where there is none.

    Args:
        session: The open repertoire.
        tuning: Strings or nickname; empty is what the instrument stands in.
        kind: Only of this kind; empty for any.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    found = one_a_key(
        _known(session), _place(session, ""), tuning=_tuning(session, tuning), kind=clean_text(kind)
    )
    return tuple((name, _view(one) if one else None) for name, one in found)


def _known(session: Session) -> list[Known]:
    active = [tune.uuid for tune in session.active()]
    return [
        Known(session.tune(row.uuid), row.tuning, row.chance.chance)
        for row in rows_of(session, active)
    ]


def _place(session: Session, at: str) -> Place:
    """Where it is asked for: what was played there counts."""
    near = agenda.coming(session)
    uuid = agenda.date_of(session, at).uuid if at else near[0][1].uuid if near else ""
    return Place(session.day(), session.repertoire.practices.last_played_at(uuid) if uuid else {})


def _tuning(session: Session, tuning: str) -> str:
    return (tuning_of(tuning) or session.settings.standing).letters


def _view(one: Starter) -> StarterView:
    tune = one.known.tune
    return StarterView(
        tune=tune.uuid,
        title=tune.title,
        kind=tune.kind,
        key=tune.key.short if tune.key else "",
        tuning=one.known.tuning,
        chance=one.known.chance,
        sure=one.sure,
        played_here=one.played_here,
        lately=one.lately,
        first=first_notes(tune),
    )
