"""Learning from the player's checks while the app runs, in a process of its own.

The work is many small steps of numpy, which would make every key wait a little if they ran in
a thread. The child writes to the file like any other window; the session here follows it.
"""

from __future__ import annotations

import asyncio
import json
import sys
from asyncio.subprocess import DEVNULL, PIPE
from contextlib import suppress
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.ui.text import say
from tunememory.words import counted

if TYPE_CHECKING:
    from asyncio.subprocess import Process

    from tunememory.ui.app import TuneApp


AFTER = 20.0
"""Seconds after the start: nobody is made to wait for it."""

PATIENCE = 2.0
"""Seconds a child has to end when the app does."""


async def refit(app: TuneApp) -> None:
    """Let a child process fit the player's parameters, if there are new checks enough."""
    from tunememory.forecast.own_parameters import learning_is_due  # noqa: PLC0415 - loads numpy

    session = app.session
    if session is None:
        return
    with suppress(NotDoneError):
        if not learning_is_due(session):
            return
    command = ("-m", "tunememory", "fit", "--if-due", "--json", "--repertoire", str(session.path),
               "--now", session.now().isoformat())  # fmt: skip
    try:
        child = await asyncio.create_subprocess_exec(
            sys.executable, *command, stdin=DEVNULL, stdout=PIPE, stderr=DEVNULL
        )
    except OSError:
        return  # no process to be had just now; the next start tries again
    try:
        out, _ = await child.communicate()
    finally:
        await _end(child)
    words = outcome(out)
    if words:
        say(app, words)


def outcome(out: bytes) -> str:
    """Say what came of it; nothing when nothing changed.

    Args:
        out: What the child wrote, empty when it was not due or could not be done.
    """
    try:
        tried = json.loads(out)
    except ValueError:
        return ""
    if not tried["taken"]:
        return ""
    return (
        f"Learned from {counted(tried['checks'], 'check')} how your memory works; "
        "Settings say more."
    )


async def _end(child: Process) -> None:
    """Leave no child behind, whatever ended the wait."""
    if child.returncode is not None:
        return
    with suppress(ProcessLookupError):
        child.terminate()
    try:
        await asyncio.wait_for(child.wait(), PATIENCE)
    except TimeoutError:
        with suppress(ProcessLookupError):
            child.kill()
        await child.wait()
