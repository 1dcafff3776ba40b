"""How boldly to plan for this player, looked up in the checks every so often.

Every look is kept with its date and what it rests on, as a set of parameters that was never in
use, so that copies of the file share it when they are merged.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from tunememory.planning.boldness import BOLD, EVEN, focus_for, look_is_due
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.service.parameters import FOCUS, last_look
from tunememory.store.beliefs import ParameterSet
from tunememory.store.errors import RepertoireError

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile

LOOKED_AT = "looked_at_checks"
"""In the evidence of a look: checks there were."""


def is_due(desk: OpenFile) -> bool:
    """Whether there are new checks enough for a look."""
    looked_at = last_look(desk.repertoire).get(LOOKED_AT, 0)
    return look_is_due(desk.repertoire.check_count(), looked_at)


def look(desk: OpenFile) -> float:
    """Look which kind of memory the checks speak for, keep it, and return the focus to plan with.

    Raises:
        ServiceError: It could not be written.
    """
    from tunememory.memory.kinds import leaning  # noqa: PLC0415 - loads numpy
    from tunememory.service.history import entry_of, whole_history  # noqa: PLC0415

    desk.changed_elsewhere()
    count = desk.repertoire.check_count()
    tunes, histories = whole_history(desk)
    found = leaning([entry_of(tune) for tune in tunes], histories)
    focus = focus_for(found, count, desk.params.focus)
    evidence: dict[str, Any] = {FOCUS: focus, LOOKED_AT: count, "leaning": round(found, 3)}
    kept = ParameterSet(
        uuid=new_identity(),
        made_at=desk.now(),
        numbers="{}",
        evidence=json.dumps(evidence),
        active=False,
    )
    try:
        with desk.repertoire.writing():
            desk.repertoire.add_parameters(kept)
    except RepertoireError as error:
        raise ServiceError(str(error)) from error
    desk.reload()
    return focus


def words(focus: float) -> str:
    """Say how the plan is made."""
    if focus >= BOLD:
        return "the plan builds up the tunes that grow, and leaves the weakest for later"
    if focus > EVEN:
        return "the plan keeps all tunes, and builds up a little; your checks do not say more yet"
    return "the plan keeps all tunes as evenly as can be"
