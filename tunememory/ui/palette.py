"""The command palette: everything that can be done on the screen below it, and where one can go."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual.command import DiscoveryHit, Hit, Provider

from tunememory.ui.actions import acts_of
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.registry import AREAS
from tunememory.ui.text import joined, plain

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from textual.command import Hits


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
        if isinstance(self.screen, DeskScreen) and self.screen.OPENS_AREAS:
            found.extend(
                (area.goes, "", partial(self.app.run_action, f"app.open({name!r})"))
                for name, area in AREAS.items()
                if area.goes and area.goes not in offers
            )
        return found
