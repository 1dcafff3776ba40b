"""Finding the one tune a command means."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from tunememory.service.changes import same_title
from tunememory.service.errors import ServiceError
from tunememory.tunes.text import clean_text, fold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.desk import Desk
    from tunememory.tunes.tune import Tune

Made = TypeVar("Made")

_NAMED = 5


def one_tune(desk: Desk, words: str) -> Tune:
    """Return the tune that ``words`` name: a whole title, or the only one that fits.

    Raises:
        ServiceError: None fits, or several do (they are named).
    """
    whole = same_title(desk, words)
    if len(whole) == 1:
        return whole[0]
    found = [desk.tune(row.uuid) for row in desk.search(words)] if not whole else list(whole)
    if not found:
        raise ServiceError(f"no tune called “{words}”: see tunememory show, or add it")
    if len(found) > 1:
        names = "; ".join(_named(tune) for tune in found[:_NAMED])
        more = " …" if len(found) > _NAMED else ""
        raise ServiceError(f"“{words}” could be several tunes: {names}{more}")
    return found[0]


def _named(tune: Tune) -> str:
    facts = " ".join(fact for fact in (tune.key.short if tune.key else "", tune.kind) if fact)
    return f"{tune.title} ({facts})" if facts else tune.title


def one_named(words: str, named: Sequence[tuple[str, Made]], what: str) -> Made:
    """Return the one thing that ``words`` name: by its whole name, or the only one that fits.

    Args:
        words: The beginnings of any words of its name.
        named: Name and thing.
        what: What it is, for the player.

    Raises:
        ServiceError: None fits, or several do (they are named).
    """
    wanted = fold(words)
    whole = [pair for pair in named if fold(pair[0]) == wanted]
    found = whole or [pair for pair in named if _begins(f" {fold(pair[0])}", wanted)]
    if not found:
        raise ServiceError(f"no {what} called “{clean_text(words)}”")
    if len(found) > 1:
        names = "; ".join(name for name, _ in found[:_NAMED])
        raise ServiceError(f"“{clean_text(words)}” could be: {names}")
    return found[0][1]


def _begins(name: str, wanted: str) -> bool:
    return bool(wanted) and all(f" {word}" in name for word in wanted.split())
