"""Running the app in this terminal, and leaving the file ready for the next time."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from tunememory.ui.app import TuneApp
from tunememory.ui.first_picture import first_picture

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.service.desk import Desk
    from tunememory.service.today_view import RoundWish


def run_app(path: Path, clock: Clock, begin: RoundWish | None = None) -> int:
    """Run the app on ``path`` and return the exit code.

    Without a terminal it says so in one sentence and returns 1.

    Args:
        path: The repertoire file.
        clock: Where the time comes from.
        begin: A round to begin at once.

    Raises:
        ServiceError: The repertoire cannot be opened.
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
    opened: list[Desk] = []

    def opening() -> Desk:
        from tunememory.service.desk import open_desk  # noqa: PLC0415 - after the first paint

        opened.append(open_desk(path, clock))
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
        if app.fault is None:
            for desk in opened:
                desk.prepare()
    finally:
        for desk in opened:
            desk.close()
    if app.fault is not None:
        raise app.fault
    return app.return_code or 0
