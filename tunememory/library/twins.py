"""Tunes of this repertoire that begin alike."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.music.likeness import LikenessIndex
from tunememory.session import About, Memo
from tunememory.store.records import TwinRow

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tunememory.music.tune import Tune
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Twin:
    """A tune that begins alike, seen from another.

    Attributes:
        tune: Its identity.
        title: Its title.
        part: The part of the other tune that its ``other_part`` begins like.
        other_part: Its own part.
        parts_at: 1-based note of ``part`` where they part, 0 if they do not.
        distance: 0 for the same notes.
    """

    tune: str
    title: str
    part: str
    other_part: str
    parts_at: int
    distance: float


AT_ONCE = 20
"""So many new tunes are compared where they come in; more are left for later."""


def twins_of(session: Session, uuid: str) -> tuple[Twin, ...]:
    """Return the tunes that begin like this one, nearest first, each once."""
    return _twins(session).get(uuid, ())


def twin_map(session: Session) -> dict[str, frozenset[str]]:
    """Return each tune that has twins with the identities of its twins."""
    return {uuid: frozenset(twin.tune for twin in found) for uuid, found in _twins(session).items()}


def pairs(session: Session) -> tuple[tuple[Tune, Twin], ...]:
    """Return every pair of tunes that begin alike, nearest first, each once."""
    found: dict[frozenset[str], tuple[Tune, Twin]] = {}
    for uuid, twins in _twins(session).items():
        for twin in twins:
            found.setdefault(frozenset({uuid, twin.tune}), (session.tune(uuid), twin))
    return tuple(sorted(found.values(), key=lambda pair: (pair[1].distance, pair[0].title)))


def compare_new_starts(session: Session, *, at_most: int | None = None) -> None:
    """Compare the tunes that came in or changed with all others, and keep what was found.

    Args:
        session: The open repertoire.
        at_most: Do nothing when there are more to compare.

    Raises:
        RepertoireError: The file cannot be written.
    """
    new = session.repertoire.twins.not_compared()
    if at_most is None or len(new) <= at_most:
        _compare(session, [uuid for uuid in new if uuid in session.tunes])


def ensure(session: Session, uuids: Iterable[str]) -> bool:
    """Compare those of ``uuids`` that were not compared yet; return whether there were any.

    Raises:
        RepertoireError: The file cannot be written.
    """
    new = session.repertoire.twins.not_compared(uuids)
    _compare(session, new)
    return bool(new)


def _compare(session: Session, new: list[str]) -> None:
    if not new or session.repertoire.readonly:
        return
    starts = index(session)
    rows: dict[tuple[str, str, str, str], TwinRow] = {}
    pairs = (
        starts.all_pairs()
        if len(new) == len(session.tunes)
        else (pair for uuid in new for pair in starts.twins_of(session.tune(uuid)))
    )
    for pair in pairs:
        for row in (
            TwinRow(
                pair.tune, pair.part, pair.other, pair.other_part, pair.distance, pair.parts_at
            ),
            TwinRow(
                pair.other, pair.other_part, pair.tune, pair.part, pair.distance,
                pair.other_parts_at,
            ),
        ):  # fmt: skip
            rows.setdefault((row.tune, row.part, row.other, row.other_part), row)
    session.repertoire.twins.save(new, rows.values())
    session.changed(About.TWINS)


def _read(session: Session) -> dict[str, tuple[Twin, ...]]:
    found: dict[str, dict[str, Twin]] = defaultdict(dict)
    for row in session.repertoire.twins.all():
        other = session.tunes.get(row.other)
        if other is not None:
            twin = Twin(
                row.other, other.title, row.part, row.other_part, row.parts_at, row.distance
            )
            # Nearest first: of two starts of one tune only the nearer is told.
            found[row.tune].setdefault(row.other, twin)
    return {uuid: tuple(twins.values()) for uuid, twins in found.items()}


index = Memo(lambda session: LikenessIndex(session.tunes.values()), About.TUNES)
"""The starts of the repertoire, ready to be compared."""

_twins = Memo(_read, About.TUNES | About.TWINS)
