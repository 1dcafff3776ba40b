"""A card as a page for printing."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from tunememory.cards.as_text import GOES_ON
from tunememory.cards.page import Paper, page_html

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tunememory.cards.card import Card, CardStart, Entry


def card_html(card: Card, paper: Paper = Paper.A6) -> str:
    """Return a card as one HTML page that needs no other file.

    Args:
        card: The card.
        paper: Size it is printed on; a tune is not parted between two sheets.
    """
    return page_html(card.heading, _body(card), paper)


def _body(card: Card) -> Iterator[str]:
    for page in card.pages:
        yield f"<h2>{escape(page.tuning)}</h2>"
        for section in page.sections:
            yield f"<h3>{escape(section.root)}</h3>"
            for entry in section.entries:
                yield from _entry(entry)


def _entry(entry: Entry) -> Iterator[str]:
    about = ", ".join(filter(None, (entry.kind, entry.key)))
    rest = f" <span>{escape(about)}</span>" if about else ""
    yield '<section class="tune">'
    yield f'<p class="name">{escape(entry.title)}{rest}</p>'
    for start in entry.starts:
        yield f'<div class="start"><b>{escape(start.part)}</b>{"".join(_notes(start))}</div>'
    for warning in entry.warnings:
        yield f'<p class="warn">{escape(warning)}</p>'
    yield "</section>"


def _notes(start: CardStart) -> Iterator[str]:
    for number, letter in enumerate(start.letters):
        bar = ' class="bar"' if number in start.bars else ""
        finger = f"<i>{escape(start.fingers[number])}</i>" if start.fingers else ""
        yield f"<span{bar}>{escape(letter)}{finger}</span>"
    if start.goes_on:
        yield f"<span>{GOES_ON}</span>"
