"""What fades and what is coming, beside the steps of the day."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.charset import charset_here
from tunememory.recall.check import RoundKind
from tunememory.recall.state import in_ten
from tunememory.store.records import At
from tunememory.ui.canvas import SPACES, Head, empty_staff, repertoire_staff, space_of, space_row
from tunememory.ui.text import Span, bare, cell, inked, width_of
from tunememory.words import ahead, counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.events import Click

    from tunememory.dates.readiness import DateView
    from tunememory.practice.sitting import RoundToday
    from tunememory.practice.today import Fades, TodayView, TuneMark


MOST_FADING = 5
"""Names of fading tunes shown; the rest is a key away."""

MOST_COMING = 2
"""Dates shown; the rest is a key away."""


def coming_words(date: DateView) -> str:
    """Say when a date is and how ready: ``"in 12 days · 12 of 20"``."""
    ready = f"{date.ready} of {date.wanted}" if date.wanted else ""
    return " · ".join(filter(None, (ahead(date.days or 0), ready)))


class Fading(Widget):
    """A few names of what fades, weakest first, with the chance in words; then the next dates.

    Where what fades is not to be said, the dates stand alone.
    """

    DEFAULT_CSS = """
    Fading { height: 6; }
    """

    fading: reactive[tuple[Fades, ...] | None] = reactive(None, init=False)
    coming: reactive[tuple[DateView, ...]] = reactive((), init=False)

    def render(self) -> Content:
        """A heading and as many rows as there is room for."""
        if self.fading is None and not self.coming:
            return Content("")
        dates = self.coming[: MOST_COMING if self.size.height > 4 else 1]
        room = self.size.height - 1 - len(dates)
        head = "Coming" if self.fading is None else "What fades"
        rows: list[list[Span]] = [[(head, "strong")]]
        if self.fading == ():
            rows.append([("Nothing beyond this round.", "quiet")])
        for row in (self.fading or ())[: min(MOST_FADING, room)]:
            strand = "" if row.strand == "A" else f" · {row.strand}"
            words = in_ten(row.chance)
            rows.append(self._ends(row.title, "", strand, words, space_of(row.chance)))
        rows += [
            self._ends(date.dated.title, "strong", "", coming_words(date), "accent")
            for date in dates
        ]
        return inked(rows)

    def _ends(self, title: str, ink: str, strand: str, words: str, role: str) -> list[Span]:
        """A title on the left, words on the right."""
        room = self.size.width - width_of(words) - 2
        title = cell(title, min(room - width_of(strand), width_of(bare(title)))).rstrip()
        space = " " * (room + 2 - width_of(title) - width_of(strand))
        return [(title, ink), (strand + space, "quiet"), (words, role)]


WORDS = 12
"""Cells of the words left of the staff, a blank included."""

MOST_GAP = 4
"""Rows between two staff lines at most; taller looks empty."""


NOT_ASKED = "not asked yet"
"""The state of a tune that has no place in the four spaces."""


def head_of(tune: TuneMark) -> Head:
    """Return a tune as a note head, gathered by the letter of its root."""
    return Head(
        group=_written(tune.root),
        chance=tune.chance,
        role=space_of(tune.chance) if tune.asked else "quiet",
        asked=tune.asked,
    )


@lru_cache(maxsize=64)
def _written(root: str) -> str:
    return root.replace("b", "♭").replace("#", "♯") or "?"


def draw(
    tunes: tuple[TuneMark, ...], counts: Mapping[str, int], width: int, height: int
) -> list[list[Span]]:
    """Draw the staff, the words beside it, the roots and the legend beneath.

    Args:
        tunes: In an order that stays from day to day.
        counts: Tunes in each state, by its name.
        width: Cells across, words included.
        height: Rows there are, at least 7.
    """
    charset = charset_here()
    gap = max(0, min(MOST_GAP, (height - 2 - 5) // len(SPACES)))
    across = max(3, width - WORDS)
    heads = [head_of(tune) for tune in tunes]
    if heads:
        drawn = repertoire_staff(heads, across, gap, charset)
        rows, each = drawn.rows, drawn.each
    else:
        rows, each = empty_staff(across, gap, (), charset, foot=1).rows(), 1
    words: dict[int, list[Span]] = {}
    for place, name in enumerate(reversed(SPACES)):
        number = counts.get(name, 0)
        word = f"{number:>4} " if counts else "     "
        words[space_row(place, gap)] = [(word, ""), (cell(name, WORDS - 5), name)]
    picture = [[*words.get(y, [(" " * WORDS, "")]), *row] for y, row in enumerate(rows)]
    if heads:
        picture.append(
            [(" " * WORDS + _legend(charset.head, charset.hollow, counts, each), "quiet")]
        )
    return picture


def _legend(head: str, hollow: str, counts: Mapping[str, int], each: int) -> str:
    said = [f"{head} asked"]
    if counts.get(NOT_ASKED):
        said.append(f"{hollow} {NOT_ASKED} ({counts[NOT_ASKED]})")
    if each > 1:
        said.append(f"one note is up to {counted(each, 'tune')}")
    return "   ".join(said)


class StaffPicture(Widget):
    """All tunes on the staff. Empty until ``show`` is called."""

    DEFAULT_CSS = """
    StaffPicture { height: 1fr; min-height: 7; }
    """

    tunes: reactive[tuple[TuneMark, ...]] = reactive((), init=False)
    counts: reactive[dict[str, int]] = reactive({}, init=False)

    def show(self, tunes: tuple[TuneMark, ...], counts: dict[str, int]) -> None:
        """Draw these tunes."""
        self.counts = counts
        self.tunes = tunes

    def render(self) -> Content:
        """The picture at the size of the widget."""
        return inked(draw(self.tunes, self.counts, self.size.width, self.size.height))


STEPS = (At.FIRST, At.PRACTICE, At.LAST)
"""What can be marked, from top to bottom."""

_NAMES = {At.FIRST: "First round", At.PRACTICE: "Practice", At.LAST: "Last round"}
_KINDS = {At.FIRST: RoundKind.FIRST, At.LAST: RoundKind.LAST}


def length_words(minutes: float) -> str:
    """Say how long a round takes: ``"~4 min"``, ``"<1 min"``."""
    return f"~{round(minutes)} min" if minutes >= 0.75 else "<1 min"


def first_mark(view: TodayView) -> At:
    """Return the step that Enter begins: where the sitting stands, rounds already done passed."""
    done = {step.kind for step in view.steps if step.done}
    if view.sitting.step is At.FIRST and RoundKind.FIRST in done:
        return At.PRACTICE
    if view.sitting.step is At.OVER:
        return At.FIRST if view.sitting.closed else At.LAST
    return view.sitting.step


def _passed(step: At, view: TodayView) -> bool:
    """Whether the sitting has gone on beyond a step."""
    order = tuple(At)
    return order.index(view.sitting.step) > order.index(step)


def _practice(view: TodayView) -> str:
    tunes = counted(view.practice, "tune")
    if not _passed(At.PRACTICE, view):
        if view.sitting.head_only:
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

    def _round(self, step: RoundToday | None, tuning: str, *, passed: bool) -> str:
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
        return " · ".join(filter(None, (tunes, length_words(step.minutes), tuning)))

    def move(self, steps: int) -> None:
        """Mark the next step or the one before."""
        place = STEPS.index(self.marked) + steps
        self.marked = STEPS[max(0, min(len(STEPS) - 1, place))]

    def on_click(self, event: Click) -> None:
        """A click on a step begins it."""
        if 0 <= event.y < len(STEPS):
            self.marked = STEPS[event.y]
            self.call_later(self.screen.run_action, "begin")
