"""What came of an import, as lines of text."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from tunememory.tunes.tune import Status
from tunememory.ui.drawing_tune import heading, wrapped
from tunememory.ui.words import counted, figures

if TYPE_CHECKING:
    from tunememory.service.views import ImportReport
    from tunememory.ui.text import Span


def report_sentence(report: ImportReport) -> str:
    """Say what came of it in one sentence.

    >>> from tunememory.service.views import ImportReport
    >>> report_sentence(ImportReport(taken=2, unchanged=1))
    '2 tunes taken, 1 unchanged.'
    """
    parts = [f"{counted(report.taken, 'tune')} taken"]
    for number, word in (
        (report.unchanged, "unchanged"),
        (report.changed, "changed"),
        (len(report.refused), "refused"),
    ):
        if number:
            parts.append(f"{number} {word}")
    if report.doubtful:
        # One tune may be doubtful for several reasons.
        parts.append(counted(len(report.doubtful), "doubt"))
    return ", ".join(parts) + "."


def came_in_as(report: ImportReport, status: Status | None) -> list[str]:
    """Say what the tunes taken came in as, in one sentence; nothing when none was.

    Args:
        report: What came of the import.
        status: What the player asked for; ``None`` left it to the size of the book.

    >>> from tunememory.service.views import ImportReport
    >>> came_in_as(ImportReport(taken=61, wanted=61), None)
    ['They came in as wanted: not asked until you learn them.']
    """
    if not report.taken:
        return []
    if report.wanted:
        some = "They" if report.wanted == report.taken else f"{figures(report.wanted)} of them"
        return [f"{some} came in as wanted: not asked until you learn them."]
    word = "in learning" if status is Status.LEARNING else "kept"
    return [f"They came in as {word}."]


def report_lines(report: ImportReport, width: int) -> list[list[Span]]:
    """Write what was refused and what is doubtful, each with its reason.

    A reason that several tunes share is written once, over their titles; the commonest is first.
    """
    lines: list[list[Span]] = []
    if report.refused:
        lines.append(heading("refused", width))
        for refused in report.refused:
            where = f"line {refused.line}" if refused.line else PurePath(refused.file).name
            lines.extend(_item(where, refused.why, width))
    if report.doubtful:
        if lines:
            lines.append([])
        lines.append(heading("taken, but doubtful", width))
        titles: dict[str, list[str]] = {}
        for title, why in report.doubtful:
            titles.setdefault(why, []).append(title)
        for why, those in sorted(titles.items(), key=lambda pair: -len(pair[1])):
            if len(those) == 1:
                lines.extend(_item(those[0], why, width))
            else:
                lines.extend(wrapped(f"{counted(len(those), 'tune')}: {why}", width, ""))
                for title in those:
                    lines.extend(wrapped(title, width, "quiet", indent=4))
    return lines


def _item(what: str, why: str, width: int) -> list[list[Span]]:
    return [*wrapped(what, width, ""), *wrapped(why, width, "quiet", indent=4)]
