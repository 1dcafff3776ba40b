"""What ABC has no letter for: facts of a tune that only this program writes and reads.

They stand in stylesheet directives, which other programs pass over (ABC 2.1, section 11).
Values are JSON, so that every text survives.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from tunememory.tunes.text import clean_text
from tunememory.tunes.tune import Declared, Status
from tunememory.tunes.tuning import Tuning

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tunememory.tunes.tune import Tune

PREFIX = "tunememory-"
"""Begins the name of each directive."""

_UUID_LIMIT = 64
_MOST_STRINGS = 8


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts of a tune that a tune book of ours carries; a foreign book says none of them.

    Attributes:
        uuid: Identity of the tune, or empty.
        tuning: ``None`` is the player's usual tuning.
        status: ``None`` when not said.
        declared: ``None`` when not said.
        favourite: Weighs more in the plan.
        added: Practice day it came in; ``None`` when not said.
    """

    uuid: str = ""
    tuning: Tuning | None = None
    status: Status | None = None
    declared: Declared | None = None
    favourite: bool = False
    added: date | None = None


def write_facts(tune: Tune) -> Iterator[str]:
    """Yield the directive lines of a tune."""
    yield directive("uuid", tune.uuid)
    yield directive("status", tune.status.value)
    yield directive("declared", tune.declared.value)
    yield directive("added", tune.added.isoformat())
    if tune.tuning is not None:
        yield directive("tuning", list(tune.tuning.strings))
    if tune.favourite:
        yield directive("favourite", value=True)


def read_facts(directives: Iterable[tuple[str, str]]) -> tuple[Facts, tuple[str, ...]]:
    """Read the facts among a tune's directives; a doubt for each that cannot be read.

    Args:
        directives: ``(name, value)`` pairs, as in ``%%name value``.
    """
    facts = Facts()
    doubts: list[str] = []
    for name, value in directives:
        short = name.removeprefix(PREFIX)
        if short == name or short not in _READERS:
            continue
        try:
            facts = _READERS[short](facts, json.loads(value))
        except (ValueError, TypeError, RecursionError):
            doubts.append(f"%%{clean_text(name, limit=40)} says nothing we know")
    return facts, tuple(doubts)


def directive(name: str, value: object) -> str:
    """Return one directive line."""
    return f"%%{PREFIX}{name} {json.dumps(value, ensure_ascii=False)}"


def read_text_value(value: str) -> str | None:
    """Return the text of a directive's value, or ``None`` when it is none."""
    try:
        text = json.loads(value)
    except (ValueError, RecursionError):
        return None
    return text if isinstance(text, str) else None


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError
    return value


def _uuid(facts: Facts, value: object) -> Facts:
    return replace(facts, uuid=clean_text(_text(value), limit=_UUID_LIMIT))


def _tuning(facts: Facts, value: object) -> Facts:
    if not isinstance(value, list) or not 1 <= len(value) <= _MOST_STRINGS:
        raise TypeError
    if not all(type(number) is int and 0 <= number <= 127 for number in value):
        raise TypeError
    return replace(facts, tuning=Tuning(tuple(value)))


def _status(facts: Facts, value: object) -> Facts:
    return replace(facts, status=Status(_text(value)))


def _declared(facts: Facts, value: object) -> Facts:
    return replace(facts, declared=Declared(_text(value)))


def _added(facts: Facts, value: object) -> Facts:
    return replace(facts, added=date.fromisoformat(_text(value)))


def _favourite(facts: Facts, value: object) -> Facts:
    return replace(facts, favourite=value is True)


_READERS: dict[str, Callable[[Facts, object], Facts]] = {
    "uuid": _uuid,
    "tuning": _tuning,
    "status": _status,
    "declared": _declared,
    "added": _added,
    "favourite": _favourite,
}
