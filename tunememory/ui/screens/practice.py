"""Practice: a clock, what waits to be worked on, and the ways of working on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.tunes.sitting import At
from tunememory.ui.actions import bind
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.screens.practice_stages import PracticeStages
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.work_rows import WorkRows
from tunememory.ui.words import HEAD_ONLY

if TYPE_CHECKING:
    from textual.binding import BindingType


class PracticeScreen(PracticeStages):
    """The middle of a sitting. Minutes that belong to no tune are written down on leaving."""

    HEAD = "Practice"
    CSS = """
    PracticeScreen PracticeClock { height: 2; padding: 1 2 0 2; }
    PracticeScreen #pause { height: 1; padding: 0 2; color: $accent; }
    PracticeScreen #lists { layout: horizontal; height: 1fr; padding-top: 1; }
    PracticeScreen #work { width: 1fr; height: 1fr; }
    PracticeScreen #ways { width: 1fr; height: 1fr; margin-right: 1; }
    PracticeScreen #hand { padding: 0 2; }
    PracticeScreen #material, PracticeScreen #piece { display: none; }
    PracticeScreen #piece { height: 3; padding: 1 2; color: $accent; }
    PracticeScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }

    PracticeScreen.-narrow #lists { layout: vertical; }
    PracticeScreen.-narrow #work { width: 100%; height: auto; max-height: 8; }
    PracticeScreen.-narrow #ways { width: 100%; margin: 0; }
    PracticeScreen.-narrow.-in-ways #work { display: none; }
    PracticeScreen.-narrow.-in-work #ways { display: none; }
    PracticeScreen.-narrow.-in-work #work { max-height: 100%; height: 1fr; }
    PracticeScreen.-short #lists { padding: 0; }
    PracticeScreen.-short PracticeClock { height: 1; padding: 0 2; }
    PracticeScreen.-short #piece { height: 1; padding: 0 2; }

    PracticeScreen.-in-material #lists { display: none; }
    PracticeScreen.-in-material #material, PracticeScreen.-in-material #piece { display: block; }
    PracticeScreen.-nothing #lists, PracticeScreen.-nothing #hand { display: none; }
    PracticeScreen.-nothing #none { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "further", "go on", "Go to its ways, then to what a way brings, then log it"),
        bind("l", "log", "log", "Log this way: it was done"),
        bind("x", "pain", "it hurts", "Stop because it hurts: the sitting ends, all is kept"),
        bind("p", "hear", "hear", "Hear what the way brings, or stop it"),
        bind("right", "piece(1)", "", "The next piece to hear", shown=False, key="→"),
        bind("left", "piece(-1)", "", "The piece before", shown=False, key="←"),
        bind("w", "write", "write", "Write what the way brings to a file: .html to print, .txt"),
        bind("t", "other", "other tune", "Work on another tune that does not wait here"),
        bind("space", "turn", "pause", "Pause the clock, or let it go on", key="space"),
        bind("f", "finish", "finish", "Finish practice: on to the last round"),
        bind("e", "head_only", "head only", HEAD_ONLY),
        bind("n", "words", "own words", "Log it in your own words", shown=False),
        bind("u", "undo", "undo", "Take the last logged way back", shown=False),
        bind("o", "open_tune", "tune", "Open the page of the tune at hand", shown=False),
        bind("escape", "back", "back", "Go back; the sitting goes on later", key="esc"),
    ]

    def on_key(self) -> None:
        """Any key takes the hint to pause away, and does what it does."""
        self.query_one("#pause", Static).update(plain(""))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if not self._composed:
            return super().check_action(action, parameters)
        way, at = self._ways.current, self._where
        offered = {
            "further": self._work is None or bool(self._tunes.rows),
            "open_tune": self._at_hand is not None,
            "words": self._at_hand is not None,
            "log": way is not None and way.possible,
            "other": at == "work",
            "write": at == "material",
            "hear": at == "material" and self.heard_pieces > 0,
            "piece": at == "material" and self.heard_pieces > 1,
            "undo": self.can_undo,
        }
        return offered.get(action, super().check_action(action, parameters))

    @on(WorkRows.Chosen)
    def action_further(self) -> None:
        """From the tune to its ways, to what a way brings, to logging it."""
        if self._at_hand is None:
            return
        if self._where == "work":
            self._stage("ways")
        elif self._where == "ways":
            self._bring()
        else:
            self.action_log()

    def _bring(self) -> None:
        here, way = self._at_hand, self._ways.current
        if here is None or way is None:
            return
        with self.trying():
            self.bring(here.item.tune, way)
            self._stage("material")
            self.show_material()

    def action_turn(self) -> None:
        """Pause the clock or let it go on."""
        self._clock.stopwatch.turn()
        self._clock.tick()

    def action_head_only(self) -> None:
        """Switch between the instrument and the head alone; minutes are counted apart."""
        with self.trying():
            self.keep_minutes()
            self.desk.set_head_only(not self.desk.sitting().head_only)
            self._show_sitting()

    def action_other(self) -> None:
        """Pick another tune to work on."""
        self.app.push_screen(PickScreen("Which tune would you like to work on?"), self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if tunes:
            self.take(tunes[0])

    def action_open_tune(self) -> None:
        """Open the page of the tune at hand."""
        if self._at_hand is not None:
            self.tune_app.open_tune(self._at_hand.item.tune.uuid)

    def action_back(self) -> None:
        """Back to the ways, to the tunes, to Today."""
        if self._where != "work":
            self.hush()
            self._stage("ways" if self._where == "material" else "work")
            return
        with self.trying():
            self.keep_minutes()
            self.leave()

    def action_finish(self) -> None:
        """On to the last round."""
        with self.trying():
            self.keep_minutes()
            self.desk.go_to(At.LAST)
            self.leave()

    def action_pain(self) -> None:
        """End the sitting now."""
        with self.trying():
            self.stop_for_pain()
            self.leave()
            say(self.tune_app, "The sitting has ended; everything is kept.")
