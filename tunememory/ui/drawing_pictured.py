"""A prompt of a round with its starts drawn: on the staff, or on the strings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.tunes.check import Prompt
from tunememory.ui.drawing_picture import picture
from tunememory.ui.drawing_round import around_starts, hint_lines, label_of
from tunememory.ui.text import cell, width_of

if TYPE_CHECKING:
    from tunememory.ui.answering import Answer
    from tunememory.ui.drawing_round import Forms
    from tunememory.ui.text import Span


def pictured_lines(answer: Answer, width: int, forms: Forms, drawn: str) -> list[list[Span]]:
    """Return a prompt or its answer with every start in sight drawn.

    Args:
        answer: The prompt and how far it is answered.
        width: Cells across.
        forms: Rows that hints are shown in.
        drawn: The way starts are seen.

    Returns:
        Lines; none where no start is in sight, or none can be drawn so.
    """
    asked = answer.asked
    if answer.shown:
        pictures = [
            (start, lines)
            for start in asked.starts
            if (lines := picture(start, asked.tune, drawn, width))
        ]
        if not pictures:
            return []
        before, after = around_starts(answer, width)
        starts: list[list[Span]] = []
        for start, lines in pictures:
            if starts:
                starts.append([])
            starts += [[label_of(answer, start.part)], *lines]
        return [*before, *starts, *after]
    if asked.prompt is not Prompt.WHAT or answer.start is None or answer.by_ear:
        return []
    # A signature would name the key, which is a hint: signs stand before their notes instead.
    start = replace(answer.start, start=replace(answer.start.start, key=None))
    lines = picture(start, replace(asked.tune, key=None), drawn, width)
    return [*lines, *hint_lines(answer, width, forms)] if lines else []


def pictured_page(
    answer: Answer, lines: list[list[Span]], said: list[Span], width: int, height: int, first: int
) -> list[list[Span]]:
    """Put drawn starts on a page of their own: what is asked, they, the marked level and words.

    Args:
        answer: The prompt.
        lines: From ``pictured_lines``.
        said: The line of words at the bottom.
        width: Cells across.
        height: Rows.
        first: First row of ``lines`` in sight.
    """
    asked = answer.asked
    title = asked.prompt.value if asked.prompt is Prompt.WHAT else asked.of.title
    head = cell(title, width - 4).rstrip()
    page: list[list[Span]] = [
        [(" " * ((width - width_of(head)) // 2), ""), (head, "bright")],
        *([("  ", ""), *line] for line in lines[first : first + room(height)]),
    ]
    page.extend([] for _ in range(height - 1 - len(page)))
    page.append([("  ", ""), *said])
    return page


def room(height: int) -> int:
    """Rows for drawn starts on a page of their own."""
    return max(1, height - 2)
