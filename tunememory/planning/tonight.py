"""Help for a mind gone blank: what to start, and what there is in a key."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from tunememory.tunes.text import fold_title
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from tunememory.tunes.tune import Tune

SURE = 0.8
"""Chance of starting it from which a tune is a sure starter: it is safe."""

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


def what_to_start(
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
        (best,) = what_to_start(known, place, tuning=tuning, root=root, kind=kind, most=1)
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
    return Starter(one, played, one.chance >= SURE, lately)


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
