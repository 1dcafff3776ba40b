"""Sets as lines: how one stands, its tunes and the joins between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.chance_words import in_ten
from tunememory.tunes.check import START_WORDS
from tunememory.ui.drawing_memory import space_of
from tunememory.ui.text import cell, width_of
from tunememory.ui.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.service.date_views import JoinView, SetTune, SetView
    from tunememory.tunes.check import Level
    from tunememory.ui.text import Span


class SetRow(NamedTuple):
    """A line of a set's page: a tune, or the join after it.

    Attributes:
        place: Of the tune in the set; of a join that of the tune before it.
        tune: The tune, ``None`` for a join.
        join: The join, ``None`` for a tune.
    """

    place: int
    tune: SetTune | None = None
    join: JoinView | None = None


def set_rows(view: SetView) -> tuple[SetRow, ...]:
    """Return tunes and joins in turn."""
    rows: list[SetRow] = []
    for place, tune in enumerate(view.tunes):
        rows.append(SetRow(place, tune=tune))
        if place < len(view.joins):
            rows.append(SetRow(place, join=view.joins[place]))
    return tuple(rows)


def set_spans(view: SetView, width: int) -> list[Span]:
    """Write a set in one line: its name, how many tunes, ready or what holds it back."""
    number = counted(len(view.tunes), "tune")
    words = max(10, min(40, width * 9 // 20))
    said = "ready" if view.ready else f"not yet: {view.weakest}"
    if width_of(said) >= words:
        said = view.weakest
    name = max(8, width - words - 9)
    return [
        (cell(view.name, name), ""),
        (cell(f" {number}", 9), "quiet"),
        (cell(f" {said}", words), "strong" if view.ready else space_of(view.chance)),
    ]


def set_row_spans(row: SetRow, today: date, width: int) -> list[Span]:
    """Write a tune or a join of a set; a join with how it came last."""
    words = 15
    if row.tune is not None:
        tune = row.tune
        title = max(8, width - words - 4 - 7)
        return [
            (f"{row.place + 1:>2}  ", "quiet"),
            (cell(tune.title, title), "strong"),
            (cell(f" {tune.key}", 7), "quiet"),
            (cell(f" {in_ten(tune.chance)}", words), space_of(tune.chance)),
        ]
    if row.join is None:
        return []
    chance = row.join.chance
    said = "not asked yet" if chance is None else in_ten(chance)
    room = max(8, width - words - 4)
    asked = row.join.asked
    into = f"│ and on into · {came_words(asked[:1], today)}" if asked else "│ and on into"
    return [
        ("    ", ""),
        (cell(into, room), "staff"),
        (cell(f" {said}", words), "quiet" if chance is None else space_of(chance)),
    ]


def came_words(asked: Sequence[tuple[date, Level]], today: date) -> str:
    """Say when a join was asked and how it came, newest first."""
    return "; ".join(f"{ago(day, today)}: {START_WORDS[level]}" for day, level in asked)


def join_words(join: JoinView, today: date) -> str:
    """Say how a join came at its last checks."""
    if not join.asked:
        return f"{join.first} into {join.second}: not asked yet; rounds ask it like a start."
    return f"{join.first} into {join.second}. {came_words(join.asked, today).capitalize()}."


def standing_words(view: SetView) -> str:
    """Say how a set stands: as well as its weakest tune or join."""
    if view.ready:
        return "Ready: every tune and every join would come."
    return f"Not yet. What holds it back: {view.weakest}."
