"""How the parts of a round are put on a page of any size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.check import Prompt
from tunememory.ui.canvas import staff_height
from tunememory.ui.drawing_round import facts_line, prompt_lines
from tunememory.ui.text import Span, cell, width_of
from tunememory.ui.words import strand_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.answering import Answer
    from tunememory.ui.drawing_round import Forms

AIRY = 4
"""Rows above the question from which one is left empty below it too."""


@dataclass(frozen=True, slots=True)
class Frame:
    """How the rows of a window are shared out in a round.

    Attributes:
        above: Rows down to the question, its own included; none leaves the question out.
        asked: Rows of the title or the start asked about.
        facts: Whether there is a row of small print.
        gap: Rows between the staff lines of the ladder.
        left: Cells left of answer and words.
        right: Cells right of them.
        below: Empty rows below the last line of words.
    """

    above: int
    asked: int
    facts: bool
    gap: int
    left: int
    right: int
    below: int

    @property
    def top(self) -> int:
        """Rows down to the answer, the empty one before it included."""
        question = self.above + (self.above >= AIRY)
        return question + self.asked + self.facts + (self.below > 0)

    def room(self, height: int) -> int:
        """Rows left for the answer in a window of ``height`` rows."""
        return max(1, height - self.top - staff_height(self.gap) - 1 - self.below)


def ladder_top(frame: Frame, height: int) -> int:
    """Row of a page of ``height`` rows at which the ladder begins."""
    return height - frame.below - 1 - staff_height(frame.gap)


def frame_for(width: int, height: int) -> Frame:
    """Return the shares of a window without its head and key lines.

    Args:
        width: Cells across.
        height: Rows; 22 of a window of 24.
    """
    left, right = (18, 18) if width >= 110 else (6, 6) if width >= 80 and height >= 22 else (2, 2)
    if height < 16:
        return Frame(0, 1, facts=False, gap=0, left=left, right=right, below=0)
    if height < 22:
        return Frame(1, 3, facts=True, gap=0, left=left, right=right, below=0)
    if height < 30:
        return Frame(2, 3, facts=True, gap=0, left=left, right=right, below=1)
    return Frame(5, 4, facts=True, gap=1, left=left, right=right, below=1)


def round_page(
    answer: Answer,
    lines: Sequence[list[Span]],
    ladder: Sequence[list[Span]],
    said: list[Span],
    width: int,
    height: int,
    forms: Forms,
    first: int = 0,
) -> list[list[Span]]:
    """Put the parts of a round on a page.

    Args:
        answer: The prompt and how far it is answered.
        lines: Hints, answer or list, from ``hint_lines``, ``answer_lines``, ``straying_lines``.
        ladder: From ``ladder_lines``.
        said: The line of words at the bottom.
        width: Cells across.
        height: Rows.
        forms: Rows a start is shown in.
        first: First row of ``lines`` in sight.
    """
    frame = frame_for(width, height)
    page: list[list[Span]] = []
    if frame.above:
        page.extend([] for _ in range(frame.above - 1))
        page.append(centred([(question(answer), "quiet")], width))
        page.extend([] for _ in range(frame.above >= AIRY))
    asked = prompt_lines(answer, width - 4, frame.asked, forms)
    page.extend(centred(row, width) for row in asked)
    page.extend([] for _ in range(frame.asked - len(asked)))
    if frame.facts:
        page.append(centred([(facts_line(answer), "quiet")], width))
    page.extend([] for _ in range(frame.below > 0))
    room = frame.room(height)
    shown = lines[first : first + room]
    indent = (" " * frame.left, "")
    page.extend([indent, *row] for row in shown)
    page.extend([] for _ in range(room - len(shown)))
    page = page[: max(0, ladder_top(frame, height))]
    page.extend([(" " * (frame.left - 2), ""), *row] for row in ladder)
    page.append([indent, *said])
    return page


def question(answer: Answer) -> str:
    """Return the question and what is asked for, ``"How does it go?  key, A start"``."""
    if answer.asked.prompt is not Prompt.HOW:
        return answer.asked.prompt.value
    strands = ", ".join(strand_words(strand) for strand in answer.asked.strands)
    return f"{Prompt.HOW.value}  {strands}"


def centred(row: list[Span], width: int) -> list[Span]:
    """Put a row in the middle of ``width`` cells; one that is too wide is cut."""
    taken = sum(width_of(text) for text, _ in row)
    if taken > width:
        text, role = row[0]
        return [(cell(text, width), role)]
    return [(" " * ((width - taken) // 2), ""), *row]
