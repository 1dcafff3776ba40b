"""Practice as lines of text: the clock, the tune at hand, its ways, what a way brings."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.practice.journal import entry_facts
from tunememory.practice.work_list import Reason
from tunememory.text import fold
from tunememory.ui.text import Span, bare, cell, hanging, width_of, wrapped
from tunememory.words import ago, counted, minutes_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.music.strings import Tuning
    from tunememory.music.ways.material import Piece
    from tunememory.practice.journal import JournalEntry
    from tunememory.practice.sitting import Minutes
    from tunememory.practice.ways import TuneWay
    from tunememory.practice.work_list import Group, Item, WorkList


_BRIEF = {Reason.DID_NOT_COME: "not there", Reason.DATE: "for the date"}
"""Reasons as they stand beside a title."""

CLOCK = 8
"""Cells of the clock, a blank included."""

NAME = 25
"""Cells of the name of a way, a blank included."""

MOST_WORDS = 6
"""Words of a title in the name of a file."""

NOTHING_WAITS = (
    "Nothing waits to be worked on in this tuning.",
    "",
    "Here come tunes that would not come in the first round,",
    "tunes in learning, those that yesterday's line names,",
    "and tunes for the next date. Press t for any other tune.",
    "The clock counts all the same.",
)


def clock_words(seconds: float) -> str:
    """Write minutes and seconds.

    >>> clock_words(64.7), clock_words(3725)
    ('1:04', '62:05')
    """
    whole = max(0, int(seconds))
    return f"{whole // 60}:{whole % 60:02}"


def clock_line(
    seconds: float, pause_minutes: float, said: str, width: int, *, running: bool
) -> list[Span]:
    """Draw the clock as a note head going along a staff line, a bar line at the pause.

    Args:
        seconds: Counted so far.
        pause_minutes: Where the bar line stands.
        said: What stands behind it.
        width: Cells across.
        running: Whether it counts.
    """
    said = said if running else f"paused · {said}"
    said = cell(said, min(width_of(bare(said)), max(0, width - CLOCK - 12)))
    across = max(0, width - CLOCK - width_of(said) - 2)
    bar = across * 4 // 5
    place = min(across - 1, round(seconds / 60.0 / pause_minutes * bar)) if across else 0
    signs = ["─"] * across
    if bar < across:
        signs[bar] = "┼"
    head: list[Span] = [(cell(clock_words(seconds), CLOCK), "bright" if running else "quiet")]
    if across:
        head += [("".join(signs[:place]), "staff"), ("●" if running else "○", "bright")]
        head.append(("".join(signs[place + 1 :]), "staff"))
    return [*head, ("  ", ""), (said, "quiet")]


def sitting_words(tuning: str, minutes: Minutes, *, head_only: bool) -> str:
    """Say how the sitting is held and what was done today."""
    said = ["in the head" if head_only else "instrument", tuning]
    played, head = minutes_words(minutes.instrument), minutes_words(minutes.head)
    said += [played and f"{played} today", head and f"{head} in the head"]
    return " · ".join(filter(None, said))


class WorkRow(NamedTuple):
    """A tune of the work-list in its group."""

    group: Group
    item: Item

    @property
    def first(self) -> bool:
        """Whether it is the first of its group, which names the root."""
        return self.item is self.group.items[0]


def work_rows(work: WorkList) -> tuple[WorkRow, ...]:
    """Return the work-list one tune a row."""
    return tuple(WorkRow(group, item) for group in work.groups for item in group.items)


def work_spans(row: WorkRow, width: int) -> list[Span]:
    """Write a tune of the work-list, as wide as ``width`` cells at most."""
    item = row.item
    root = cell((row.group.root or "?") if row.first else "", 4)
    why = _BRIEF.get(item.reasons[0], item.reasons[0].value)
    room = width - 4 - len(why) - 1
    if room < min(16, width_of(bare(item.tune.title))):
        why, room = "", width - 4
    return [
        (root, "bright"),
        (cell(item.tune.title, room), ""),
        (f" {why}" if why else "", "quiet"),
    ]


def at_hand_lines(row: WorkRow, tuning: Tuning, width: int) -> list[list[Span]]:
    """Say which tune is at hand, why, and what drones under it."""
    tune = row.item.tune
    facts = " · ".join(filter(None, (tune.key_name, tune.kind)))
    title = cell(tune.title, min(width, width_of(bare(tune.title))))
    why = ", ".join(reason.value for reason in row.item.reasons)
    drone = ""
    if row.group.drone is not None:
        drone = f"drone: the {tuning.long_string_names[row.group.drone]} string"
    return [
        [(title, "strong"), (cell(f"  {facts}", max(0, width - width_of(title))), "quiet")],
        [(cell(" · ".join(filter(None, (why, drone))), width), "quiet")],
    ]


def way_spans(way: TuneWay, today: date, width: int) -> list[Span]:
    """Write a way: a full note was done, a hollow one not yet, and when."""
    if not way.material.possible:
        mark, role, said = "– ", "quiet", "not here"
    elif way.done:
        times = counted(len(way.done), "day") if len(way.done) > 1 else ""
        said = ", ".join(filter(None, (ago(way.done[-1], today), times)))
        mark, role = "● ", ""
    else:
        mark, role, said = "○ ", "", "not yet"
    if way.next:
        mark, role, said = "→ ", "bright", "next" if not way.done else f"next · {said}"
    name = min(NAME, max(8, width - 12))
    return [
        (mark, role),
        (cell(way.way.name, name - 2), role),
        (cell(f" {said}", max(0, width - name)), "bright" if way.next else "quiet"),
    ]


def material_lines(way: TuneWay, width: int) -> list[list[Span]]:
    """Write what a way brings for a tune."""
    material = way.material
    lines = wrapped(material.heading, width, "strong")
    lines += wrapped(way.way.purpose, width, "quiet")
    if material.caution:
        lines += [[], *wrapped(material.caution, width, "fading")]
    if material.lines:
        lines += [[], *([(line, "")] for line in material.lines)]
    return lines


def piece_words(pieces: Sequence[Piece], number: int, *, sounds: bool) -> str:
    """Say which piece of a way is heard with one key.

    ``"♪ 2 of 4 ← → In C: one string lower, the same fingers"``

    Args:
        pieces: All of them, at least one.
        number: Which one, from 0.
        sounds: Whether it is heard just now.
    """
    place = f"{number + 1} of {len(pieces)} ← → " if len(pieces) > 1 else ""
    return f"{'▶' if sounds else '♪'} {place}{pieces[number].label}"


def file_name(title: str, way: str) -> str:
    """Return a name for the file that a way's material is written to.

    >>> file_name("Haste to the [Wedding]!", "scale")
    'haste-to-the-wedding-scale.html'
    """
    words = fold(title).split()[:MOST_WORDS]
    return "-".join([*words, way]) + ".html"


def elsewhere_words(work: WorkList) -> str:
    """Say what waits in other tunings; empty when nothing does."""
    return ", ".join(
        f"{counted(number, 'tune')} waiting in {letters}"
        for letters, number in work.elsewhere.items()
    )


WHEN = 15
"""Cells of the day something was done, a blank included: as beside what came."""

MOST_ENTRIES = 6
"""Entries with words of the player's, or of dates, that are shown on a tune's page."""


def ways_lines(
    ways: Sequence[TuneWay], entries: Sequence[JournalEntry], today: date, width: int
) -> list[list[Span]]:
    """Say which way to try next, which were tried when, and what was written about it.

    Args:
        ways: Every way of working on the tune.
        entries: What was done on it, newest first.
        today: The present practice day.
        width: Cells across.
    """
    lines: list[list[Span]] = []
    for way in ways:
        if way.next:
            what = f"{way.way.name}: {way.way.purpose}"
            lines += hanging(cell("→ next", WHEN), what, width, label_role="bright")
    done = [way for way in ways if way.done]
    for way in sorted(done, key=lambda way: way.done[-1], reverse=True):
        times = f", {counted(len(way.done), 'day')}" if len(way.done) > 1 else ""
        when = cell(ago(way.done[-1], today), WHEN)
        lines += hanging(when, f"{way.way.name}{times}", width)
    telling = [entry for entry in entries if entry.words or entry.played_at]
    for entry in telling[:MOST_ENTRIES]:
        when = cell(ago(entry.day, today), WHEN)
        lines += hanging(when, " · ".join(entry_facts(entry)), width)
    waiting = [
        way.way.name for way in ways if way.material.possible and not way.done and not way.next
    ]
    if waiting:
        lines += hanging(cell("not yet", WHEN), ", ".join(waiting), width, "quiet")
    return lines
