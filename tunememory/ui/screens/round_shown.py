"""A round as it is seen: the prompt, what was said, the clock and the keys of the moment."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from tunememory.ui.drawing_picture import LETTERS, STAFF, STRINGS, next_drawn
from tunememory.ui.screens.round_by_ear import RoundByEar
from tunememory.ui.screens.round_done import ROUND_NAMES, summary_lines
from tunememory.ui.screens.round_keys import KEYS, hushed, possible, word_of_enter
from tunememory.ui.widgets.round_sheet import RoundSheet

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Resize

    from tunememory.service.round_run import RoundRun
    from tunememory.service.views import Planned
    from tunememory.ui.actions import Act
    from tunememory.ui.answering import Answer

_WAYS = {LETTERS: "in letters", STAFF: "on the staff", STRINGS: "on the strings"}
_SHOWN_AS = {
    "both": ("letters", "fingers"),
    "letters": ("letters",),
    "fingers": ("fingers",),
}


class RoundShown(RoundByEar):
    """The part of a round that is seen.

    Args:
        run: The round, begun.
        planned: What it was planned as.
    """

    OPENS_AREAS = False
    BINDINGS: ClassVar[list[BindingType]] = KEYS

    def __init__(self, run: RoundRun, planned: Planned) -> None:
        super().__init__()
        self.run = run
        self.planned = planned
        self._answered: list[Answer] = []
        self._sheet = RoundSheet(id="page")
        self._drawn = LETTERS

    def end(self) -> None:
        """End the round."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        """One sheet; what stands where is worked out for each size."""
        yield self._sheet

    def on_mount(self) -> None:
        """Ask the first prompt and let the clock be seen; nothing said before lies over it."""
        self.app.clear_notifications()
        self.set_interval(0.5, self._tick)
        self._ask()

    def on_resize(self, _: Resize) -> None:
        """Lay the page out anew once the sheet has its new size."""
        self.call_after_refresh(self._draw)

    def _ask(self, answer: Answer | None = None) -> None:
        """Put the present prompt on the screen, or the end of the round."""
        self.hush()
        asked = self.run.current
        self._sheet.choices = []
        self._sheet.first = 0
        if asked is None:
            self.end()
            return
        self.answer = answer or self.answer_to(asked)
        self._sheet.marked = self.answer.suggested() if self.answer.shown else None
        self._asked_at = None
        self._draw()
        if not self.answer.shown:
            self.call_after_refresh(self._start_clock)

    def _start_clock(self) -> None:
        self._asked_at = Message().time
        self.sound_prompt()
        self._tick()

    def _tick(self) -> None:
        """Show the seconds, small, in the head line."""
        answer = self.answer
        if answer is None:
            return
        # A prompt that is not painted yet shows the clock as it will stand then, so that starting
        # it paints nothing a second time.
        seconds = answer.seconds if answer.shown else self.elapsed(Message().time) or 0.0
        clock = "" if seconds is None else f"{seconds:.0f} s"
        self.head(right=f"{self.planned.tuning}  {clock:>5}")

    def elapsed(self, moment: float) -> float | None:
        """Seconds since the prompt was painted; ``None`` before that."""
        return None if self._asked_at is None else max(0.0, moment - self._asked_at)

    def _draw(self) -> None:
        if self.answer is None:
            self._draw_end()
            return
        place = self.run.done + 1
        self.head(left=f"{ROUND_NAMES[self.run.kind]} · {place} of {self.run.done + self.run.left}")
        self._tick()
        self._sheet.draw(self.answer, _SHOWN_AS[self.desk.settings.shown_as], self._drawn)
        self.refresh_bindings()

    def action_view(self) -> None:
        """Show starts in the next way, from here on: on the staff, on the strings, in letters."""
        if self.answer is not None:
            self._drawn = next_drawn(self._drawn, self.answer.asked.starts)
            self._sheet.first = 0
            self._tell(f"Starts are shown {_WAYS[self._drawn]}.")

    def _draw_end(self) -> None:
        width, height = self._sheet.size
        summary, kind, left = self.run.summary(), self.run.kind, self.run.left
        self._sheet.draw_end(summary_lines(summary, kind, width - 8, height - 2, left=left))

    def _tell(self, text: str, role: str = "quiet") -> None:
        self._sheet.say(text, role)
        self._draw()

    def tell_of_sound(self, text: str) -> None:
        """Say it on the line of words."""
        self._tell(text)

    def hushed(self) -> frozenset[str]:
        """Keys that the key line leaves out at this moment."""
        return hushed(self.answer)

    def word_of(self, act: Act) -> str:
        """Name what Enter does at this moment."""
        word = super().word_of(act)
        return word_of_enter(self.answer, word) if act.action == "enter" else word

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done at this moment."""
        return bool(self._answered) if action == "undo" else possible(action, self.answer)
