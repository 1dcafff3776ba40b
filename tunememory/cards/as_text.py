"""A card as plain text."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from tunememory.tunes.rows import aligned

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tunememory.cards.card import Card, CardStart, Entry

WIDTH = 64
GOES_ON = "…"
_INDENT = " " * 6


def card_text(card: Card, width: int = WIDTH) -> str:
    """Return a card as text, ending in a line end.

    Args:
        card: The card.
        width: Characters in a line, where words and notes allow it.
    """
    return "\n".join(_lines(card, width)) + "\n"


def _lines(card: Card, width: int) -> Iterator[str]:
    yield from wrap(card.heading, width)
    for page in card.pages:
        yield ""
        yield page.tuning
        yield "=" * len(page.tuning)
        for section in page.sections:
            yield ""
            yield f"  {section.root}"
            yield f"  {'-' * len(section.root)}"
            for entry in section.entries:
                yield from _entry(entry, width)


def _entry(entry: Entry, width: int) -> Iterator[str]:
    about = ", ".join(filter(None, (entry.kind, entry.key)))
    name = f"{entry.title} ({about})" if about else entry.title
    yield from wrap(name, width, initial_indent="  ", subsequent_indent="    ")
    for start in entry.starts:
        yield from _start(start, width)
    for warning in entry.warnings:
        yield from wrap(
            f"! {warning}", width, initial_indent=_INDENT, subsequent_indent=_INDENT + "  "
        )


def _start(start: CardStart, width: int) -> Iterator[str]:
    letters = (*start.letters, GOES_ON) if start.goes_on else start.letters
    fingers = (*start.fingers, "") if start.fingers and start.goes_on else start.fingers
    rows = {"letters": letters, "fingers": fingers}
    for number, (_, line) in enumerate(aligned(rows, start.bars, width - len(_INDENT))):
        yield f"  {'' if number else start.part:>2}  {line}".rstrip()
