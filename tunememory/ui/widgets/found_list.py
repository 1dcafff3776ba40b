"""What was found: by name or by notes, one tune a line, and the part that answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.parting import parting
from tunememory.ui.text import cell, width_of
from tunememory.ui.widgets.row_list import RowList
from tunememory.ui.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.service.views import Draft, FoundView, Glance, TuneRow
    from tunememory.tunes.tune import Tune
    from tunememory.ui.text import Span


_ROOMY = 72
"""Cells from which it is said when a tune was met."""


@dataclass(frozen=True, slots=True)
class Found:
    """One answer.

    Attributes:
        title: What is written.
        why: What of it answers: ``"name"``, ``"A start, exactly"``.
        facts: Kind and key.
        tune: Identity of the tune; empty for an offer.
        part: The part that answers; empty for a name.
        draft: What an offer puts into the form of a new tune.
    """

    title: str
    why: str
    facts: str = ""
    tune: str = ""
    part: str = ""
    draft: Draft | None = None


def by_name(row: TuneRow) -> Found:
    """Return a tune found by its name."""
    facts = " ".join(fact for fact in (row.key, row.kind) if fact)
    return Found(row.title, "name", facts, row.uuid)


def by_notes(view: FoundView, tune: Tune) -> Found:
    """Return a tune found by its notes."""
    slips = round(view.distance)
    near = "exactly" if view.distance == 0 else "nearly"
    if slips:
        near = f"{counted(slips, 'note')} off"
    facts = (tune.key.short if tune.key else "", tune.kind)
    return Found(
        view.title,
        f"{view.part} start, {near}",
        " ".join(fact for fact in facts if fact),
        view.tune,
        view.part,
    )


def glance_lines(glance: Glance, today: date, width: int) -> list[list[Span]]:
    """Say on two lines what is needed at once: key, tuning, first notes; then the twins.

    Args:
        glance: What is known of the tune.
        today: The present practice day.
        width: Cells across.
    """
    first = f"{glance.part} start:" if glance.first else "no start written down"
    # In a narrow window the first notes are more use than when it was met.
    met = _met(glance.met, today) if width >= _ROOMY else ""
    facts = " · ".join(filter(None, (glance.key or "key not known", glance.tuning, met, first)))
    spans: list[Span] = [(facts, "quiet")]
    if glance.first:
        spans.append((f" {cell(glance.first, width - width_of(facts) - 1).rstrip()}", ""))
    twins = "; ".join(f"{twin.title}: {parting(twin.parts_at)}" for twin in glance.twins)
    warning = cell(f"Don't mix with {twins}", width).rstrip() if twins else ""
    return [spans, [(warning, "quiet")]]


def _met(day: date | None, today: date) -> str:
    return f"met {ago(day, today)}" if day else "not met yet"


class FoundList(RowList[Found]):
    """Answers, best first."""

    def spans(self, row: Found, width: int) -> Sequence[Span]:
        """Write one answer in ``width`` cells."""
        if row.draft is not None:
            return [("+ ", "accent"), (cell(row.title, width - 2), "")]
        why = 20 if width >= 44 else 0
        facts = 18 if width >= 68 else 0
        spans: list[Span] = [(cell(row.title, width - why - facts), "")]
        if facts:
            spans.append((" " + cell(row.facts, facts - 1), "quiet"))
        if why:
            spans.append((" " + cell(row.why, why - 1), "quiet"))
        return spans
