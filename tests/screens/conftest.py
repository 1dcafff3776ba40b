"""Plain-text pictures of screens, compared with the files under ``expected``.

Set ``REWRITE_SCREENS=1`` to write the files anew, then read the difference before keeping it.
"""

from __future__ import annotations

import asyncio
import io
import os
from contextlib import AbstractAsyncContextManager, ExitStack, asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from rich.console import Console
from textual.events import Paste
from textual.pilot import Pilot

from tests.screens import printed
from tests.screens.fake_player import Players
from tests.screens.seen import Watched, round_on, until
from tunememory.ui.app import TuneApp
from tunememory.ui.round.screen import RoundScreen

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterator

    from textual.app import App

    from tunememory.session import Session

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


@pytest.fixture(autouse=True)
def settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """After every key and pause the screen is laid out and has run what it put off until then.

    Textual waits for the messages only: what a refresh calls, and the layout that asks for, may
    still be outstanding on a busy machine, and a picture taken then lacks it.
    """
    messages_done = Pilot._wait_for_screen

    async def wait(self: Pilot[object], timeout: float = 30.0) -> bool:
        # A layout resizes widgets, which may draw anew: quiet means twice in a row. A screen that
        # moves by itself is never quiet and is taken as it is.
        quiet = 0
        for _ in range(40):
            if not await messages_done(self, timeout):
                return False
            screen = self.app.screen
            busy = (
                screen._layout_required
                or screen._callbacks
                or screen._dirty_widgets
                or screen._repaint_required
            )
            quiet = 0 if busy else quiet + 1
            if quiet == 2:
                return True
            screen._on_timer_update()
            await asyncio.sleep(0)
        return True

    monkeypatch.setattr(Pilot, "_wait_for_screen", wait)


@pytest.fixture(scope="session")
def printed_files(tmp_path_factory: pytest.TempPathFactory) -> dict[bool, Path]:
    """The file of the printed tunes (``False``) and one without tunes (``True``), to be copied."""
    folder = tmp_path_factory.mktemp("printed")
    files = {False: folder / "printed.tunes", True: folder / "empty.tunes"}
    for empty, path in files.items():
        printed.make_file(path, empty=empty)
    return files


@pytest.fixture
def open_book(
    printed_files: dict[bool, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[..., Session]]:
    """Open a file of old printed tunes: ``open_book({2: "[/]"})``, ``open_book(empty=True)``."""
    monkeypatch.chdir(tmp_path)
    with ExitStack() as stack:

        def make(titles: dict[int, str] | None = None, *, empty: bool = False) -> Session:
            session = printed.open_copy(printed_files[empty], Path("my.tunes"), titles)
            return stack.enter_context(session)

        yield make


@pytest.fixture
def app_on() -> Callable[[Session], TuneApp]:
    """Make the app over a session."""

    def make(session: Session) -> TuneApp:
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
    open_book: Callable[..., Session], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., AbstractAsyncContextManager[tuple[TuneApp, Pilot[int], Watched]]]:
    """Begin a round of printed tunes: ``async with begin(prompts=2) as (app, pilot, run)``.

    Every prompt takes two seconds by the clock.
    """
    monkeypatch.setattr(RoundScreen, "elapsed", lambda self, moment: 2.0)

    @asynccontextmanager
    async def over(
        session: Session | None = None, prompts: int = 14, **options: Any
    ) -> AsyncIterator[tuple[TuneApp, Pilot[int], Watched]]:
        session = session or open_book()
        async with round_on(session, printed.planned(session, prompts), **options) as pilot:
            yield pilot.app, pilot, Watched(pilot.app.screen.run, session)

    return over
