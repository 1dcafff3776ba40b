"""A card as a page for printing: large black letters, nothing from outside the page."""

from __future__ import annotations

from enum import StrEnum
from html import escape
from typing import TYPE_CHECKING

from tunememory.cards.as_text import GOES_ON

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tunememory.cards.card import Card, CardStart, Entry


class Paper(StrEnum):
    """Sizes of paper (ISO 216)."""

    A5 = "A5"
    A6 = "A6"

    @property
    def size(self) -> str:
        """Width and height; browsers know few sizes by name (CSS Paged Media 3, section 7.1)."""
        return {"A5": "148mm 210mm", "A6": "105mm 148mm"}[self.value]


_STYLE = """
@page {{ size: {size}; margin: 8mm 7mm; }}
* {{ box-sizing: border-box; }}
html {{ color: #000; background: #fff; }}
body {{ margin: 0 auto; padding: 0; max-width: 36em; font: 12pt/1.25 Georgia, "DejaVu Serif",
  serif; }}
h1 {{ font-size: 16pt; margin: 0 0 4pt; }}
h2 {{ font-size: 14pt; margin: 10pt 0 2pt; border-bottom: 1.5pt solid #000; }}
h3 {{ font-size: 14pt; margin: 8pt 0 2pt; }}
h2, h3 {{ break-after: avoid; }}
section.tune {{ break-inside: avoid; margin: 0 0 8pt; }}
p {{ margin: 0; overflow-wrap: anywhere; }}
p.name {{ font-weight: bold; font-size: 13pt; }}
p.name span {{ font-weight: normal; }}
p.warn {{ font-style: italic; }}
div.start {{ display: flex; flex-wrap: wrap; font-family: "DejaVu Sans Mono", Menlo, Consolas,
  monospace; }}
div.start b {{ min-width: 1.6em; }}
div.start span {{ display: inline-block; margin-right: .55em; text-align: left; }}
div.start span.bar {{ border-left: 1pt solid #000; padding-left: .35em; }}
div.start i {{ display: block; font-style: normal; }}
@media screen {{ body {{ padding: 12pt; }} }}
"""
"""Nothing is smaller than 12 points, and nothing rests on colour."""

_HEAD = (
    '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
    '<meta name="viewport" content="width=device-width">\n'
    "<title>{title}</title>\n<style>{style}</style>\n</head>\n<body>\n"
)


def card_html(card: Card, paper: Paper = Paper.A6) -> str:
    """Return a card as one HTML page that needs no other file.

    Args:
        card: The card.
        paper: Size it is printed on; a tune is not parted between two sheets.
    """
    head = _HEAD.format(title=escape(card.heading), style=_STYLE.format(size=paper.size))
    return head + "\n".join(_body(card)) + "\n</body>\n</html>\n"


def _body(card: Card) -> Iterator[str]:
    yield f"<h1>{escape(card.heading)}</h1>"
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
    for number, (letter, finger) in enumerate(zip(start.letters, start.fingers, strict=True)):
        bar = ' class="bar"' if number in start.bars else ""
        yield f"<span{bar}>{escape(letter)}<i>{escape(finger)}</i></span>"
    if start.goes_on:
        yield f"<span>{GOES_ON}</span>"
