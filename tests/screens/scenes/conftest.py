"""A player's hands: keys are counted and seconds modelled, part by part of a scene.

Seconds are modelled after Card, Moran and Newell 1980, "The keystroke-level model for user
performance time with interactive systems", Communications of the ACM 23(7):396-410: a key takes
``KEY`` seconds (their average for a typist who is no secretary, 40 words a minute), and each
thought between two of them ``THOUGHT`` seconds. A part is timed from the decision on, so the
thought of the decision itself is not in it. What the program took is added: its processor time,
which does not grow when other programs share the machine.

What the hands do beside the keys (playing or humming a start, writing on paper) has no figure of
theirs: ``RECALL`` is the longest time in which a start still counts as found without help.
"""

from __future__ import annotations

import asyncio
import shutil
from contextlib import asynccontextmanager, contextmanager
from datetime import UTC, datetime, timedelta
from time import perf_counter, process_time
from typing import TYPE_CHECKING

import pytest

from tunememory.clock import Clock
from tunememory.demo import make_demo
from tunememory.library.adding import tune_of
from tunememory.music.tune import Status
from tunememory.recall.check import Check, Level, Prompt, RoundKind, prompt_strands
from tunememory.session import open_session
from tunememory.ui.app import TuneApp

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterator, Sequence
    from pathlib import Path

    from textual.pilot import Pilot

    from tunememory.library.adding import Draft
    from tunememory.session import Session

KEY = 0.28
"""Seconds a key takes: K of the source, "average non-secretary typist"."""

THOUGHT = 1.35
"""Seconds of mental preparation: M of the source."""

RECALL = 10.0
"""Seconds from a name to its start, at most, for a level of 3 (this program's own scale)."""

DEMO_DAY = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)
"""A Tuesday; the demo's festival is twelve days ahead, its session on Thursday."""


class Hands:
    """A clock moved by hand, and two hands on the keys.

    Args:
        moment: What time it is at first.
    """

    def __init__(self, moment: datetime) -> None:
        self.moment = moment
        self.pilot: Pilot[int] | None = None
        self.keys = 0
        self.seconds = 0.0
        self.measured: list[str] = []

    def clock(self) -> Clock:
        """Return the clock."""
        return Clock(self._now, UTC)

    def _now(self) -> datetime:
        # No two things happen at the same moment.
        self.moment += timedelta(milliseconds=1)
        return self.moment

    def later(self, **step: float) -> None:
        """Let time go on without keys."""
        self.moment += timedelta(**step)

    @property
    def app(self) -> TuneApp:
        """The app under the hands."""
        assert self.pilot is not None
        app = self.pilot.app
        assert isinstance(app, TuneApp)
        return app

    @property
    def on(self) -> str:
        """Name of the screen on top."""
        return type(self.app.screen).__name__

    async def press(self, *keys: str) -> None:
        """Press keys, one after the other, and wait until the screen stands."""
        assert self.pilot is not None
        before = process_time()
        for key in keys:
            await self.pilot.press(key)
            self.keys += 1
        await self.pilot.pause()
        took = process_time() - before
        self.seconds += KEY * len(keys) + took
        self.moment += timedelta(seconds=KEY * len(keys))

    async def see(self, condition: Callable[[], object]) -> None:
        """Wait for something to be seen; the time it takes is the program's."""
        before, worked = perf_counter(), process_time()
        while not condition():
            assert perf_counter() - before < 5.0, f"this is not seen: {condition}"
            await asyncio.sleep(0.01)
        self.seconds += process_time() - worked

    def think(self, times: int = 1) -> None:
        """Think before the next keys."""
        self.seconds += THOUGHT * times
        self.moment += timedelta(seconds=THOUGHT * times)

    def play(self, seconds: float = RECALL) -> None:
        """Play, hum or think a start."""
        self.seconds += seconds
        self.moment += timedelta(seconds=seconds)

    @contextmanager
    def part(self, name: str, *, keys: int, seconds: float) -> Iterator[None]:
        """Count the keys and seconds of what is done inside; fail if they are too many.

        Args:
            name: What is done.
            keys: Keys at most.
            seconds: Seconds at most, from the decision on.
        """
        self.keys, self.seconds = 0, 0.0
        yield
        said = f"{name}: {self.keys} of {keys} keys, {self.seconds:.1f} of {seconds:g} s"
        self.measured.append(said)
        print(said)  # noqa: T201 - shown by pytest -s, and when the scene fails
        assert self.keys <= keys, said
        assert self.seconds <= seconds, said


@pytest.fixture
def hands() -> Hands:
    """Hands that begin on the demo's day."""
    return Hands(DEMO_DAY)


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Saltpan Hall demo, its history ending on the day before ``DEMO_DAY``."""
    path = tmp_path_factory.mktemp("demo") / "saltpan.tunes"
    make_demo(path, Clock(lambda: DEMO_DAY, UTC))
    return path


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path, hands: Hands) -> Iterator[Session]:
    """The demo, open; every test has its own copy."""
    path = tmp_path / "saltpan.tunes"
    shutil.copy(demo_file, path)
    with open_session(path, hands.clock()) as session:
        yield session


@pytest.fixture
def at_screen(hands: Hands, wait_until: Callable[..., object]) -> object:
    """Open the app under the hands: ``async with at_screen(session): …``."""

    @asynccontextmanager
    async def run(session: Session, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[int]]:
        app = TuneApp(lambda: session)
        async with app.run_test(size=size) as pilot:
            hands.pilot = pilot
            await wait_until(lambda: app.session is not None)
            await pilot.pause()
            yield pilot
            await app.workers.wait_for_complete()

    return run


@pytest.fixture
def stock() -> Callable[..., list[str]]:
    """Put tunes in, each checked so many days ago: ``stock(session, drafts, days=(9,))``."""

    def put(session: Session, drafts: Sequence[Draft], days: Sequence[int]) -> list[str]:
        now, zone = session.now(), timedelta(hours=1)
        had = len(session.tunes)
        added = session.day() - timedelta(days=max(days) + 30)
        tunes = [
            tune_of(draft, uuid=f"tune-{n}", added=added, settings=session.settings, old=None)
            for n, draft in enumerate(drafts, had)
        ]
        checks = [
            Check(
                f"check-{tune.uuid}-{ago}",
                tune.uuid,
                now - timedelta(days=ago) - n * zone / 100,
                session.day() - timedelta(days=ago),
                RoundKind.FIRST,
                Prompt.HOW,
                tuple((strand, Level.FIND) for strand in prompt_strands(tune, Prompt.HOW)),
            )
            for ago in days
            for n, tune in enumerate(tunes)
            if tune.status is not Status.WANTED
        ]
        with session.repertoire.writing():
            session.repertoire.tunes.add(tunes)
            session.repertoire.checks.add(checks)
        session.reload()
        session.beliefs.all()
        return [tune.uuid for tune in tunes]

    return put
