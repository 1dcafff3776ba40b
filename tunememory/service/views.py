"""What a front end is given to show. Frozen data, plain text, no behaviour."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from tunememory.tunes.tune import Declared, Start, Status, Tune

if TYPE_CHECKING:
    from datetime import date, datetime

    from tunememory.tunes.check import Level, Prompt, RoundKind
    from tunememory.tunes.instruments import OnStrings


class State(StrEnum):
    """What the memory model says of a tune or strand."""

    SAFE = "safe"
    FADING = "fading"
    RUSTY = "rusty"
    LOST = "lost"
    NOT_ASKED = "not asked yet"


@dataclass(frozen=True, slots=True)
class Chance:
    """Chance of a level of 3 or 4 now, 0 to 1, with a range that holds it 8 times in 10."""

    chance: float
    low: float
    high: float
    state: State
    last_checked: datetime | None = None


@dataclass(frozen=True, slots=True)
class TuneRow:
    """One line of the tune list."""

    uuid: str
    title: str
    other_titles: tuple[str, ...]
    kind: str
    key: str
    tuning: str
    status: Status
    chance: Chance
    folded: str


@dataclass(frozen=True, slots=True)
class StartView:
    """One start in every form it is shown in; rows are aligned note by note.

    Attributes:
        letters: ABC letters, one string a note.
        steps: Scale steps, one string a note.
        fingers: String and finger, one string a note (``"A1"``), on a fretted instrument string
            and fret; ``"–"`` out of reach. Empty where there are no strings.
        bars: Indices of notes that begin a bar (a bar line stands before them).
        strings: Where it lies on the strings; ``None`` where there are none.
        beyond: What of it lies beyond the instrument, in words.
    """

    part: str
    start: Start
    letters: tuple[str, ...]
    steps: tuple[str, ...]
    fingers: tuple[str, ...]
    bars: tuple[int, ...]
    doubt: str = ""
    strings: OnStrings | None = None
    beyond: str = ""


@dataclass(frozen=True, slots=True)
class Twin:
    """A tune that begins alike; ``parts_at`` is the 1-based note where they part."""

    tune: str
    title: str
    part: str
    other_part: str
    parts_at: int
    distance: float


@dataclass(frozen=True, slots=True)
class TwinPair:
    """Two tunes that begin alike; ``parts_at`` is the 1-based note of the first, 0 for none."""

    title: str
    part: str
    other_title: str
    other_part: str
    parts_at: int
    distance: float


@dataclass(frozen=True, slots=True)
class StrandView:
    """One strand and how well it is remembered."""

    strand: str
    chance: Chance


@dataclass(frozen=True, slots=True)
class CheckView:
    """One past check of a tune, newest first in lists.

    ``into`` is the title of the tune that a join leads to; empty for other checks.
    """

    day: date
    prompt: Prompt
    round_kind: RoundKind
    levels: tuple[tuple[str, Level], ...]
    hints: int
    seconds: float | None
    into: str = ""


@dataclass(frozen=True, slots=True)
class TuneView:
    """A tune's page."""

    tune: Tune
    chance: Chance
    strands: tuple[StrandView, ...]
    starts: tuple[StartView, ...]
    twins: tuple[Twin, ...]
    history: tuple[CheckView, ...]
    curve: tuple[tuple[float, float, float, float], ...]
    """``(days from now, chance, low, high)`` of the tune over the next weeks."""
    drones: str = ""
    """Open strings that drone easily under it, in words."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One prompt of a round, with all that may be revealed.

    Attributes:
        tune: The tune asked for; of a join the one that comes next, its title included.
        after: Of a join the tune before it, which is named in the question; else ``None``.
    """

    tune: Tune
    prompt: Prompt
    strands: tuple[str, ...]
    chance: float
    why: str
    starts: tuple[StartView, ...]
    twins: tuple[Twin, ...]
    tuning: str
    after: Tune | None = None

    @property
    def of(self) -> Tune:
        """The tune its checks stand under in the history."""
        return self.after or self.tune


@dataclass(frozen=True, slots=True)
class Planned:
    """A round before it is begun. ``note`` says what waits in another tuning, or what was left."""

    kind: RoundKind
    day: date
    tuning: str
    minutes: float
    asked: tuple[Asked, ...]
    note: str
    coming_back: bool


@dataclass(frozen=True, slots=True)
class FadingRow:
    """A tune's weakest strand."""

    tune: str
    title: str
    key: str
    strand: str
    chance: Chance


@dataclass(frozen=True, slots=True)
class FoundView:
    """One answer of finding by notes; distance 0 is an exact start."""

    tune: str
    title: str
    part: str
    distance: float


@dataclass(frozen=True, slots=True)
class Glance:
    """What a player who is called on needs of a tune.

    Attributes:
        key: Its key in words, empty when it is not known.
        tuning: Its strings.
        part: The part that ``first`` is of, empty where none is written.
        first: The first notes in letters, with pickup and bar lines.
        twins: Tunes that begin alike, nearest first.
        met: The day on which it was last asked or played, ``None`` for never.
    """

    key: str
    tuning: str
    part: str
    first: str
    twins: tuple[Twin, ...]
    met: date | None


@dataclass(frozen=True, slots=True)
class Draft:
    """A tune as typed, before it is checked. Every field may be empty.

    ``starts`` are ``(part, text)`` pairs in any entry form (``tunes.entry``).
    """

    titles: tuple[str, ...] = ()
    kind: str = ""
    key: str = ""
    metre: str = ""
    tuning: str = ""
    status: Status = Status.KEPT
    declared: Declared = Declared.KNOWN
    source: str = ""
    note: str = ""
    favourite: bool = False
    starts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """Something of a file that could not be taken. ``line`` is 1-based, 0 for the whole file."""

    file: str
    line: int
    why: str


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What came of an import. ``doubtful`` holds ``(title, why)`` pairs.

    ``wanted`` is how many of those taken are only wanted: not asked until the player learns them.
    """

    taken: int = 0
    unchanged: int = 0
    changed: int = 0
    doubtful: tuple[tuple[str, str], ...] = ()
    refused: tuple[Refused, ...] = ()
    wanted: int = 0
