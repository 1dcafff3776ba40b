"""A small repertoire in a real file, and the app over it."""

from __future__ import annotations

from contextlib import asynccontextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tunememory.clock import fixed_clock
from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tunes, tune_of
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Declared, Status
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level
from tunememory.session import Session, open_session
from tunememory.ui.app import TuneApp

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from numpy.typing import NDArray
    from textual.pilot import Pilot

    from tunememory.recall.belief import Beliefs

NOW = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)
ADDED = date(2026, 5, 1)

NASTY = (
    "The [Humours] of Glen",
    "[/]",
    "[@click=app.quit]Quit[/]",
    "\x1b]0;owned\x07\x1b[2Jcleared",
    "left\u202eright\u2066",
    "Ж" * 40 + " 鯨の歌 " + "é" * 20,
    "x" * 10_000,
    "nul\x00 bell\x07 c1\x9b",
)
"""Titles that a careless screen parses, obeys or chokes on."""

# Titles, kinds and keys: O'Neill's Music of Ireland (1903); the starts are shortened freely.
BOOK = (
    Draft(("Haste to the Wedding", "Let Brainless Philosophers"), "jig", "D", "6/8",
          starts=(("A", "AFA AFA"), ("B", "dfa agf"))),
    Draft(("The Boys of Bluehill",), "hornpipe", "D", "C|", starts=(("A", "FA|BAFA DFAd"),)),
    Draft(("Off to California",), "hornpipe", "G", "C|", status=Status.LEARNING,
          declared=Declared.LEARNING, starts=(("A", "DGFG BAGA"), ("B", "efge dBGB"))),
    Draft(("The Irish Washerwoman",), "jig", "G", "6/8",
          starts=(("A", "dc|BGG DGG"), ("B", "gf|gdg gdg"))),
    Draft(("Miss McLeod's Reel",), "reel", "G", "C|", starts=(("A", "G2BG dGBG"), ("B", "g2bg"))),
    Draft(("The Flowers of Edinburgh",), "reel", "G", "C|",
          source="the box player, Thursday kitchen", favourite=True,
          note="B part climbs.\nSlowly at first.",
          starts=(("A", "GE|D2DE GABc"), ("B", "dgfg efge"))),
    Draft(("Kitty of Coleraine",), "jig", "A", "6/8", tuning="AEAE", declared=Declared.OLD_FRIEND,
          starts=(("A", "E|AcB Ace"),)),
    Draft(("Drowsy Maggie",), "reel", "Edor", "C|", status=Status.WANTED),
    Draft(("The Blackbird",), "hornpipe", "Ddor", "C|", status=Status.RESTING,
          starts=(("A", "DEFG ABcA"),)),
    Draft(("The Harvest Home",), "", "", starts=()),
)  # fmt: skip

_HISTORY = (
    ("Haste to the Wedding", 40, {"key": 4, "A": 4, "B": 3}),
    ("Haste to the Wedding", 12, {"key": 4, "A": 4, "B": 4}),
    ("Haste to the Wedding", 2, {"key": 4, "A": 4, "B": 4}),
    ("The Boys of Bluehill", 9, {"key": 4, "A": 3}),
    ("The Irish Washerwoman", 30, {"key": 3, "A": 3, "B": 2}),
    ("Miss McLeod's Reel", 60, {"key": 2, "A": 1, "B": 1}),
    ("The Flowers of Edinburgh", 20, {"key": 4, "A": 3, "B": 1}),
    ("The Flowers of Edinburgh", 6, {"key": 4, "A": 4, "B": 2}),
)


def desk_at(path: Path, book: tuple[Draft, ...] = BOOK, *, history: bool = True) -> Session:
    """Open a repertoire of these tunes at ``path``, their checks made away from the screen."""
    session = open_session(path, fixed_clock(NOW))
    tunes = [
        tune_of(draft, uuid=f"tune-{n}", added=ADDED, settings=session.settings, old=None)
        for n, draft in enumerate(book)
    ]
    uuids = {tune.title: tune.uuid for tune in add_tunes(session, tunes)}
    for title, days, levels in _HISTORY if history else ():
        if title in uuids:
            given = {strand: Level(level) for strand, level in levels.items()}
            record_check_away(session, uuids[title], given, NOW - timedelta(days=days))
    return session


@pytest.fixture
def repertoire(tmp_path: Path) -> Callable[..., Session]:
    """Make a session over a real file: ``repertoire()``, ``repertoire((Draft(("One",)),))``."""

    def make(book: tuple[Draft, ...] = BOOK, *, history: bool = True) -> Session:
        name = f"my-{len(list(tmp_path.glob('*.tunes')))}.tunes"
        return desk_at(tmp_path / name, book, history=history)

    return make


@pytest.fixture
def nasty() -> tuple[str, ...]:
    """Hostile titles."""
    return NASTY


@pytest.fixture
def opened(wait_until: Callable[..., object]) -> object:
    """Open the app on a screen of a session: ``async with opened(session, "tunes") as pilot``."""

    @asynccontextmanager
    async def run(
        session: Session, name: str, size: tuple[int, int] = (80, 24), **arguments: Any
    ) -> AsyncIterator[Pilot[int]]:
        app = TuneApp(lambda: session)
        async with app.run_test(size=size) as pilot:
            await wait_until(lambda: app.session is not None)
            await pilot.pause()
            app.open_screen(name, **arguments)
            await pilot.pause()
            yield pilot
            await app.workers.wait_for_complete()

    return run


@pytest.fixture
def frozen_cursor(monkeypatch: pytest.MonkeyPatch) -> None:
    """A typing cursor that does not blink."""
    monkeypatch.setattr("textual.widgets.Input._toggle_cursor", lambda _: None)


@pytest.fixture
def still_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """Chances by a rule that never changes, so that a picture shows the screen, not the model.

    A strand that was asked starts at 0.98 and halves in 30 days for every check it had.
    """

    def chance(beliefs: Beliefs, at: float, _: object) -> NDArray[np.float64]:
        days = np.maximum(0.0, at - beliefs.exposed_at)
        kept = 0.98 * 0.5 ** (days / (30.0 * np.maximum(1, beliefs.checks)))
        return np.where(beliefs.present, np.where(beliefs.checks > 0, kept, 0.6), np.nan)

    def around(
        beliefs: Beliefs, at: float, params: object
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        middle = chance(beliefs, at, params)
        return middle * 0.8, middle + 0.5 * (1.0 - middle)

    monkeypatch.setattr("tunememory.recall.chances.chance", chance)
    monkeypatch.setattr("tunememory.recall.chances.chance_range", around)


class Seconds:
    """A stopwatch's source moved by hand."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def seconds(monkeypatch):
    source = Seconds()
    monkeypatch.setattr("tunememory.ui.practice.clock.monotonic", source)
    return source


@pytest.fixture
def morning(repertoire):
    """A session on which two tunes would not come this morning, and a line of yesterday."""
    session = repertoire()
    titles = {row.tune.title: row.tune.uuid for row in tune_rows(session)}
    for title, minutes in (("Miss McLeod's Reel", 9), ("Haste to the Wedding", 8)):
        at = session.now() - timedelta(minutes=minutes)
        record_check_away(session, titles[title], {"A": Level.SIT_OUT}, at)
    log_practice(
        session, titles["Off to California"], "scale", 3.0, at=session.now() - timedelta(days=3)
    )
    session.repertoire.pick_ups.save(session.day() - timedelta(days=1), "B part: phrase 3")
    return session
