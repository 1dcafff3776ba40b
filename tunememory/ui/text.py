"""The one way a string gets on screen. No other module hands Textual a string it might parse.

Textual reads square brackets in a plain string as markup, and writes control characters to the
terminal as they come. A title may hold both, so every string is put into a ``Content`` (never
parsed) with its control characters and direction overrides taken out.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from rich.cells import cell_len, chop_cells, set_cell_size
from textual.content import Content

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.app import App


Span = tuple[str, str]
"""A piece of a line and its role: ``"quiet"``, ``"fading"``, ``""`` for plain ink."""

Piece = str | Content | tuple[str, str]
"""Text, ready content, or text with a style such as ``"bold $accent"``."""

_UNSHOWABLE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)
_LONGEST = 20_000


def bare(text: str) -> str:
    """Return ``text`` without what a terminal would act on; tabs and line ends become spaces."""
    text = text[:_LONGEST]
    return _UNSHOWABLE.sub("", text.replace("\t", " ").replace("\r\n", " ").replace("\n", " "))


def plain(text: str, style: str = "") -> Content:
    """Return ``text`` as one line of content, never read as markup.

    Args:
        text: Any string.
        style: A style of ours (never the player's text), such as ``"bold $accent"``.
    """
    return Content.styled(bare(text), style)


def joined(*pieces: Piece) -> Content:
    """Return pieces one after the other as content; spaces are kept as they are."""
    return Content.assemble(
        *(
            piece
            if isinstance(piece, Content)
            else (bare(piece[0]), piece[1])
            if isinstance(piece, tuple)
            else bare(piece)
            for piece in pieces
        )
    )


def lines(*rows: Content) -> Content:
    """Return contents under one another."""
    return Content("\n").join(rows)


_ROLE_STYLES = {"": "", "strong": "bold", "new": "$quiet", "bright": "bold $accent"}
"""How the roles look that are not called as a colour of the theme."""


def style_of(role: str) -> str:
    """Return the style of the role of a span. No role is told apart by colour alone."""
    return _ROLE_STYLES.get(role, f"${role}")


def inked(rows: Iterable[Sequence[Span]]) -> Content:
    """Return rows of ``(text, role)`` spans as content, one row a line."""
    return lines(
        *(Content.assemble(*((bare(text), style_of(role)) for text, role in row)) for row in rows)
    )


def width_of(text: str) -> int:
    """Cells that ``text`` takes on screen."""
    return cell_len(text)


def cell(text: str, width: int, align: Literal["left", "right", "center"] = "left") -> str:
    """Return ``text`` in exactly ``width`` cells, cut with an ellipsis where it is too long."""
    if width <= 0:
        return ""
    shown = bare(text)
    length = cell_len(shown)
    if length > width:
        return set_cell_size(set_cell_size(shown, width - 1).rstrip() + "…", width)
    space = width - length
    left = {"left": 0, "right": space, "center": space // 2}[align]
    return " " * left + shown + " " * (space - left)


def broken(text: str, width: int) -> list[str]:
    """Break ``text`` at blanks into rows of ``width`` cells; a longer word is cut in pieces."""
    rows: list[str] = []
    for paragraph in text.split("\n"):
        row = ""
        # At plain blanks only: a no-break space holds a number and its unit together.
        for word in filter(None, bare(paragraph).split(" ")):
            for piece in chop_cells(word, width):
                if row and width_of(row) + 1 + width_of(piece) > width:
                    rows.append(row)
                    row = ""
                row += f" {piece}" if row else piece
        rows.append(row)
    return rows


def wrapped(text: str, width: int, role: str = "", indent: int = 0) -> list[list[Span]]:
    """Break ``text`` into lines of ``width`` cells, the ``indent`` before each included."""
    return [[(" " * indent + row, role)] for row in broken(text, max(8, width - indent))]


def hanging(
    label: str, text: str, width: int, role: str = "", label_role: str = "quiet"
) -> list[list[Span]]:
    """Break ``text`` after a label into lines of ``width`` cells, the later ones indented."""
    rows = broken(text, max(8, width - width_of(label)))
    labels = [label, *[" " * width_of(label)] * (len(rows) - 1)]
    return [[(before, label_role), (row, role)] for before, row in zip(labels, rows, strict=True)]


def say(app: App[int], message: str, tone: Literal["calm", "warning", "error"] = "calm") -> None:
    """Say one line to the player, for a few seconds, in place of what was said before."""
    app.clear_notifications()
    severity: Literal["information", "warning", "error"] = "information" if tone == "calm" else tone
    app.notify(bare(message), severity=severity, markup=False)
