"""What came of an import, as lines of text."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from tunememory.ui.drawing_tune import heading, wrapped
from tunememory.ui.words import counted

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
        (len(report.doubtful), "doubtful"),
        (len(report.refused), "refused"),
    ):
        if number:
            parts.append(f"{number} {word}")
    return ", ".join(parts) + "."


def report_lines(report: ImportReport, width: int) -> list[list[Span]]:
    """Write what was refused and what is doubtful, each with its reason."""
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
        for title, why in report.doubtful:
            lines.extend(_item(title, why, width))
    return lines


def _item(what: str, why: str, width: int) -> list[list[Span]]:
    return [*wrapped(what, width, ""), *wrapped(why, width, "quiet", indent=4)]
