"""The steps of a sitting: first round, practice, last round."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.reactive import reactive
from textual.widget import Widget

from tunememory.tunes.check import RoundKind
from tunememory.tunes.sitting import At
from tunememory.ui.text import Span, cell, inked
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.content import Content
    from textual.events import Click

    from tunememory.service.today_view import Step, TodayView

STEPS = (At.FIRST, At.PRACTICE, At.LAST)
"""What can be marked, from top to bottom."""

_NAMES = {At.FIRST: "First round", At.PRACTICE: "Practice", At.LAST: "Last round"}
_KINDS = {At.FIRST: RoundKind.FIRST, At.LAST: RoundKind.LAST}


def minutes_words(minutes: float) -> str:
    """Say how long a round takes: ``"~4 min"``, ``"<1 min"``."""
    return f"~{round(minutes)} min" if minutes >= 0.75 else "<1 min"


def first_mark(view: TodayView) -> At:
    """Return the step that Enter begins: where the sitting stands, rounds already done passed."""
    done = {step.kind for step in view.steps if step.done}
    if view.at is At.FIRST and RoundKind.FIRST in done:
        return At.PRACTICE
    if view.at is At.OVER:
        return At.FIRST if view.closed else At.LAST
    return view.at


def _passed(step: At, view: TodayView) -> bool:
    """Whether the sitting has gone on beyond a step."""
    order = tuple(At)
    return order.index(view.at) > order.index(step)


def _practice(view: TodayView) -> str:
    tunes = counted(view.practice, "tune")
    if not _passed(At.PRACTICE, view):
        if view.head_only:
            return f"{tunes} · in the head" if view.practice else "in the head"
        return f"{tunes} to work on" if view.practice else "nothing waits"
    if view.practised:
        return f"done · {tunes} to work on" if view.practice else "done"
    return f"left out · {tunes}" if view.practice else "left out"


class Steps(Widget):
    """The steps of a sitting, one marked: the one that Enter begins."""

    DEFAULT_CSS = """
    Steps { height: 3; padding-right: 1; text-wrap: nowrap; text-overflow: ellipsis; }
    """

    view: reactive[TodayView | None] = reactive(None, init=False)
    marked: reactive[At] = reactive(At.FIRST, init=False)

    def show(self, view: TodayView) -> None:
        """Show the day; the mark moves only when the sitting has moved on."""
        if self.view is None or first_mark(self.view) is not first_mark(view):
            self.marked = first_mark(view)
        self.view = view

    def render(self) -> Content:
        """First round, practice, last round."""
        return inked([self._line(step) for step in STEPS])

    def _line(self, step: At) -> list[Span]:
        here = self.view is not None and step is self.marked
        said = self._said(step, self.view) if self.view else ""
        return [
            ("▸ " if here else "  ", "bright"),
            (cell(_NAMES[step], 14), "bright" if here else "strong" if self.view else "quiet"),
            (said, "" if here else "quiet"),
        ]

    def _said(self, step: At, view: TodayView) -> str:
        if step is At.PRACTICE:
            return _practice(view)
        rounds = {each.kind: each for each in view.steps}
        tuning = view.tuning if step is At.FIRST else ""
        return self._round(rounds.get(_KINDS[step]), tuning, passed=_passed(step, view))

    def _round(self, step: Step | None, tuning: str, *, passed: bool) -> str:
        if step is None:
            return ""
        if step.done:
            return "done · more if you like" if step.prompts else "done"
        if step.asked:
            return f"{step.asked} of {step.asked + step.prompts} asked · {step.prompts} left"
        if not step.prompts:
            return "nothing to ask just now"
        tunes = counted(step.prompts, "tune")
        if passed:
            return f"left out · {tunes}"
        return " · ".join(filter(None, (tunes, minutes_words(step.minutes), tuning)))

    def move(self, steps: int) -> None:
        """Mark the next step or the one before."""
        place = STEPS.index(self.marked) + steps
        self.marked = STEPS[max(0, min(len(STEPS) - 1, place))]

    def on_click(self, event: Click) -> None:
        """A click on a step begins it."""
        if 0 <= event.y < len(STEPS):
            self.marked = STEPS[event.y]
            self.call_later(self.screen.run_action, "begin")
