"""A tune's page as lines of text: what it is, how it starts, how well it is remembered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import chop_cells

from tunememory.service.chance_words import in_ten
from tunememory.tunes.check import NAME, NAME_WORDS, START_WORDS
from tunememory.tunes.parting import parting
from tunememory.ui.drawing_memory import LINES, curve_lines, curve_sentence, merged, space_of
from tunememory.ui.drawing_picture import LETTERS, picture
from tunememory.ui.drawing_start import start_lines
from tunememory.ui.text import bare, cell, width_of
from tunememory.ui.words import ago, counted, strand_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.service.views import Chance, CheckView, StartView, TuneView
    from tunememory.ui.text import Span


STRAND = 10
"""Cells of a strand's name, a blank included."""

INDENT = 4
"""Cells before the notes of a start: room for the name of its part."""

MOST_CHECKS = 12
"""Past checks shown."""


def facts_lines(view: TuneView, width: int) -> list[list[Span]]:
    """Say what the tune is: kind, key, metre, tuning, status, other names, where from."""
    tune = view.tune
    facts = [tune.kind, tune.key.name if tune.key else "", tune.metre]
    if tune.tuning is not None:
        facts.append(f"{tune.tuning.letters} {tune.tuning.nickname}".strip())
    facts.append(tune.status.value)
    if tune.favourite:
        facts.append("a favourite")
    lines = wrapped(" · ".join(fact for fact in facts if fact), width, "")
    if len(tune.titles) > 1:
        lines.extend(wrapped("also " + " · ".join(tune.titles[1:]), width, "quiet"))
    if tune.source:
        lines.extend(wrapped(f"from {tune.source}", width, "quiet"))
    if view.drones and any(start.letters for start in view.starts):
        lines.extend(wrapped(f"easy drones: {view.drones}", width, "quiet"))
    return lines


def starts_lines(view: TuneView, width: int, drawn: str = LETTERS) -> list[list[Span]]:
    """Write every start with its part's name, in one of ``DRAWN``, and what is doubtful about it.

    A start that cannot be drawn so is written in letters over fingers.
    """
    if not view.starts:
        return [[("No start written down yet. Press ", "quiet"), ("e", "accent"),
                 (" to put one in.", "quiet")]]  # fmt: skip
    lines: list[list[Span]] = []
    for start in view.starts:
        if lines:
            lines.append([])
        drawing = picture(start, view.tune, drawn, width)
        if drawing:
            lines.append([(f"{start.part} start", "strong")])
            lines.extend([*drawing, *_remarks(start, width)])
        else:
            lines.extend(one_start(start, width))
    return lines


def one_start(start: StartView, width: int) -> list[list[Span]]:
    """Write one start in letters over fingers, its part in front, and what it has of its own."""
    return [*_in_letters(start, width), *_remarks(start, width)]


def _in_letters(start: StartView, width: int) -> list[list[Span]]:
    rows = start_lines(start, width - INDENT)
    if not rows:
        return [[(cell(start.part, INDENT), "strong"), ("not written down yet", "quiet")]]
    lines: list[list[Span]] = []
    for place, (form, text) in enumerate(rows):
        label = cell(start.part if place == 0 else "", INDENT)
        lines.append([(label, "strong"), (text, "" if form == "letters" else "quiet")])
    return lines


def _remarks(start: StartView, width: int) -> list[list[Span]]:
    """Say what a start has of its own: its key, what is beyond the instrument, its doubt."""
    lines: list[list[Span]] = []
    if start.start.key is not None and start.letters:
        lines.append([(" " * INDENT + f"this part is in {start.start.key.name}", "quiet")])
    if start.beyond:
        lines.extend(wrapped(start.beyond, width, "quiet", indent=INDENT))
    if start.doubt:
        lines.extend(wrapped(f"not sure: {start.doubt}", width, "fading", indent=INDENT))
    return lines


def strands_lines(view: TuneView, width: int, today: date) -> list[list[Span]]:
    """Write every strand: a bar with its range, the chance in words, when it was last met."""
    lines = []
    for strand in view.strands:
        met = next(
            (check.day for check in view.history if strand.strand in dict(check.levels)), None
        )
        chance = strand.chance
        role = space_of(chance.chance) if met else "new"
        tail = ago(met, today) if met else "not asked yet"
        bar = max(11, min(31, width - STRAND - 15 - (15 if width >= 60 else 0)))
        spans: list[Span] = [(cell(strand_words(strand.strand), STRAND), "")]
        spans.extend(bar_spans(chance, bar, role))
        spans.append((" " + cell(in_ten(chance.chance), 14), role))
        if width >= STRAND + bar + 1 + 14 + len(tail):
            spans.append((tail, "quiet"))
        lines.append(spans)
    return lines


def bar_spans(chance: Chance, width: int, role: str) -> list[Span]:
    """Draw a staff laid on its side, the range as a heavy line, the chance as a note on it.

    Args:
        chance: What is drawn.
        width: Cells, at least 11.
        role: Its state as a role; ``"new"`` draws the note hollow.
    """
    cells: list[Span] = [("·", "staff")] * width
    for line in LINES:
        cells[_place(line, width)] = ("┆", "staff")
    for x in range(_place(chance.low, width), _place(chance.high, width) + 1):
        cells[x] = ("━", role)
    cells[_place(chance.chance, width)] = ("●" if role != "new" else "○", role)
    return merged(cells)


def curve_section(view: TuneView, width: int) -> list[list[Span]]:
    """Draw the curve and say it in a sentence; nothing for a tune that cannot be asked."""
    if len(view.curve) < 2 or not view.strands:
        return []
    lines = curve_lines(view.curve, width)
    lines.append([])
    lines.extend(wrapped(curve_sentence(view.curve), width, ""))
    return lines


def twins_lines(view: TuneView, width: int) -> list[list[Span]]:
    """Warn of tunes that begin alike, and say where they part."""
    lines: list[list[Span]] = []
    for twin in view.twins:
        parts = f"{twin.part} start"
        if twin.part != twin.other_part:
            parts += f", its {twin.other_part} start"
        text = f"Don't mix with {bare(twin.title)} ({parts}): {parting(twin.parts_at)}."
        lines.extend(wrapped(text, width, ""))
    return lines


def history_lines(history: Sequence[CheckView], width: int, today: date) -> list[list[Span]]:
    """Say what came at the last checks, newest first."""
    if not history:
        return [[("Never asked so far.", "quiet")]]
    lines: list[list[Span]] = []
    for check in history[:MOST_CHECKS]:
        when = cell(ago(check.day, today), 15)
        what = _levels(check)
        if check.hints:
            what += f", after {counted(check.hints, 'hint')}"
        elif check.seconds is not None:
            what += f", {max(1, round(check.seconds))}\N{NO-BREAK SPACE}s"
        rows = wrapped(what, width - 15, "")
        lines.extend(
            [(when if place == 0 else " " * 15, "quiet"), *row] for place, row in enumerate(rows)
        )
    return lines


def _levels(check: CheckView) -> str:
    if check.into:
        return f"on into {bare(check.into)}: {START_WORDS[check.levels[0][1]]}"
    by_words: dict[str, list[str]] = {}
    for strand, level in sorted(check.levels, key=lambda pair: -pair[1]):
        words = (NAME_WORDS if strand == NAME else START_WORDS)[level]
        by_words.setdefault(words, []).append(strand)
    if len(by_words) == 1:
        return next(iter(by_words))
    return "; ".join(f"{', '.join(strands)}: {words}" for words, strands in by_words.items())


def heading(words: str, width: int) -> list[Span]:
    """Head a section: a word and a staff line to the edge."""
    return [(words + " ", "quiet"), ("─" * max(0, width - width_of(words) - 1), "staff")]


def wrapped(text: str, width: int, role: str, indent: int = 0) -> list[list[Span]]:
    """Break ``text`` at blanks into lines of ``width`` cells; a longer word is cut in pieces."""
    room = max(8, width - indent)
    rows: list[str] = []
    for paragraph in text.split("\n"):
        row = ""
        # At plain blanks only: a no-break space holds a number and its unit together.
        for word in filter(None, bare(paragraph).split(" ")):
            for piece in chop_cells(word, room):
                if row and width_of(row) + 1 + width_of(piece) > room:
                    rows.append(row)
                    row = ""
                row += f" {piece}" if row else piece
        rows.append(row)
    return [[(" " * indent + row, role)] for row in rows]


def _place(chance: float, width: int) -> int:
    return min(width - 1, max(0, round(chance * (width - 1))))
