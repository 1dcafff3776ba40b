"""Finding the one tune a command means."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.changes import same_title
from tunememory.service.errors import ServiceError

if TYPE_CHECKING:
    from tunememory.service.desk import Desk
    from tunememory.tunes.tune import Tune

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
