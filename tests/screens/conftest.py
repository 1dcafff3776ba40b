"""Plain-text pictures of screens, compared with the files under ``expected``.

Set ``REWRITE_SCREENS=1`` to write the files anew, then read the difference before keeping it.
"""

from __future__ import annotations

import asyncio
import io
import os
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rich.console import Console
from textual.events import Paste

from tests.screens.fake_desk import FakeDesk, FakeRun
from tests.screens.fake_player import Players
from tunememory.ui.app import TuneApp
from tunememory.ui.round.screen import RoundScreen

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import App
    from textual.pilot import Pilot

EXPECTED = Path(__file__).parent / "expected"


def screen_text(app: App[object]) -> str:
    """Return what stands on the screen, line by line, without trailing spaces."""
    width, height = app.size
    console = Console(
        width=width, height=height, file=io.StringIO(), color_system=None, record=True,
        force_terminal=True, legacy_windows=False,
    )  # fmt: skip
    # The compositor is private in Textual 8.2.8, which is pinned; export_screenshot uses it so.
    console.print(app.screen._compositor.render_update(full=True, simplify=True))
    text = console.export_text(styles=False)
    return "\n".join(line.rstrip() for line in text.splitlines()).rstrip("\n") + "\n"


async def until(condition: Callable[[], object], seconds: float = 5.0) -> None:
    """Wait until ``condition()`` holds; fail when it does not within ``seconds``."""
    end = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > end:
            pytest.fail(f"this did not come true within {seconds} s: {condition}")
        await asyncio.sleep(0.01)


async def paste_into(pilot: Pilot[int], text: str) -> None:
    """Give the app a text in one go, as a terminal does with what is pasted into it."""
    pilot.app.post_message(Paste(text))
    await pilot.pause()


@pytest.fixture
def paste() -> Callable[..., object]:
    """Paste a text into what has the focus."""
    return paste_into


@pytest.fixture
def picture() -> Callable[[App[object]], str]:
    """The text on the screen of an app."""
    return screen_text


@pytest.fixture
def wait_until() -> Callable[..., object]:
    """Wait for a condition."""
    return until


@pytest.fixture
def same_picture() -> Callable[[App[object], str], None]:
    """Compare the screen with ``expected/NAME.txt``."""

    def compare(app: App[object], name: str) -> None:
        shown = screen_text(app)
        file = EXPECTED / f"{name}.txt"
        if os.environ.get("REWRITE_SCREENS"):
            file.parent.mkdir(exist_ok=True)
            file.write_text(shown, encoding="utf-8")
        assert file.exists(), f"no picture {file.name}; REWRITE_SCREENS=1 makes one"
        assert shown == file.read_text(encoding="utf-8")

    return compare


@pytest.fixture(autouse=True)
def calm_surroundings(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tester's own colours and Textual settings stay out."""
    for name in ("NO_COLOR", "COLORTERM", "TEXTUAL", "TEXTUAL_THEME", "TEXTUAL_ANIMATIONS"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def fake_desk() -> Callable[..., FakeDesk]:
    """Make a session with no file: ``fake_desk(titles={2: "[/]"})``, ``fake_desk(empty=True)``."""
    return FakeDesk


@pytest.fixture
def app_on() -> Callable[[FakeDesk], TuneApp]:
    """Make the app over a session."""

    def make(session: FakeDesk) -> TuneApp:
        return TuneApp(lambda: session)

    return make


@pytest.fixture
def player(monkeypatch: pytest.MonkeyPatch) -> Players:
    """Every screen gets a player of this kind."""
    players = Players()
    monkeypatch.setattr("tunememory.music.sound.player.Player", players.new)
    return players


@pytest.fixture
def begin(
    fake_desk: Callable[..., FakeDesk],
    app_on: Callable[[FakeDesk], TuneApp],
    wait_until: Callable[..., object],
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[..., object]:
    """Begin a round on a fake session; every prompt takes two seconds by the clock."""
    monkeypatch.setattr(RoundScreen, "elapsed", lambda self, moment: 2.0)

    def over(session: FakeDesk | None = None) -> tuple[TuneApp, object]:
        session = session or fake_desk()
        app = app_on(session)

        async def ready(pilot: Pilot[int]) -> FakeRun:
            await wait_until(lambda: app.session is not None)
            await pilot.press("enter")
            await wait_until(lambda: isinstance(app.screen, RoundScreen))
            await wait_until(lambda: app.screen.answer is not None)
            await pilot.pause()
            return session.begun[-1]

        return app, ready

    return over
