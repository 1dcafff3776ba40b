"""The page of a round: keeps what is seen beside the prompt, and draws it all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.charset import charset_here
from tunememory.recall.check import Level
from tunememory.ui.library.drawing import LETTERS
from tunememory.ui.round.drawing import (
    answer_lines,
    frame_for,
    hint_lines,
    ladder_lines,
    ladder_top,
    pictured_lines,
    pictured_page,
    round_page,
    straying_lines,
)
from tunememory.ui.round.drawing import room as pictured_room
from tunememory.ui.widgets.lists import Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.rounds.answer import Answer
    from tunememory.ui.round.drawing import Forms
    from tunememory.ui.text import Span


class RoundSheet(Sheet):
    """Draws a prompt and all that belongs to it.

    Attributes:
        moved: Chance of the tune before, before and after its level.
        marked: The level that Enter gives.
        said: The line of words at the bottom.
        choices: Tunes to choose from: identity, title and a word about each; empty for none.
        cursor: The choice that Enter takes.
        first: First row of a long answer in sight.
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.moved: tuple[float, float] | None = None
        self.marked: Level | None = None
        self.said: list[Span] = []
        self.choices: list[tuple[str, str, str]] = []
        self.cursor = 0
        self.first = 0
        # Drawn starts have the page to themselves.
        self._alone = False
        self._charset = charset_here()

    def say(self, text: str, role: str = "quiet") -> None:
        """Put words on the line at the bottom; they are seen with the next drawing."""
        self.said = [(text, role)]

    @property
    def across(self) -> int:
        """Cells that an answer, or the line of words, may take."""
        frame = frame_for(*self.size)
        return self.size.width - frame.left - frame.right

    @property
    def room(self) -> int:
        """Rows for an answer."""
        height = self.size.height
        return pictured_room(height) if self._alone else frame_for(*self.size).room(height)

    def draw(self, answer: Answer, forms: Forms, drawn: str = LETTERS) -> None:
        """Draw the prompt as far as it is answered, its starts in one of ``DRAWN``."""
        width, height = self.size
        if not width:
            return
        frame = frame_for(width, height)
        across, room = self.across, frame.room(height)
        pictured: list[list[Span]] = []
        if drawn != LETTERS and not self.choices:
            pictured = pictured_lines(answer, across, forms, drawn)
        self._alone = bool(pictured) and not (answer.shown and len(pictured) <= room)
        if self._alone:
            self._draw_alone(answer, forms, drawn)
            return
        if self.choices:
            lines = straying_lines(self.choices, self.cursor, room, across)
        elif pictured:
            lines = pictured
        elif answer.shown:
            lines = answer_lines(answer, across, room, forms)
        else:
            lines = hint_lines(answer, across, forms)
        self.first = max(0, min(self.first, len(lines) - room))
        ladder = ladder_lines(answer, across + 2, frame.gap, self.moved, self.marked, self._charset)
        self.show(round_page(answer, lines, ladder, self.said, width, height, forms, self.first))

    def _draw_alone(self, answer: Answer, forms: Forms, drawn: str) -> None:
        """Draw starts too tall to stand over the ladder: it gives way to the marked level."""
        width, height = self.size
        lines = pictured_lines(answer, width - 4, forms, drawn)
        self.first = max(0, min(self.first, len(lines) - self.room))
        said = self.said
        if answer.shown and self.marked is not None:
            said = [(f"▸ {int(self.marked)} {answer.words[self.marked]}   ", "bright"), *said]
        self.show(pictured_page(answer, lines, said, width, height, self.first))

    def draw_end(self, lines: Sequence[list[Span]]) -> None:
        """Draw the end of the round."""
        self.show([[], [], *([("    ", ""), *row] for row in lines)])

    def mark(self, answer: Answer, step: int) -> None:
        """Mark the level above (1) or below (-1), or another tune of the list."""
        if self.choices:
            self.cursor = max(0, min(self.cursor - step, len(self.choices) - 1))
        elif self.marked is not None:
            self.marked = Level(max(1, min(self.marked + step, int(answer.cap))))
        else:
            self.marked = Level.SIT_OUT if step > 0 else answer.cap

    def level_at(self, screen_y: int) -> Level | None:
        """Return the level that stands in a row of the screen."""
        if self._alone:
            return None
        frame = frame_for(*self.size)
        row = screen_y - self.region.y - ladder_top(frame, self.size.height)
        number = len(Level) - (row - 1) // (frame.gap + 1)
        return Level(number) if row >= 1 and number >= 1 else None
