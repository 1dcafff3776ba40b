"""The pupils: repertoire files beside the teacher's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from tunememory.service.lessons import file_for, files_beside
from tunememory.tunes.text import fold
from tunememory.ui.actions import bind
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.pick import PickLine, PickRow, PickScreen

if TYPE_CHECKING:
    from textual.binding import BindingType

    from tunememory.service.desk import Desk


def files_to_pick(desk: Desk) -> tuple[PickRow, ...]:
    """Every other repertoire file in the folder of the open one."""
    return tuple(
        PickRow(str(path), path.stem, "", fold(path.stem)) for path in files_beside(desk.path)
    )


class PupilsScreen(PickScreen):
    """The list of pupils; letters of a name and Enter open one's page."""

    OPENS_AREAS = True
    NOTHING = "No other repertoire file lies beside yours. Press ctrl+n for a new pupil."
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+n", "new", "new pupil", "Make a file for a new pupil, beside your own"),
        bind("ctrl+t", "together", "who has which", "Show who has which tune, and what all can"),
    ]

    def __init__(self) -> None:
        super().__init__("Pupils", read=files_to_pick)

    def chosen(self, uuid: str) -> None:
        """Open the page of a pupil; the line is empty for the next one."""
        self.query_one(PickLine).value = ""
        self.tune_app.open_screen("pupil", path=Path(uuid))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without files there is no table of them."""
        if action == "together":
            return bool(self.all_rows)
        return super().check_action(action, parameters)

    def action_new(self) -> None:
        """Ask for a name and make the file."""
        given = self.query_one(PickLine).value
        self.app.push_screen(AskLine("What is the pupil called?", self._new, given), self._made)

    def _new(self, name: str) -> None:
        file_for(self.desk.path, name)

    def _made(self, name: str | None) -> None:
        if name is not None:
            with self.trying():
                path = file_for(self.desk.path, name)
                self.query_one(PickLine).value = ""
                self.tune_app.open_screen("pupil", path=path, create=True)

    def action_together(self) -> None:
        """Show who has which tune."""
        with self.trying():
            self.tune_app.open_screen("together", paths=files_beside(self.desk.path))
