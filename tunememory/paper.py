"""A page for printing: large black letters on a size of paper, nothing from outside the page."""

from __future__ import annotations

from enum import StrEnum
from html import escape
from typing import TYPE_CHECKING

from tunememory.text import cells

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


class Paper(StrEnum):
    """Sizes of paper (ISO 216). A4 is printed in two columns."""

    A6 = "A6"
    A5 = "A5"
    A4 = "A4"

    @property
    def size(self) -> str:
        """Width and height; browsers know few sizes by name (CSS Paged Media 3, section 7.1)."""
        return {"A6": "105mm 148mm", "A5": "148mm 210mm", "A4": "210mm 297mm"}[self.value]

    @property
    def columns(self) -> int:
        """Columns that have room for a start beside one another."""
        return 2 if self is Paper.A4 else 1


_STYLE = """
@page {{ size: {size}; margin: 8mm 7mm; }}
* {{ box-sizing: border-box; }}
html {{ color: #000; background: #fff; }}
body {{ margin: 0 auto; padding: 0; max-width: {widest}; font: 12pt/1.25 Georgia,
  "DejaVu Serif", serif; }}
main {{ columns: {columns}; column-gap: 9mm; }}
h1 {{ font-size: 16pt; margin: 0 0 4pt; }}
h2 {{ font-size: 14pt; margin: 10pt 0 2pt; border-bottom: 1.5pt solid #000; }}
main > h2:first-child {{ margin-top: 0; }}
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
pre {{ margin: 6pt 0 0; font: 12pt/1.3 "DejaVu Sans Mono", Menlo, Consolas, monospace;
  white-space: pre-wrap; }}
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


def page_html(heading: str, body: Iterable[str], paper: Paper) -> str:
    """Return a whole HTML page that needs no other file.

    Args:
        heading: Its heading, as plain text.
        body: Lines of HTML under the heading, in as many columns as the paper has.
        paper: Size it is printed on.
    """
    widest = "36em" if paper.columns == 1 else "72em"
    style = _STYLE.format(size=paper.size, columns=paper.columns, widest=widest)
    title = escape(heading)
    inside = "\n".join(body)
    return (
        _HEAD.format(title=title, style=style)
        + f"<h1>{title}</h1>\n<main>\n{inside}\n</main>\n</body>\n</html>\n"
    )


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
