"""Help for a mind gone blank: what to start, and what there is in a key."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.planning.tonight import Known, Place, Starter, one_a_key, what_have_i_in
from tunememory.planning.tonight import what_to_start as starters
from tunememory.service import agenda, dates
from tunememory.service.day_views import StarterView
from tunememory.service.errors import ServiceError
from tunememory.service.overview import rows_of
from tunememory.service.typed import key_of, tuning_of
from tunememory.tunes.shown import first_notes
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile


def what_to_start(
    desk: OpenFile, key: str = "", kind: str = "", tuning: str = "", at: str = ""
) -> tuple[StarterView, ...]:
    """Return tunes to start, best first.

    Args:
        desk: The open repertoire.
        key: Only on this root; empty for any.
        kind: Only of this kind; empty for any.
        tuning: Strings or nickname; empty is what the instrument stands in.
        at: Identity of the date whose place counts; empty is today's, or the next one.

    Raises:
        ServiceError: Key or tuning cannot be read, or the date is gone.
    """
    root = key_of(key)
    found = starters(
        _known(desk),
        _place(desk, at),
        tuning=_tuning(desk, tuning),
        root=root.root_class if root else None,
        kind=clean_text(kind),
    )
    return tuple(_view(one) for one in found)


def in_key(
    desk: OpenFile, key: str, kind: str = "", tuning: str = ""
) -> tuple[tuple[str, tuple[StarterView, ...]], ...]:
    """Return what there is on a root, by tuning.

    Args:
        desk: The open repertoire.
        key: The root.
        kind: Only of this kind; empty for any.
        tuning: Strings or nickname; empty for any.

    Raises:
        ServiceError: Key or tuning cannot be read.
    """
    root = key_of(key)
    if root is None:
        raise ServiceError("give a key: A, D, G …")
    place = _place(desk, "")
    only = tuning_of(tuning)
    groups = what_have_i_in(_known(desk), root.root_class, kind=clean_text(kind))
    return tuple(
        (
            letters,
            tuple(_view(one) for one in starters(group, place, most=len(group))),
        )
        for letters, group in groups
        if only is None or letters == only.letters
    )


def each_key(
    desk: OpenFile, tuning: str = "", kind: str = ""
) -> tuple[tuple[str, StarterView | None], ...]:
    """Return one sure starter for each key, ``None`` where there is none.

    Args:
        desk: The open repertoire.
        tuning: Strings or nickname; empty is what the instrument stands in.
        kind: Only of this kind; empty for any.

    Raises:
        ServiceError: The tuning cannot be read.
    """
    found = one_a_key(
        _known(desk), _place(desk, ""), tuning=_tuning(desk, tuning), kind=clean_text(kind)
    )
    return tuple((name, _view(one) if one else None) for name, one in found)


def _known(desk: OpenFile) -> list[Known]:
    active = [tune.uuid for tune in desk.active()]
    return [
        Known(desk.tune(row.uuid), row.tuning, row.chance.chance) for row in rows_of(desk, active)
    ]


def _place(desk: OpenFile, at: str) -> Place:
    """Where it is asked for: what was played there counts."""
    near = agenda.coming(desk)
    uuid = dates.one(desk, at).uuid if at else near[0][1].uuid if near else ""
    return Place(desk.day(), desk.repertoire.played_there(uuid) if uuid else {})


def _tuning(desk: OpenFile, tuning: str) -> str:
    return (tuning_of(tuning) or desk.settings.standing).letters


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
