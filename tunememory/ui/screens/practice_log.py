"""Writing down what is practised: ways with one key, own words, the minutes of the clock."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from tunememory.service.errors import ServiceError
from tunememory.store.errors import RepertoireError
from tunememory.ui.drawing_practice import LEAST_MINUTES
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.practice_by_ear import PracticeByEar
from tunememory.ui.text import say
from tunememory.ui.widgets.practice_clock import PracticeClock
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from tunememory.service.day_views import WayView
    from tunememory.tunes.tune import Tune


class PracticeLog(PracticeByEar):
    """The part of practice that is written down. Minutes are those since the last entry."""

    def __init__(self) -> None:
        super().__init__()
        self._clock = PracticeClock()
        self._logged: list[tuple[str, float]] = []
        self._left = False

    @property
    def tune_at_hand(self) -> Tune | None:
        """The tune that is worked on."""
        raise NotImplementedError

    @property
    def way_at_hand(self) -> WayView | None:
        """The way that is worked in; ``None`` when there is none."""
        raise NotImplementedError

    @property
    def in_ways(self) -> bool:
        """Whether one has gone on from the tune to its ways."""
        raise NotImplementedError

    def show_logged(self) -> None:
        """Show what is written down."""
        raise NotImplementedError

    @property
    def can_undo(self) -> bool:
        """Whether there is an entry of this practice to take back."""
        return bool(self._logged)

    def action_log(self) -> None:
        """Write down that the way was done."""
        way = self.way_at_hand
        if way is not None and way.possible:
            self._log(way)

    def action_words(self) -> None:
        """Ask what was done, in the player's own words; on a way it is logged with them."""
        tune, way = self.tune_at_hand, self.way_at_hand if self.in_ways else None
        if tune is not None:
            question = f"{way.name if way else tune.title}: what did you do?"
            keep = partial(self._log, way)
            self.app.push_screen(AskLine(question, keep, hint="in your own words"))

    def _log(self, way: WayView | None, words: str = "") -> None:
        tune = self.tune_at_hand
        if tune is None or (way is None and not words.strip()):
            return
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        with self.trying():
            entry = self.desk.log_practice(tune.uuid, way.id if way else "", minutes, words=words)
            self._clock.stopwatch.tell()
            self._logged.append((entry.uuid, minutes))
            spent = f", {counted(round(minutes), 'minute')}" if minutes >= 0.75 else ""
            said = way.name if way else "in your words"
            say(self.tune_app, f"Logged: {said}, {tune.title}{spent}.")
            self.hush()
            self.show_logged()

    def action_undo(self) -> None:
        """Take the last logged way back; its minutes go on counting."""
        uuid, minutes = self._logged.pop()
        with self.trying():
            self.desk.undo_practice(uuid)
            self._clock.stopwatch.take_back(minutes)
            say(self.tune_app, "Taken back.")
            self.show_logged()

    def keep_minutes(self) -> None:
        """Write down the minutes that no logged way took."""
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        if minutes >= LEAST_MINUTES:
            self.desk.practised(minutes)
            self._clock.stopwatch.tell()

    def stop_for_pain(self) -> None:
        """End the sitting now; the minutes are kept."""
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        self.desk.stop_for_pain(minutes if minutes >= LEAST_MINUTES else 0.0)
        self._clock.stopwatch.tell()

    def leave(self) -> None:
        """Leave practice; nothing more is written down."""
        self._left = True
        self.dismiss(None)

    def on_unmount(self) -> None:
        """Keep the minutes also when the whole app ends."""
        if self.tune_app.desk is not None and not self._left:
            with suppress(ServiceError, RepertoireError):
                self.keep_minutes()
