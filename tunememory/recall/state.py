"""States of memory, and chances in plain words: never more precise than what is known."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


SAFE, FADING, RUSTY = 0.8, 0.5, 0.2
"""Chances from which a tune or strand is safe, fading, rusty; below it is lost."""

RANGE = 0.8
"""How often a range that is shown holds what it is about."""


class State(StrEnum):
    """What the memory model says of a tune or strand."""

    SAFE = "safe"
    FADING = "fading"
    RUSTY = "rusty"
    LOST = "lost"
    NOT_ASKED = "not asked yet"


def state_of(chance: float) -> State:
    """Return the state of what was asked and has this chance.

    >>> state_of(0.8).value, state_of(0.3).value
    ('safe', 'rusty')
    """
    if chance >= SAFE:
        return State.SAFE
    if chance >= FADING:
        return State.FADING
    return State.RUSTY if chance >= RUSTY else State.LOST


@dataclass(frozen=True, slots=True)
class Chance:
    """Chance of a level of 3 or 4 now, 0 to 1, with a range that holds it 8 times in 10."""

    chance: float
    low: float
    high: float
    state: State
    last_checked: datetime | None = None


@dataclass(frozen=True, slots=True)
class Rated:
    """What a check did to the chance of what it asked for, 0 to 1.

    Attributes:
        before: The chance before it.
        after: The chance a day after it.
        week: The chance a week after it.
    """

    before: float
    after: float
    week: float


def in_ten(chance: float, *, brief: bool = False) -> str:
    """Say a chance in tenths.

    >>> in_ten(0.62), in_ten(0.97), in_ten(0.01)
    ('about 6 in 10', 'over 9 in 10', 'under 1 in 10')
    >>> in_ten(0.62, brief=True), in_ten(0.97, brief=True)
    ('~6 in 10', '>9 in 10')
    """
    if chance >= 0.95:
        words = "over 9 in 10"
    elif chance < 0.05:
        words = "under 1 in 10"
    else:
        words = f"about {max(1, round(chance * 10))} in 10"
    if brief:
        for word, sign in (("about ", "~"), ("over ", ">"), ("under ", "<")):
            words = words.replace(word, sign)
    return words


def rated_words(rated: Rated, *, brief: bool = False) -> str:
    """Say what a check did: the week is said too, as seeing the answer helps for a day or two.

    >>> rated_words(Rated(0.3, 0.9, 0.6))
    'was about 3 in 10, tomorrow about 9, in a week about 6.'
    >>> rated_words(Rated(0.3, 0.9, 0.6), brief=True)
    'was ~3/10, tomorrow ~9, in a week ~6.'
    """
    was, *later = (in_ten(c, brief=brief) for c in (rated.before, rated.after, rated.week))
    if {*later} == {was}:
        return f"{was}, as before."
    tomorrow, week = (words.removesuffix(" in 10") for words in later)
    if brief:
        was = was.replace(" in ", "/")
    return f"was {was}, tomorrow {tomorrow}, in a week {week}."
