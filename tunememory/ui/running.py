"""Running the app in this terminal."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, NamedTuple

from tunememory.store.glance import glance
from tunememory.ui.app import TuneApp
from tunememory.ui.theme import CHOICES, LAMP_LIGHT

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.rounds.planning import RoundWish
    from tunememory.session import Session


class FirstPicture(NamedTuple):
    """What can be shown at once.

    Attributes:
        today: The practice day.
        light: The theme.
        pick_up: The pick-up line of an earlier day, with its day.
    """

    today: date
    light: str = LAMP_LIGHT
    pick_up: tuple[date, str] | None = None


def first_picture(path: Path, clock: Clock) -> FirstPicture | None:
    """Look at the file, or return ``None`` when it cannot be read at a glance."""
    found = glance(path, clock)
    if found is None:
        return None
    light = found.theme.strip('"')
    return FirstPicture(
        found.day,
        light if light in CHOICES else LAMP_LIGHT,
        found.pick_up,
    )


def run_app(path: Path, clock: Clock, begin: RoundWish | None = None) -> int:
    """Run the app on ``path`` and return the exit code.

    Without a terminal it says so in one sentence and returns 1.

    Args:
        path: The repertoire file.
        clock: Where the time comes from.
        begin: A round to begin at once.

    Raises:
        NotDoneError: The repertoire cannot be opened.
        Exception: Whatever went wrong inside; the terminal is in order again.
    """
    # Textual reads standard input and draws on standard error.
    streams = (sys.stdin, sys.stdout, sys.stderr)
    if not all(stream.isatty() for stream in streams) or os.environ.get("TERM") == "dumb":
        print(  # noqa: T201 - there is no screen to say it on
            "tunememory needs a terminal; "
            "use `tunememory round --plain` or `tunememory today` without one.",
            file=sys.stderr,
        )
        return 1
    if not os.environ.get("NO_COLOR", "unset"):
        # Set but empty means colour is welcome (https://no-color.org); Textual takes it for a no.
        del os.environ["NO_COLOR"]
    opened: list[Session] = []

    def opening() -> Session:
        from tunememory.session import open_session  # noqa: PLC0415 - after the first paint

        opened.append(open_session(path, clock))
        return opened[-1]

    first = first_picture(path, clock)
    if first is None:
        # What cannot be read at a glance is opened first, so that no screen is shown in vain.
        opening().close()
        opened.clear()
    app = TuneApp(opening, begin, first)
    app.learns = True
    try:
        app.run()
    finally:
        for session in opened:
            session.close()
    if app.fault is not None:
        raise app.fault
    return app.return_code or 0
