"""A tune's page as lines of text: what it is, how it starts, how well it is remembered."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from tunememory.music.forms import aligned
from tunememory.music.likeness import parting
from tunememory.music.staff import draw_staff
from tunememory.recall.check import NAME, NAME_WORDS, START_WORDS, strand_words
from tunememory.recall.state import in_ten
from tunememory.ui.canvas import LINES, curve_lines, curve_sentence, merged, space_of
from tunememory.ui.text import bare, cell, hanging, width_of, wrapped
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from tunememory.library.overview import CheckView, TuneView
    from tunememory.library.starts import StartView
    from tunememory.music.key import Key
    from tunememory.music.tune import Tune
    from tunememory.recall.state import Chance
    from tunememory.ui.text import Span


FORMS = ("letters", "steps", "fingers")
"""The rows a start can be written in, from top to bottom."""


def start_lines(
    view: StartView, width: int, forms: Sequence[str] = ("letters", "fingers")
) -> list[tuple[str, str]]:
    """Lay a start out in rows that are aligned note by note, with bar lines.

    Args:
        view: The start.
        width: Cells to keep within; a single note wider than that is let stand.
        forms: Which of ``FORMS`` to write, top row first; letters where it has none of them.

    Returns:
        ``(form, line)`` pairs; no line for a start with no notes.
    """
    rows = {"letters": view.letters, "steps": view.steps, "fingers": view.fingers}
    shown = {form: rows[form] for form in forms if rows[form]}
    return aligned(shown or {"letters": view.letters}, view.bars, width)


_LINES = frozenset("─│┬┴┼├╯╭╮┤╰")
"""What the staff, the stems and the clef are drawn with: quieter than the notes."""


def staff_lines(view: StartView, key: Key | None, metre: str, width: int) -> list[list[Span]]:
    """Draw a start as a reader of music would see it, broken at bar lines where it must be.

    Args:
        view: The start.
        key: The tune's key, for the signature; the part's own key goes before it.
        metre: As in ABC ``M:``.
        width: Cells to keep within.

    Returns:
        Lines of spans; none for a start without notes.
    """
    if not view.letters:
        return []
    below = [names for names in (view.letters, view.fingers) if names]
    room = [max(map(len, names)) for names in zip(*below, strict=True)]
    lines: list[list[Span]] = []
    for staff in draw_staff(view.start, key, metre, width=width, room=room):
        lines.extend(inked(row) for row in staff.rows)
        lines.append([(staff.labelled(view.letters), "")])
        if view.fingers:
            lines.append([(staff.labelled(view.fingers), "quiet")])
    return lines


def inked(row: str) -> list[Span]:
    """Return a drawn row, its lines quieter than its notes."""
    return [
        ("".join(signs), "staff" if line else "strong")
        for line, signs in groupby(row, key=lambda sign: sign in _LINES)
    ]


_LETTERS = "letters"
_BLANK_BAR = (" ", "  ")


def strings_lines(view: StartView, width: int) -> list[list[Span]]:
    """Draw a start as lines for the strings, the highest on top, its letters beneath.

    A note out of reach has its letter in brackets.

    Args:
        view: The start.
        width: Cells to keep within.

    Returns:
        Lines of spans; none for a start without notes, or where there are no strings.
    """
    on = view.strings
    if on is None or not view.letters:
        return []
    names = on.strings.string_names
    from_top = sorted(range(len(names)), key=on.strings.strings.__getitem__, reverse=True)
    rows = {
        str(string): [
            mark if place is not None and place.string == string else "─"
            for place, mark in zip(on.places, on.marks, strict=True)
        ]
        for string in from_top
    }
    bars = dict.fromkeys(rows, ("─", "┼─"))
    bars[str(from_top[0])] = ("─", "┬─")
    bars[str(from_top[-1])] = ("─", "┴─")
    rows[_LETTERS] = [
        letter if place is not None else f"({letter})"
        for letter, place in zip(view.letters, on.places, strict=True)
    ]
    label = max(map(len, names)) + 1
    lines: list[list[Span]] = []
    # A line begins before its first note and goes on after its last one.
    laid_out = aligned(rows, view.bars, width - label - 2, {**bars, _LETTERS: _BLANK_BAR})
    for place, (name, row) in enumerate(laid_out):
        if name == _LETTERS:
            lines.append([(" " * (label + 1) + row, "")])
            continue
        if place and place % len(rows) == 0:
            lines.append([])
        lines.append([(names[int(name)].ljust(label), "quiet"), *inked("─" + row)])
    if None in on.places:
        lines.append([("In brackets: out of reach of the hand.", "quiet")])
    return lines


LETTERS, STAFF, STRINGS = DRAWN = ("letters", "staff", "strings")
"""Ways a start can be seen, in the order a key goes through them."""


def next_drawn(drawn: str, starts: Iterable[StartView]) -> str:
    """Return the way after ``drawn``; strings only where a start has some."""
    stringed = any(start.strings for start in starts)
    ways = [way for way in DRAWN if way != STRINGS or stringed]
    return ways[(ways.index(drawn) + 1) % len(ways)] if drawn in ways else LETTERS


def picture(start: StartView, tune: Tune, drawn: str, width: int) -> list[list[Span]]:
    """Draw a start of ``tune``; no lines for one in letters, or with nothing to be drawn."""
    if drawn == STAFF:
        return staff_lines(start, tune.key, start.start.metre_in(tune.metre), width)
    return strings_lines(start, width) if drawn == STRINGS else []


STRAND = 10
"""Cells of a strand's name, a blank included."""

INDENT = 4
"""Cells before the notes of a start: room for the name of its part."""

MOST_CHECKS = 12
"""Past checks shown."""


def facts_lines(view: TuneView, width: int) -> list[list[Span]]:
    """Say what the tune is: kind, key, metre, tuning, status, other names, where from."""
    tune = view.tune
    facts = [tune.kind, tune.key_name, tune.metre]
    if tune.tuning is not None:
        facts.append(f"{tune.tuning.letters} {tune.tuning.nickname}".strip())
    facts.append(tune.status.value)
    if tune.favourite:
        facts.append("a favourite")
    lines = wrapped(" · ".join(fact for fact in facts if fact), width)
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
            (past.check.day for past in view.history if strand.strand in dict(past.check.levels)),
            None,
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
    lines.extend(wrapped(curve_sentence(view.curve), width))
    return lines


def twins_lines(view: TuneView, width: int) -> list[list[Span]]:
    """Warn of tunes that begin alike, and say where they part."""
    lines: list[list[Span]] = []
    for twin in view.twins:
        parts = f"{twin.part} start"
        if twin.part != twin.other_part:
            parts += f", its {twin.other_part} start"
        text = f"Don't mix with {bare(twin.title)} ({parts}): {parting(twin.parts_at)}."
        lines.extend(wrapped(text, width))
    return lines


def history_lines(history: Sequence[CheckView], width: int, today: date) -> list[list[Span]]:
    """Say what came at the last checks, newest first."""
    if not history:
        return [[("Never asked so far.", "quiet")]]
    lines: list[list[Span]] = []
    for past in history[:MOST_CHECKS]:
        check = past.check
        when = cell(ago(check.day, today), 15)
        what = _levels(past)
        if check.hints:
            what += f", after {counted(check.hints, 'hint')}"
        elif check.seconds is not None:
            what += f", {max(1, round(check.seconds))}\N{NO-BREAK SPACE}s"
        lines += hanging(when, what, width)
    return lines


def _levels(past: CheckView) -> str:
    check = past.check
    if past.into:
        return f"on into {bare(past.into)}: {START_WORDS[check.levels[0][1]]}"
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


def _place(chance: float, width: int) -> int:
    return min(width - 1, max(0, round(chance * (width - 1))))
