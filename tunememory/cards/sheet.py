"""A sheet of plain lines, for print: what a way of working on a tune brings."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from tunememory.cards.page import Paper, page_html
from tunememory.tunes.text import cells

if TYPE_CHECKING:
    from collections.abc import Sequence


def sheet_text(heading: str, said: Sequence[str], lines: Sequence[str]) -> str:
    """Return a sheet as plain text, ending in a line end.

    Args:
        heading: What it is.
        said: Sentences about it, one a line.
        lines: Its lines, which may be aligned for letters of one width.
    """
    return "\n".join([heading, "=" * cells(heading), *said, "", *lines]) + "\n"


def sheet_html(heading: str, said: Sequence[str], lines: Sequence[str]) -> str:
    """Return a sheet as one HTML page for A5 paper that needs no other file."""
    body = [f"<p>{escape(sentence)}</p>" for sentence in said]
    shown = escape("\n".join(lines))
    return page_html(heading, [*body, f"<pre>{shown}</pre>"], Paper.A5)
