"""After a date: what was played there, all of it or one tune a key."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on

from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_dates import played_lines
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.widgets.date_rows import Played, PlayedRows
from tunememory.ui.widgets.lines import Lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.date_views import PastDate


class PlayedScreen(DeskScreen[None]):
    """The tunes of a date that has been. Every key is kept at once.

    Args:
        past: The date.
    """

    OPENS_AREAS = False
    CSS = """
    PlayedScreen #facts { padding: 1 2; }
    PlayedScreen.-short #facts { padding: 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter,space", "turn", "played", "This one was played there, or was not after all"),
        bind("a", "all", "all of them", "All of them were played there"),
        bind("n", "nothing", "nothing more", "Nothing more was played: done with this date"),
        bind("t", "others", "others", "Pick other tunes that were played there"),
        bind("escape,q", "dismiss", "back", "Go back; what is marked is kept", key="esc"),
    ]

    def __init__(self, past: PastDate) -> None:
        super().__init__()
        self._past = past
        self._tunes = [Played(*tune) for tune in past.tunes]

    def body(self) -> ComposeResult:
        """Which date, over its tunes."""
        yield Lines(id="facts")
        yield PlayedRows()

    def fill(self) -> None:
        """Show the tunes."""
        past, today = self._past, self.desk.day()
        self.head(left=past.title, right="what was played?")
        self.query_one("#facts", Lines).show(lambda width: played_lines(past, today, width))
        self._show()
        self.query_one(PlayedRows).focus()

    def _show(self) -> None:
        rows = self.query_one(PlayedRows)
        rows.show(tuple(self._tunes), rows.cursor)

    def _played(self, tunes: Sequence[str]) -> None:
        with self.trying():
            self.desk.played_there(self._past.uuid, self._past.on, tunes)
            self._tunes = [
                tune._replace(played=tune.played or tune.tune in tunes) for tune in self._tunes
            ]
            known = {tune.tune for tune in self._tunes}
            self._tunes += [
                Played(uuid, self.desk.tune(uuid).title, played=True)
                for uuid in tunes
                if uuid not in known
            ]
            self._show()

    @on(PlayedRows.Chosen)
    def action_turn(self) -> None:
        """Mark the tune under the cursor, and go on to the next; or take the mark away."""
        rows = self.query_one(PlayedRows)
        here = rows.current
        if here is None:
            return
        if not here.played:
            self._played([here.tune])
            rows.cursor += 1
            return
        with self.trying():
            self.desk.not_played_there(self._past.uuid, self._past.on, here.tune)
            self._tunes[rows.cursor] = here._replace(played=False)
            self._show()

    def action_all(self) -> None:
        """All were played; that is all there is to say."""
        self._played([tune.tune for tune in self._tunes])

    def action_nothing(self) -> None:
        """Ask no more about this date."""
        with self.trying():
            self.desk.told(self._past.uuid, self._past.on)
            self.dismiss(None)

    def action_others(self) -> None:
        """Pick tunes that were not meant for it and were played all the same."""
        self.app.push_screen(PickScreen("What else was played?", many=True), self._others)

    def _others(self, tunes: tuple[str, ...] | None) -> None:
        if tunes:
            self._played(tunes)
