"""The Saltpan Hall repertoire as a file of its own, its history ending yesterday."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from tunememory.service.desk import open_desk
from tunememory.service.errors import ServiceError
from tunememory.service.sample import load_sample
from tunememory.service.twins import catch_up
from tunememory.store.errors import RepertoireError

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.clock import Clock


def make_demo(path: Path, clock: Clock, *, learned: bool = True) -> None:
    """Make the sample repertoire at ``path``, where no file may be yet.

    Args:
        path: The new file.
        clock: Its history ends on the day before this clock's.
        learned: Whether what was learned of the player comes in too.

    Raises:
        ServiceError: The file is there already or cannot be written.
    """
    if path.exists():
        raise ServiceError(f"{path} is there already: name a new file")
    with open_desk(path, clock) as desk:
        try:
            yesterday = desk.day() - timedelta(days=1)
            load_sample(desk.repertoire, yesterday, clock.zone, learned=learned)
        except RepertoireError as error:
            raise ServiceError(str(error)) from error
        desk.reload()
        # Reading the beliefs replays the history and keeps the result.
        desk.remembered.all()
        catch_up(desk)
