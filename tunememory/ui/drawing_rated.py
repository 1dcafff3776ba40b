"""What a level did, in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.check import Prompt
from tunememory.ui.text import Span, bare, cell, width_of
from tunememory.ui.words import in_ten

if TYPE_CHECKING:
    from tunememory.service.views import Asked


def rated_line(asked: Asked, before: float, after: float, width: int) -> list[Span]:
    """Say how likely what was asked for was to come, and how likely it is tomorrow.

    Args:
        asked: The prompt that was answered.
        before: The chance before its level, 0 to 1.
        after: The chance as it will be tomorrow, 0 to 1.
        width: Cells across; chances are shortened before the title is.
    """
    title = asked.tune.title
    what = ""
    if asked.after is not None:
        title = f"{asked.after.title} → {title}"
    elif asked.prompt is Prompt.WHAT:
        what = ", the name"
    tail = f"{what}{_chances(before, after, brief=False)}"
    if width_of(bare(title)) + width_of(tail) > width:
        tail = f"{what}{_chances(before, after, brief=True)}"
    room = max(1, width - width_of(tail))
    return [(cell(title, min(room, width_of(bare(title)))), ""), (tail, "quiet")]


def _chances(before: float, after: float, *, brief: bool) -> str:
    was, will = in_ten(before, brief=brief), in_ten(after, brief=brief)
    return f": {will}, as before." if was == will else f": {was}, tomorrow {will}."
