"""Help: the keys of the screen below, from the bindings themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.desk_screen import DeskScreen

if TYPE_CHECKING:
    from textual.screen import Screen


class HelpScreen(DeskScreen[None]):
    """What can be done on one screen."""

    HEAD = "Help"

    def __init__(self, about: Screen[object]) -> None:
        super().__init__()
        self.about = about
