"""Running the app in this terminal."""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING

from tunememory.store.glance import glance

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.rounds.planning import RoundWish
    from tunememory.session import Session


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
    # The few arrays here are small: threads to multiply them would only have to be started.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nothing of what is loaded until the day is shown is garbage; looking for it takes a sixth of
    # that time.
    gc.disable()
    try:
        return _run(path, clock, begin)
    finally:
        gc.enable()


def _run(path: Path, clock: Clock, begin: RoundWish | None) -> int:
    from tunememory.ui.app import TuneApp  # noqa: PLC0415 - after the above is set

    opened: list[Session] = []

    def opening() -> Session:
        from tunememory.session import open_session  # noqa: PLC0415 - after the first paint

        opened.append(open_session(path, clock))
        app.call_after_refresh(_collect_again)
        return opened[-1]

    first = glance(path, clock)
    if first is None:
        # What cannot be read at a glance is opened first, so that no screen is shown in vain.
        from tunememory.session import open_session  # noqa: PLC0415 - only then

        open_session(path, clock).close()
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


def _collect_again() -> None:
    """Look for garbage again, but never among what has been there since the start."""
    gc.freeze()
    gc.enable()
