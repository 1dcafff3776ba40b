"""Rounds of chosen prompts on the screen, over a real file."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import NamedTuple

import pytest
from textual.pilot import Pilot

from tunememory.library.starts import start_views
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.rounds.planning import Asked, Planned
from tunememory.rounds.running import RoundRun
from tunememory.session import Session
from tunememory.ui.app import TuneApp
from tunememory.ui.round.screen import RoundScreen


async def until(condition: Callable[[], object], seconds: float = 5.0) -> None:
    """Wait until ``condition()`` holds; fail when it does not within ``seconds``."""
    end = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > end:
            pytest.fail(f"this did not come true within {seconds} s: {condition}")
        await asyncio.sleep(0.01)


def asked(session: Session, title: str, prompt: Prompt, *strands: str) -> Asked:
    """A prompt about a tune of the file."""
    tune = next(tune for tune in session.tunes.values() if tune.title == title)
    return Asked(tune, prompt, strands, 0.5, start_views(tune, session.settings), (), "GDAE")


def loose_round(session: Session, *prompts: Asked) -> Planned:
    """A round of these prompts."""
    return Planned(RoundKind.LOOSE, session.day(), "GDAE", 1, prompts, "", coming_back=False)


class Watched(NamedTuple):
    """A round that is asked on the screen, and the file it writes to."""

    run: RoundRun
    session: Session

    @property
    def current(self) -> Asked | None:
        """The prompt that is asked now."""
        return self.run.current

    @property
    def waiting(self) -> tuple[Asked, ...]:
        """The prompts still to come, the present one included."""
        return tuple(self.run._waiting)

    @property
    def checks(self) -> list[Check]:
        """What the round wrote, in order."""
        return [check for check in self.session.repertoire.checks.all() if check.round_uuid]

    @property
    def levels(self) -> list[set[Level]]:
        """The levels of each answered prompt."""
        return [{level for _, level in check.levels} for check in self.checks]

    @property
    def ended(self) -> bool:
        """Whether the round was asked to its end."""
        (row,) = self.session.repertoire.rounds.on(self.session.day())
        return row.ended_at is not None


@asynccontextmanager
async def round_on(
    session: Session,
    planned: Planned,
    *,
    size: tuple[int, int] = (80, 24),
    notifications: bool = False,
) -> AsyncIterator[Pilot[int]]:
    """A planned round on the screen, its first prompt asked."""
    app = TuneApp(lambda: session)
    async with app.run_test(size=size, notifications=notifications) as pilot:
        await until(lambda: app.session is not None)
        await pilot.pause()
        app.open_screen("round", run=RoundRun.begin(session, planned))
        await until(lambda: isinstance(app.screen, RoundScreen))
        await until(lambda: app.screen._asked_at is not None)
        yield pilot
