"""A prompt, its hints and its answer as lines of text, and the ladder of levels on a staff."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.music.likeness import parting
from tunememory.recall.check import KEY, Level, Prompt, RoundKind, facts_of, strand_words
from tunememory.recall.state import rated_words
from tunememory.rounds.answer import FIRST_NOTE, name_hint
from tunememory.text import UNICODE, Charset
from tunememory.ui.canvas import SPACES, empty_staff, space_of, space_row, staff_height
from tunememory.ui.library.drawing import picture, start_lines
from tunememory.ui.text import Span, bare, cell, width_of
from tunememory.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.library.starts import StartView
    from tunememory.recall.state import Rated
    from tunememory.rounds.answer import Answer
    from tunememory.rounds.planning import Asked
    from tunememory.rounds.running import RoundSummary


PART = 6
"""Cells before a line of an answer: the strand, and its level once it was rated alone."""

LADDER_WORDS = 24
"""Cells of the level words left of the staff."""

Forms = tuple[str, ...]


def prompt_lines(answer: Answer, width: int, height: int, forms: Forms) -> list[list[Span]]:
    """Return what is asked about: the title, or the start without its title.

    A start asked for by ear is not shown. Of a join it is the title of the tune before.

    Args:
        answer: The prompt and how far it is answered.
        width: Cells across.
        height: Rows there are, at least 1.
        forms: Rows a start is shown in, ``("letters", "fingers")``.
    """
    if answer.asked.prompt is not Prompt.WHAT or answer.start is None:
        rows = title_rows(answer.asked.of.title, width, height)
        return _with_air([[(row, "bright")] for row in rows], height)
    if answer.by_ear:
        return _with_air([[("listen", "bright")], [("p plays it again", "quiet")]][:height], height)
    lines = start_lines(answer.start, width, forms)
    if len(lines) > height:
        lines = start_lines(answer.start, width, forms[:1])
    widest = max((width_of(line) for _, line in lines), default=0)
    shown: list[list[Span]] = [
        [(cell(line, widest), "bright" if form == forms[0] else "quiet")]
        for form, line in lines[:height]
    ]
    return _with_air(shown, height)


def _with_air(lines: list[list[Span]], height: int) -> list[list[Span]]:
    """Put an empty row above where there is one to spare."""
    return [[], *lines] if len(lines) < height else lines


def title_rows(title: str, width: int, height: int) -> list[str]:
    """Break a title at blanks into at most ``height`` rows; the last one is cut if need be."""
    rows = [""]
    for word in bare(title).split():
        longer = f"{rows[-1]} {word}".strip()
        if width_of(longer) <= width or not rows[-1]:
            rows[-1] = longer
        else:
            rows.append(word)
    if len(rows) > height:
        rows = [*rows[: height - 1], " ".join(rows[height - 1 :])]
    return [cell(row, min(width, width_of(row))) for row in rows]


def facts_line(answer: Answer) -> str:
    """Return the small print of a prompt: kind and tuning, never the key."""
    tune = answer.asked.tune
    return " · ".join(fact for fact in (tune.kind, answer.asked.tuning) if fact)


def hint_lines(answer: Answer, width: int, forms: Forms) -> list[list[Span]]:
    """Return what the hints taken so far show."""
    if not answer.hints:
        return []
    tune = answer.asked.tune
    lines: list[list[Span]] = []
    if tune.key is not None:
        lines.append(_line("key", tune.key.name))
    if answer.asked.prompt is Prompt.WHAT:
        if answer.hints >= FIRST_NOTE:
            lines.append(_line("name", name_hint(bare(tune.title), answer.hints)))
    elif answer.start is not None and answer.notes_hinted:
        part = answer.start.part
        lines.extend(_start(answer.start, part, width, forms, answer.notes_hinted))
    return lines


def answer_lines(answer: Answer, width: int, height: int, forms: Forms) -> list[list[Span]]:
    """Return key, starts and twins; letters alone where two rows a start are too many.

    Args:
        answer: The prompt and how far it is answered.
        width: Cells across.
        height: Rows there are; more rows are returned when even letters alone are too many.
        forms: Rows a start is shown in.
    """
    full = _answer(answer, width, forms)
    return full if len(full) <= height else _answer(answer, width, forms[:1])


def _answer(answer: Answer, width: int, forms: Forms) -> list[list[Span]]:
    asked = answer.asked
    before, after = around_starts(answer, width)
    starts: list[list[Span]] = []
    for view in asked.starts:
        rows_of_start = _start(view, _label_text(answer, view.part), width, forms)
        if rows_of_start:
            rows_of_start[0][0] = label_of(answer, view.part)
            starts.extend(rows_of_start)
    if not asked.starts and asked.prompt is Prompt.HOW:
        starts.append([label_of(answer, "A"), ("no start written down; you judge", "quiet")])
    return [*before, *starts, *after]


def around_starts(answer: Answer, width: int) -> tuple[list[list[Span]], list[list[Span]]]:
    """Return what an answer says before its starts, name and facts, and after them, twins."""
    asked = answer.asked
    tune = asked.tune
    before: list[list[Span]] = []
    if asked.prompt is not Prompt.HOW:
        others = " · ".join(tune.titles[1:])
        rows = title_rows(tune.title, max(1, width - PART), 2)
        label = ("next  ", "quiet") if asked.after else label_of(answer, "name")
        before.append([label, (rows[0], "strong")])
        before.extend([(" " * PART, ""), (row, "strong")] for row in rows[1:])
        if others:
            before.append(_line("", cell(f"also {others}", width - PART).rstrip(), "quiet"))
    for strand, told in facts_of(tune).items():
        wrong = [("   began in another key", "fading")] if answer.wrong_key else []
        marked = wrong if strand == KEY else []
        before.append([label_of(answer, strand), (told, "strong"), *marked])
    after = _twins(answer, width)
    if answer.strayed_into[0]:
        after.append([(cell(f"strayed into {answer.strayed_into[1]}", width).rstrip(), "fading")])
    return before, after


def _start(
    view: StartView, label: str, width: int, forms: Forms, notes: int | None = None
) -> list[list[Span]]:
    if not view.letters:
        return [_line(label, "not written down yet", "quiet")]
    lines: list[list[Span]] = []
    for form, line in start_lines(view, max(8, width - PART), forms):
        shown = line if notes is None else _first(line, notes)
        lead = cell(label, PART) if not lines else " " * PART
        lines.append([(lead, "quiet"), (shown, "" if form == forms[0] else "quiet")])
        if notes is not None and len(lines) == len(forms):
            break
    if view.doubt:
        lines.append(_line("", cell(f"doubtful: {view.doubt}", width - PART).rstrip(), "fading"))
    return lines


def _first(line: str, notes: int) -> str:
    """Keep the first notes of a laid-out row, and say that it goes on."""
    found = 0
    inside = False
    for place, sign in enumerate(line):
        begins = sign not in " │" and not inside
        inside = sign not in " │"
        if begins:
            found += 1
            if found > notes:
                return line[:place].rstrip(" │") + " …"
    return line


def _twins(answer: Answer, width: int) -> list[list[Span]]:
    lines: list[list[Span]] = []
    for twin in answer.asked.twins[:2]:
        tail = f", {parting(twin.parts_at)}"
        lead = "Don't mix with "
        room = width - width_of(lead) - width_of(tail)
        title = cell(twin.title, min(room, width_of(bare(twin.title))))
        lines.append([(lead, "fading"), (title, ""), (tail, "fading")])
    return lines


def _label_text(answer: Answer, strand: str) -> str:
    if answer.strand == strand:
        return f"{strand} ?"
    if strand in answer.levels:
        return f"{strand} {int(answer.levels[strand])}"
    return strand


def label_of(answer: Answer, strand: str) -> Span:
    """Return what stands before a strand of an answer: its name, and its level once rated."""
    rated = strand in answer.levels or answer.strand == strand
    return (cell(_label_text(answer, strand), PART), "bright" if rated else "quiet")


def _line(label: str, text: str, role: str = "strong") -> list[Span]:
    return [(cell(label, PART), "quiet"), (text, role)]


def ladder_lines(
    answer: Answer,
    width: int,
    gap: int,
    moved: tuple[float, float] | None,
    marked: Level | None,
    charset: Charset = UNICODE,
) -> list[list[Span]]:
    """Draw the four levels as the spaces of a staff, and how the last tune moved on it.

    Args:
        answer: The prompt; levels stand out once its answer is shown.
        width: Cells across, at least ``LADDER_WORDS`` and 8 more.
        gap: Rows between two staff lines.
        moved: Chance of the tune before, before and after its level.
        marked: The level that Enter gives.
        charset: Signs to draw with.
    """
    across = max(8, width - LADDER_WORDS)
    grid = empty_staff(across, gap, (), charset)
    if moved is not None:
        before, after = moved
        left, right = across // 3, min(across - 1, across // 3 + 6)
        grid.put(left, _space_row(before, gap), charset.ghost, "quiet")
        grid.put(right, _space_row(after, gap), charset.head, space_of(after))
    words: dict[int, list[Span]] = {}
    for place, level in enumerate(sorted(Level, reverse=True)):
        words[space_row(place, gap)] = _rung(answer, level, marked)
    return [[*words.get(y, [(" " * LADDER_WORDS, "")]), *row] for y, row in enumerate(grid.rows())]


def _space_row(chance: float, gap: int) -> int:
    return space_row(len(SPACES) - 1 - SPACES.index(space_of(chance)), gap)


def _rung(answer: Answer, level: Level, marked: Level | None) -> list[Span]:
    live = answer.shown and level <= answer.cap
    here = live and level is marked
    return [
        ("▸ " if here else "  ", "bright"),
        (f"{int(level)}", "bright" if live else "staff"),
        (" ", ""),
        (
            cell(answer.words[level], LADDER_WORDS - 4),
            "strong" if here else "" if live else "staff" if answer.shown else "quiet",
        ),
    ]


def straying_lines(
    choices: Sequence[tuple[str, str, str]], cursor: int, height: int, width: int
) -> list[list[Span]]:
    """Return the part of a list of tunes around the cursor.

    Args:
        choices: Identity, title and a word about each.
        cursor: The one Enter takes.
        height: Rows there are, the heading included; at least 2.
        width: Cells across.
    """
    room = max(1, height - 1)
    first = max(0, min(cursor - room // 2, len(choices) - room))
    lines: list[list[Span]] = [[("Strayed into which tune?", "strong")]]
    for place, (_, title, word) in enumerate(choices[first : first + room], start=first):
        here = place == cursor
        left = cell(title, max(1, width - 4 - width_of(word)))
        lines.append(
            [("▸ " if here else "  ", "bright"), (left, "bright" if here else ""),
             ("  ", ""), (word, "quiet")]
        )  # fmt: skip
    return lines


def pictured_lines(answer: Answer, width: int, forms: Forms, drawn: str) -> list[list[Span]]:
    """Return a prompt or its answer with every start in sight drawn.

    Args:
        answer: The prompt and how far it is answered.
        width: Cells across.
        forms: Rows that hints are shown in.
        drawn: The way starts are seen.

    Returns:
        Lines; none where no start is in sight, or none can be drawn so.
    """
    asked = answer.asked
    if answer.shown:
        pictures = [
            (start, lines)
            for start in asked.starts
            if (lines := picture(start, asked.tune, drawn, width))
        ]
        if not pictures:
            return []
        before, after = around_starts(answer, width)
        starts: list[list[Span]] = []
        for start, lines in pictures:
            if starts:
                starts.append([])
            starts += [[label_of(answer, start.part)], *lines]
        return [*before, *starts, *after]
    if asked.prompt is not Prompt.WHAT or answer.start is None or answer.by_ear:
        return []
    # A signature would name the key, which is a hint: signs stand before their notes instead.
    start = replace(answer.start, start=replace(answer.start.start, key=None))
    lines = picture(start, replace(asked.tune, key=None), drawn, width)
    return [*lines, *hint_lines(answer, width, forms)] if lines else []


def pictured_page(
    answer: Answer, lines: Sequence[list[Span]], said: list[Span], width: int, height: int
) -> list[list[Span]]:
    """Put drawn starts on a page of their own: what is asked, they, the marked level and words.

    Args:
        answer: The prompt.
        lines: What there is room for of ``pictured_lines``.
        said: The line of words at the bottom.
        width: Cells across.
        height: Rows.
    """
    asked = answer.asked
    title = asked.prompt.value if asked.prompt is Prompt.WHAT else asked.of.title
    head = cell(title, width - 4).rstrip()
    page: list[list[Span]] = [
        [(" " * ((width - width_of(head)) // 2), ""), (head, "bright")],
        *([("  ", ""), *line] for line in lines),
    ]
    page.extend([] for _ in range(height - 1 - len(page)))
    page.append([("  ", ""), *said])
    return page


def room(height: int) -> int:
    """Rows for drawn starts on a page of their own."""
    return max(1, height - 2)


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


AIRY = 4
"""Rows above the question from which one is left empty below it too."""


@dataclass(frozen=True, slots=True)
class Frame:
    """How the rows of a window are shared out in a round.

    Attributes:
        width: Cells across.
        height: Rows.
        above: Rows down to the question, its own included; none leaves the question out.
        asked: Rows of the title or the start asked about.
        facts: Whether there is a row of small print.
        gap: Rows between the staff lines of the ladder.
        left: Cells left of answer and words.
        right: Cells right of them.
        below: Empty rows below the last line of words.
    """

    width: int
    height: int
    above: int
    asked: int
    facts: bool
    gap: int
    left: int
    right: int
    below: int

    @property
    def top(self) -> int:
        """Rows down to the answer, the empty one before it included."""
        question = self.above + (self.above >= AIRY)
        return question + self.asked + self.facts + (self.below > 0)

    @property
    def across(self) -> int:
        """Cells for the answer, or the line of words."""
        return self.width - self.left - self.right

    @property
    def ladder(self) -> int:
        """Row at which the ladder begins."""
        return self.height - self.below - 1 - staff_height(self.gap)

    @property
    def room(self) -> int:
        """Rows left for the answer."""
        return max(1, self.ladder - self.top)


def frame_for(width: int, height: int) -> Frame:
    """Return the shares of a window without its head and key lines.

    Args:
        width: Cells across.
        height: Rows; 22 of a window of 24.
    """
    left, right = (18, 18) if width >= 110 else (6, 6) if width >= 80 and height >= 22 else (2, 2)
    if height < 16:
        above, asked, gap, below = 0, 1, 0, 0
    elif height < 22:
        above, asked, gap, below = 1, 3, 0, 0
    elif height < 30:
        above, asked, gap, below = 2, 3, 0, 1
    else:
        above, asked, gap, below = 5, 4, 1, 1
    return Frame(width, height, above, asked, height >= 16, gap, left, right, below)


def round_page(
    answer: Answer,
    lines: Sequence[list[Span]],
    ladder: Sequence[list[Span]],
    said: list[Span],
    frame: Frame,
    forms: Forms,
) -> list[list[Span]]:
    """Put the parts of a round on a page.

    Args:
        answer: The prompt and how far it is answered.
        lines: What there is room for of hints, answer or list, from ``hint_lines``,
            ``answer_lines`` or ``straying_lines``.
        ladder: From ``ladder_lines``.
        said: The line of words at the bottom.
        frame: How the rows are shared out.
        forms: Rows a start is shown in.
    """
    width = frame.width
    page: list[list[Span]] = []
    if frame.above:
        page.extend([] for _ in range(frame.above - 1))
        page.append(centred([(question(answer), "quiet")], width))
        page.extend([] for _ in range(frame.above >= AIRY))
    asked = prompt_lines(answer, width - 4, frame.asked, forms)
    page.extend(centred(row, width) for row in asked)
    page.extend([] for _ in range(frame.asked - len(asked)))
    if frame.facts:
        page.append(centred([(facts_line(answer), "quiet")], width))
    page.extend([] for _ in range(frame.below > 0))
    indent = (" " * frame.left, "")
    page.extend([indent, *row] for row in lines)
    page.extend([] for _ in range(frame.room - len(lines)))
    page = page[: max(0, frame.ladder)]
    page.extend([(" " * (frame.left - 2), ""), *row] for row in ladder)
    page.append([indent, *said])
    return page


def question(answer: Answer) -> str:
    """Return the question and what is asked for, ``"How does it go?  key, A start"``."""
    if answer.asked.prompt is not Prompt.HOW:
        return answer.asked.prompt.value
    strands = ", ".join(strand_words(strand) for strand in answer.asked.strands)
    return f"{Prompt.HOW.value}  {strands}"


def centred(row: list[Span], width: int) -> list[Span]:
    """Put a row in the middle of ``width`` cells; one that is too wide is cut."""
    taken = sum(width_of(text) for text, _ in row)
    if taken > width:
        text, role = row[0]
        return [(cell(text, width), role)]
    return [(" " * ((width - taken) // 2), ""), *row]


ROUND_NAMES = {
    RoundKind.FIRST: "First round",
    RoundKind.LAST: "Last round",
    RoundKind.LOOSE: "Loose round",
}

_AFTER = {
    RoundKind.FIRST: "What would not come is asked once more in the last round.",
    RoundKind.LAST: "That was today's last round.",
    RoundKind.LOOSE: "What would not come is asked again on another day.",
}


def summary_lines(
    summary: RoundSummary, kind: RoundKind, width: int, height: int, left: int = 0
) -> list[list[Span]]:
    """Return the end of a round as lines.

    Args:
        summary: What came of it.
        kind: Which round it was.
        width: Cells across.
        height: Rows there are; names that do not fit are counted.
        left: Prompts that were not asked because the player stopped.
    """
    name = ROUND_NAMES.get(kind, "Round")
    if not summary.asked:
        return [[(f"{name}: nothing was asked.", "strong")]]
    lines: list[list[Span]] = [
        [(f"{name} stopped here; every level is kept." if left else f"{name} done.", "bright")],
        [],
    ]
    failed = summary.would_not_come
    room = max(2, height - len(lines) - 5)
    shown = min(len(failed), max(1, room - 2)) if failed else 0
    if failed:
        lines.append([("Would not come", "strong")])
        lines.extend([("  ", ""), (_cut(title, width - 2), "")] for title in failed[:shown])
        if len(failed) > shown:
            lines.append([(f"  and {counted(len(failed) - shown, 'more', 'more')}", "quiet")])
        lines.append([])
    if summary.came:
        lines.append([("Came", "strong")])
        left = max(1, room - (shown + 2 if failed else 0))
        lines.extend(_flowing(summary.came, width, left))
        lines.append([])
    if failed:
        lines.append([(_AFTER.get(kind, ""), "quiet")])
    return lines


def _cut(title: str, width: int) -> str:
    return cell(title, max(1, min(width, width_of(bare(title)))))


def _flowing(titles: tuple[str, ...], width: int, most: int) -> list[list[Span]]:
    """Write titles one after the other, in at most ``most`` rows."""
    rows: list[str] = [""]
    for place, title in enumerate(titles):
        shown = _cut(title, width - 4)
        longer = f"{rows[-1]} · {shown}" if rows[-1] else shown
        if width_of(longer) <= width - 2:
            rows[-1] = longer
        elif len(rows) < most:
            rows.append(shown)
        else:
            rest = f" and {counted(len(titles) - place, 'more', 'more')}"
            rows[-1] = cell(rows[-1], min(width_of(rows[-1]), width - 2 - len(rest))) + rest
            break
    return [[("  ", ""), (row, "quiet")] for row in rows]
