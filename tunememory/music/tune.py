"""The tune and its starts."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tunememory.music.key import Key
    from tunememory.music.pitch import Note
    from tunememory.music.strings import Tuning


_OWN_METRE = re.compile(r"\s*(?:\[[KL]:[^\]]*\]\s*)*\[M:([^\]]*)\]")
"""An inline field of ABC 2.1 (section 3.2) in front of the notes."""


class Status(StrEnum):
    """What the player says of a tune."""

    WANTED = "wanted"
    LEARNING = "learning"
    KEPT = "kept"
    RESTING = "resting"

    @property
    def asked_for(self) -> bool:
        """Whether such tunes are asked for; wanted and resting ones are left in peace."""
        return self in {Status.KEPT, Status.LEARNING}


class Declared(StrEnum):
    """How well the player said she had the tune when it came into the repertoire."""

    NEW = "new"
    LEARNING = "learning"
    KNOWN = "known"
    OLD_FRIEND = "old friend"


DECLARED_WORDS = {
    Declared.NEW: "just met",
    Declared.LEARNING: "half of it",
    Declared.KNOWN: "have it",
    Declared.OLD_FRIEND: "old friend",
}
"""How well the player has a tune, as the player reads and types it."""


def declared_by(word: str) -> Declared:
    """Return what a player means by one of ``DECLARED_WORDS``.

    Raises:
        ValueError: It is none of them.
    """
    for declared, called in DECLARED_WORDS.items():
        if called == word:
            return declared
    raise ValueError(word)


@dataclass(frozen=True, slots=True)
class Start:
    """The first notes of one part, to about two bars, pickup included.

    Attributes:
        part: Part letter in the player's order: ``"A"``, ``"B"`` … (``"AA"`` after ``"Z"``).
        notes: May be empty: the part is known of, its start is not written down yet.
        pickup: Length of the pickup in quarter notes, 0 for none.
        written: The text as the player or the file gave it.
        key: Key of this part where it differs from the tune's.
        doubt: Why the start is not to be trusted yet; empty when it is.
    """

    part: str
    notes: tuple[Note, ...] = ()
    pickup: Fraction = Fraction(0)
    written: str = ""
    key: Key | None = None
    doubt: str = ""

    @property
    def onsets(self) -> Iterator[tuple[Fraction, Note]]:
        """Each note after its place, in quarter notes from the first bar line."""
        at = -self.pickup
        for note in self.notes:
            yield at, note
            at += note.quarters

    def metre_in(self, metre: str) -> str:
        """Metre of this part: its own where its text names one (``[M:9/8]``), else the tune's."""
        found = _OWN_METRE.match(self.written)
        return found[1].strip() if found else metre


@dataclass(frozen=True, slots=True)
class Tune:
    """One entry of the repertoire.

    Attributes:
        uuid: Random identity, the same in every copy of the file.
        titles: Main title first, then the other names; may be empty ("no name yet").
        kind: ``"reel"``, ``"jig"`` …: an open list, empty when unknown.
        key: Root and mode, or ``None`` when unknown.
        metre: As in ABC ``M:`` (``"6/8"``, ``"C|"``), empty when unknown.
        tuning: ``None`` is the player's usual tuning.
        status: What the player says of it.
        starts: In the player's order of parts.
        declared: How well it was known when it came in (sets the first belief).
        source: Whom or where the player has it from.
        note: Free text.
        favourite: Weighs more in the plan.
        added: Practice day it came in.
    """

    uuid: str
    titles: tuple[str, ...]
    kind: str = ""
    key: Key | None = None
    metre: str = ""
    tuning: Tuning | None = None
    status: Status = Status.KEPT
    starts: tuple[Start, ...] = ()
    declared: Declared = Declared.KNOWN
    source: str = ""
    note: str = ""
    favourite: bool = False
    added: date = field(default=date.min)

    @property
    def title(self) -> str:
        """Main title, or ``"no name yet"``."""
        return self.titles[0] if self.titles else "no name yet"

    @property
    def key_name(self) -> str:
        """``"D major"``; empty when the key is not known."""
        return self.key.name if self.key else ""

    @property
    def key_short(self) -> str:
        """``"D"``, ``"Em"``; empty when the key is not known."""
        return self.key.short if self.key else ""

    @property
    def facts(self) -> str:
        """What stands beside a title in a list: ``"Em reel"``; empty when neither is known."""
        return " ".join(filter(None, (self.key_short, self.kind)))
