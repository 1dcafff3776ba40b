"""What a level did, in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.chance_words import rated_words
from tunememory.tunes.check import Prompt
from tunememory.ui.text import Span, bare, cell, width_of

if TYPE_CHECKING:
    from tunememory.service.chance_words import Rated
    from tunememory.service.views import Asked


def rated_line(asked: Asked, rated: Rated, width: int) -> list[Span]:
    """Say how likely what was asked for was to come, and how likely it is to come from now on.

    Args:
        asked: The prompt that was answered.
        rated: What the level did.
        width: Cells across; chances are shortened before the title is.
    """
    title = asked.tune.title
    what = ""
    if asked.after is not None:
        title = f"{asked.after.title} → {title}"
    elif asked.prompt is Prompt.WHAT:
        what = ", the name"
    tail = f"{what}: {rated_words(rated)}"
    if width_of(bare(title)) + width_of(tail) > width:
        tail = f"{what}: {rated_words(rated, brief=True)}"
    room = max(1, width - width_of(tail))
    return [(cell(title, min(room, width_of(bare(title)))).rstrip(), ""), (tail, "quiet")]
