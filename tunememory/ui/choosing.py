"""Which tunes a list shows and in what order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from tunememory.service.views import State, TuneRow
from tunememory.tunes.text import fold
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Callable

_Word = TypeVar("_Word", State, Status)


class Order(StrEnum):
    """What the list is sorted by."""

    NAME = "name"
    KEY = "key"
    KIND = "kind"
    CHANCE = "chance"
    TUNING = "tuning"


_FACTS: dict[Order, Callable[[TuneRow], str]] = {
    Order.KEY: lambda row: row.key,
    Order.KIND: lambda row: row.kind,
    Order.TUNING: lambda row: row.tuning,
}

STATES = (State.FADING, State.RUSTY, State.LOST, State.NOT_ASKED, State.SAFE)
"""The states in the order a list is narrowed to them: what wants looking at comes first."""

STATUSES = (Status.LEARNING, Status.WANTED, Status.RESTING, Status.KEPT)
"""The same for what the player says."""


@dataclass(frozen=True, slots=True)
class Shown:
    """Which tunes are in sight and in what order.

    Attributes:
        words: Each must begin a word of one of the tune's titles.
        order: What they are sorted by; equal ones stay in title order.
        backwards: The other way round.
        state: Only tunes in this state, or ``None`` for all.
        status: Only tunes the player gave this status, or ``None`` for all.
    """

    words: str = ""
    order: Order = Order.NAME
    backwards: bool = False
    state: State | None = None
    status: Status | None = None

    @property
    def narrowed(self) -> bool:
        """Whether some tunes may be out of sight."""
        return bool(fold(self.words)) or self.state is not None or self.status is not None

    def next_state(self) -> Shown:
        """The same with the next state, all of them after the last."""
        return replace(self, state=_after(self.state, STATES))

    def next_status(self) -> Shown:
        """The same with the next status, all of them after the last."""
        return replace(self, status=_after(self.status, STATUSES))

    def next_order(self) -> Shown:
        """The same sorted by the next thing."""
        orders = tuple(Order)
        place = orders.index(self.order) + 1
        return replace(self, order=orders[place % len(orders)], backwards=False)


def choose(rows: tuple[TuneRow, ...], shown: Shown) -> tuple[TuneRow, ...]:
    """Return the rows that ``shown`` lets through, in its order.

    Args:
        rows: All tunes, in title order.
        shown: The filter and the order.
    """
    wanted = [f" {word}" for word in fold(shown.words).split()]
    kept = [
        row
        for row in rows
        if (shown.state is None or _state_shown(row) is shown.state)
        and (shown.status is None or row.status is shown.status)
        and all(word in f" {row.folded}" for word in wanted)
    ]
    if shown.order is Order.CHANCE:
        had = [row for row in kept if row.status is not Status.WANTED]
        had.sort(key=lambda row: row.chance.chance, reverse=shown.backwards)
        return (*had, *(row for row in kept if row.status is Status.WANTED))
    if shown.order is Order.NAME:
        return tuple(reversed(kept) if shown.backwards else kept)
    fact = _FACTS[shown.order]
    # What is not known comes last, whichever way the rest goes.
    known = sorted((row for row in kept if fact(row)), key=fact, reverse=shown.backwards)
    return (*known, *(row for row in kept if not fact(row)))


def _state_shown(row: TuneRow) -> State | None:
    """State of a tune that is asked; a resting or wanted one has none to show."""
    return row.chance.state if row.status in {Status.KEPT, Status.LEARNING} else None


def _after(now: _Word | None, words: tuple[_Word, ...]) -> _Word | None:
    place = 0 if now is None else words.index(now) + 1
    return words[place] if place < len(words) else None
