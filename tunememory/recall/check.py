"""What is asked about a tune and what came: strands, prompts, levels, checks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.music.tune import Status, Tune

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime


KEY = "key"
NAME = "name"
NAMED = (KEY, NAME)
"""Strands other than a part's start, in the order of their columns; a new one comes last.

A start's strand is its part letter (``"A"``).
"""

_FACTS: dict[str, Callable[[Tune], str]] = {KEY: lambda tune: tune.key_name}
"""What is asked of a tune as one fact, in the order asked, with the answer; empty: not known."""

_JOIN = "join "


class Prompt(StrEnum):
    """The ways of asking: for a tune's strands, for its name, for what follows it in a set."""

    HOW = "How does it go?"
    WHAT = "What's this one?"
    JOIN = "What comes after it, and how does that start?"


class Level(IntEnum):
    """Self-rating of one answered prompt."""

    SIT_OUT = 1
    JOIN_IN = 2
    FIND = 3
    KICK_OFF = 4


START_WORDS = {
    Level.KICK_OFF: "would kick it off",
    Level.FIND: "would find it",
    Level.JOIN_IN: "would join in",
    Level.SIT_OUT: "would sit it out",
}
NAME_WORDS = {
    Level.KICK_OFF: "named it",
    Level.FIND: "came to me",
    Level.JOIN_IN: "with a nudge",
    Level.SIT_OUT: "no name",
}
"""Words of the levels, for starts and for names."""

HINT_CAP = Level.JOIN_IN
"""Highest level once a hint was shown."""


class RoundKind(StrEnum):
    """Where a check was made."""

    FIRST = "first"
    LAST = "last"
    LOOSE = "loose"
    AWAY = "away"


@dataclass(frozen=True, slots=True)
class Check:
    """One answered prompt. The append-only history is made of these.

    Attributes:
        uuid: Random identity.
        tune: Identity of the tune asked.
        at: Moment of the rating, aware, UTC.
        day: Practice day, fixed when the rating was given.
        round_kind: First, last or loose round, or away from the screen.
        prompt: Which way it was asked.
        levels: ``(strand, level)`` pairs, facts first, then parts in order, then name.
        seconds: From the prompt shown to "I have it"; ``None`` when not measured.
        hints: Steps of hint shown, 0 to 4.
        wrong_key: It began in another key.
        strayed_into: Identity of the tune it turned into, or empty.
        round_uuid: The round it belongs to, or empty.
    """

    uuid: str
    tune: str
    at: datetime
    day: date
    round_kind: RoundKind
    prompt: Prompt
    levels: tuple[tuple[str, Level], ...]
    seconds: float | None = None
    hints: int = 0
    wrong_key: bool = False
    strayed_into: str = ""
    round_uuid: str = ""


def join_to(after: str) -> str:
    """Return the strand of a tune that is its join to the tune of identity ``after``.

    The same two tunes in the same order have one join, whatever sets they stand in.
    """
    return _JOIN + after


def joined_by(strand: str) -> str:
    """Return the identity of the tune that a join leads to, empty for any other strand."""
    return strand.removeprefix(_JOIN) if strand.startswith(_JOIN) else ""


def strand_words(strand: str) -> str:
    """Name a strand as it is called: ``"key"``, ``"name"``, ``"A start"``, ``"join"``.

    Empty for none.
    """
    if joined_by(strand):
        return "join"
    return strand if strand in {*NAMED, ""} else f"{strand} start"


def strands_of(tune: Tune) -> tuple[str, ...]:
    """Strands that can be asked of ``tune``: its facts (the key), parts in order, name.

    A tune with a title but no start yet can still be asked for its A start: the player judges.
    Its name can be asked for only when a start can be shown.
    """
    if not tune.titles:
        return ()
    shown = any(start.notes for start in tune.starts)
    return _strands(tuple(facts_of(tune)), tuple([start.part for start in tune.starts]), shown)


@lru_cache(maxsize=256)
def _strands(facts: tuple[str, ...], parts: tuple[str, ...], shown: bool) -> tuple[str, ...]:
    return (*facts, *(parts or ("A",)), *([NAME] if shown else ()))


def facts_of(tune: Tune) -> dict[str, str]:
    """Strands of ``tune`` that are neither starts nor its name, with the answer of each.

    ``{"key": "D major"}``; what is not known of the tune is left out.
    """
    return {strand: answer for strand, tell in _FACTS.items() if (answer := tell(tune))}


def prompt_strands(tune: Tune, prompt: Prompt) -> tuple[str, ...]:
    """Strands of ``tune`` by itself that ``prompt`` asks for; empty when it cannot be asked."""
    if tune.status is Status.WANTED or prompt is Prompt.JOIN:
        return ()
    strands = strands_of(tune)
    if prompt is Prompt.WHAT:
        return (NAME,) if NAME in strands else ()
    return tuple(strand for strand in strands if strand != NAME)


KEY_COLUMN, NAME_COLUMN = NAMED.index(KEY), NAMED.index(NAME)
FIRST_START_COLUMN = len(NAMED)
"""Column of the A start; later parts follow in the order of the alphabet."""

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def column_of(strand: str) -> int:
    """Return the column of a strand: ``NAMED`` from 0 on, then ``"A"``, ``"B"`` … ``"AA"``.

    Raises:
        ValueError: ``strand`` is neither one of ``NAMED`` nor a part letter.
    """
    if strand in NAMED:
        return NAMED.index(strand)
    number = 0
    for letter in strand:
        place = _LETTERS.find(letter)
        if place < 0:
            raise ValueError(f"no such strand: {strand!r}")
        number = number * 26 + place + 1
    if number == 0:
        raise ValueError("a strand has a name")
    return FIRST_START_COLUMN + number - 1


def strand_of(column: int) -> str:
    """Return the strand of a column, the inverse of ``column_of``.

    Raises:
        ValueError: ``column`` is negative.
    """
    if column < 0:
        raise ValueError(f"no such column: {column}")
    if column < FIRST_START_COLUMN:
        return NAMED[column]
    number = column - FIRST_START_COLUMN + 1
    letters = ""
    while number:
        number, place = divmod(number - 1, 26)
        letters = _LETTERS[place] + letters
    return letters


@dataclass(frozen=True, slots=True)
class Practice:
    """Something that was worked on, or played at a date.

    Attributes:
        uuid: Random identity.
        at: When it ended, aware, UTC.
        day: Practice day.
        minutes: How long, 0 or more; 0 where nobody looked at the clock.
        tune: Identity of the tune, empty for work on no tune.
        way: Id of the way (``ways.registry``), empty for none of them.
        words: What was done, in the player's words.
        head_only: Without the instrument: hummed or thought.
        played_at: Identity of the date it was played at, empty for practice.
    """

    uuid: str
    at: datetime
    day: date
    minutes: float = 0.0
    tune: str = ""
    way: str = ""
    words: str = ""
    head_only: bool = False
    played_at: str = ""
