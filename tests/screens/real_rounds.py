"""Rounds of chosen prompts on a real file."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from textual.pilot import Pilot

from tests.screens.conftest import until
from tunememory.library.starts import start_views
from tunememory.recall.check import Prompt, RoundKind
from tunememory.rounds.planning import Asked, Planned
from tunememory.rounds.running import RoundRun
from tunememory.session import Session
from tunememory.ui.app import TuneApp
from tunememory.ui.round.screen import RoundScreen


def asked(session: Session, title: str, prompt: Prompt, *strands: str) -> Asked:
    """A prompt about a tune of the file."""
    tune = next(tune for tune in session.tunes.values() if tune.title == title)
    starts = start_views(tune, session.settings)
    return Asked(tune, prompt, strands, 0.4, starts, (), "GDAE")


@asynccontextmanager
async def round_on(
    session: Session, *prompts: Asked, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[int]]:
    """A round of these prompts on the screen, its first one asked."""
    planned = Planned(RoundKind.LOOSE, session.day(), "GDAE", 1, prompts, "", coming_back=False)
    app = TuneApp(lambda: session)
    async with app.run_test(size=size) as pilot:
        await until(lambda: app.session is not None)
        await pilot.pause()
        app.open_screen("round", run=RoundRun.begin(session, planned))
        await until(lambda: isinstance(app.screen, RoundScreen))
        await until(lambda: app.screen._asked_at is not None)
        yield pilot
