"""The command palette: everything that can be done on the screen below it, and where one can go."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual.command import CommandList, CommandPalette, DiscoveryHit, Hit, Provider
from textual.widgets.option_list import Option

from tunememory.ui.actions import AREAS, acts_of, worded
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import joined, plain

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from textual.command import Hits


class Palette(CommandPalette):
    """The palette in our own look."""

    CSS = """
    Palette { background: $background 55%; }
    Palette > Vertical { background: $raised; margin-top: 3; }
    Palette #--input, Palette #--input.--list-visible {
        border: none; height: 3; padding: 1 2; background: $raised;
    }
    Palette SearchIcon { display: none; }
    Palette CommandInput, Palette CommandInput:focus { border: none; padding: 0; }
    Palette CommandList, Palette CommandList:focus, Palette CommandList.--populating {
        border: none; background: $raised; padding: 0 0 1 0; scrollbar-size-vertical: 1;
    }
    Palette CommandList > .option-list--option { text-style: none; }
    Palette CommandList > .option-list--option-highlighted {
        background: $mark-bg; color: $foreground; text-style: bold;
    }
    """

    def _start_no_matches_countdown(self, search_value: str) -> None:
        """Say in our own words that nothing was found; private in Textual 8.2.8, pinned."""
        self._stop_no_matches_countdown()

        def nothing() -> None:
            if search_value:
                said = Option(plain("Nothing is called that."), id=self._NO_MATCHES, disabled=True)
                self.query_one(CommandList).add_option(said)
            self._list_visible = bool(search_value)

        self._no_matches_timer = self.set_timer(self._NO_MATCHES_COUNTDOWN, nothing)


class ActionProvider(Provider):
    """Offers actions by their sentence. Titles never pass through here."""

    async def discover(self) -> Hits:
        """All of them, before anything is typed."""
        for says, key, run in self._offers():
            yield DiscoveryHit(joined(says, "  ", (key, "$quiet")), run, text=says)

    async def search(self, query: str) -> Hits:
        """Those that answer to ``query``."""
        matcher = self.matcher(query)
        for says, key, run in self._offers():
            score = matcher.match(says)
            if score > 0:
                yield Hit(score, joined(plain(says), "  ", (key, "$quiet")), run, text=says)

    def _offers(self) -> Sequence[tuple[str, str, Callable[[], Awaitable[object]]]]:
        offers = {
            act.says: (act.key, partial(self.app.run_action, act.action, act.node))
            for act in reversed(acts_of(self.screen))
            if act.enabled and act.action != "command_palette"
        }
        found = [(says, *offer) for says, offer in reversed(offers.items())]
        if isinstance(self.screen, SessionScreen) and self.screen.OPENS_AREAS:
            goes = {name: worded(area.goes, self.app) for name, area in AREAS.items()}
            found.extend(
                (says, "", partial(self.app.run_action, f"app.open({name!r})"))
                for name, says in goes.items()
                if says and says not in offers
            )
        return found
