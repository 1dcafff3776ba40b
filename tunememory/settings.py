"""The player's settings, kept in the repertoire file."""

from __future__ import annotations

import dataclasses
import json
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from tunememory.errors import NotDoneError
from tunememory.music.fingering import FIDDLE, INSTRUMENTS, Instrument
from tunememory.music.strings import Tuning, parse_tuning
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Mapping


THEMES = ("lamp-light", "paper")
ENTRY_FORMS = ("abc", "letters", "steps", "fingers", "frets")
SHOWN_AS = ("both", "letters", "fingers")
SET_WORDS = ("set", "medley")
LOUDNESS = ("quiet", "usual")
ASKED_BY = ("shown", "heard", "both")


@dataclass(frozen=True, slots=True)
class Settings:
    """What the player can choose.

    Attributes:
        minutes_first: Minutes of the first round, 1 to 60.
        minutes_last: Minutes of the last round, 1 to 60.
        usual_tuning: Tuning of tunes that name none; strings or nickname.
        standing_tuning: What the instrument stands in today; empty is the usual one.
        entry_form: How starts are typed when no prefix says otherwise.
        shown_as: Letters, fingers or both in a round.
        intake: At most this many tunes in learning are asked, 1 to 10.
        theme: One of ``THEMES``.
        animations: Let the screen move.
        set_word: What tunes played in a row are called.
        day_ends_at: Local hour at which a practice day ends, 0 to 12.
        drone: Open strings sound under a start.
        loudness: How loud a start sounds.
        asked_by: Whether a start asked about is shown, heard or both.
        instrument: What is played, one of ``INSTRUMENTS``.
        other_tunings: Usual and standing tuning of each instrument played before, with its name.
    """

    minutes_first: float = 4.0
    minutes_last: float = 2.0
    usual_tuning: str = "GDAE"
    standing_tuning: str = ""
    entry_form: str = "abc"
    shown_as: str = "both"
    intake: int = 3
    theme: str = "lamp-light"
    animations: bool = False
    set_word: str = "set"
    day_ends_at: int = 4
    drone: bool = False
    loudness: str = "quiet"
    asked_by: str = "shown"
    instrument: str = FIDDLE.name
    other_tunings: tuple[tuple[str, str, str], ...] = ()

    @property
    def usual(self) -> Tuning:
        """The usual tuning as strings."""
        return _tuning(self.usual_tuning)

    @property
    def standing(self) -> Tuning:
        """The tuning the instrument stands in."""
        return _tuning(self.standing_tuning or self.usual_tuning)

    @property
    def on(self) -> Instrument:
        """The instrument played."""
        return INSTRUMENTS[self.instrument]

    def played_on(self, instrument: str) -> Settings:
        """The same for another instrument, with the tunings it had when it was last played."""
        tunings = {name: (usual, standing) for name, usual, standing in self.other_tunings}
        tunings[self.instrument] = (self.usual_tuning, self.standing_tuning)
        usual, standing = tunings.pop(instrument, _fresh(instrument))
        return dataclasses.replace(
            self,
            instrument=instrument,
            usual_tuning=usual,
            standing_tuning=standing,
            other_tunings=tuple(
                (name, *both) for name, both in sorted(tunings.items()) if both != _fresh(name)
            ),
        )


def _fresh(instrument: str) -> tuple[str, str]:
    """Usual and standing tuning of an instrument before anything was said of it."""
    return INSTRUMENTS[instrument].tuning.letters, ""


_CHOICES = {
    "theme": THEMES,
    "entry_form": ENTRY_FORMS,
    "shown_as": SHOWN_AS,
    "set_word": SET_WORDS,
    "loudness": LOUDNESS,
    "asked_by": ASKED_BY,
    "instrument": tuple(INSTRUMENTS),
}
_RANGES = {
    "minutes_first": (1, 60),
    "minutes_last": (1, 60),
    "intake": (1, 10),
    "day_ends_at": (0, 12),
}


def checked(settings: Settings) -> Settings:
    """Return ``settings`` if every field is in its range.

    Raises:
        NotDoneError: Naming the field and what it may be.
    """
    for name, choices in _CHOICES.items():
        if getattr(settings, name) not in choices:
            raise NotDoneError(f"{_plain(name)} can be {', '.join(choices)}")
    for name, (low, high) in _RANGES.items():
        if not low <= getattr(settings, name) <= high:
            raise NotDoneError(f"{_plain(name)} can be from {low} to {high}")
    _check_tunings(settings.usual_tuning, settings.standing_tuning)
    for name, usual, standing in settings.other_tunings:
        if name not in INSTRUMENTS:
            raise NotDoneError(f"instrument can be {', '.join(INSTRUMENTS)}")
        _check_tunings(usual, standing)
    return settings


def _check_tunings(usual: str, standing: str) -> None:
    # What it stands in may be empty, which is the usual tuning.
    named = [("usual tuning", usual), *([("standing tuning", standing)] if standing else [])]
    for name, text in named:
        try:
            parse_tuning(text)
        except NotDoneError as error:
            raise NotDoneError(f"{name}: {error}") from error


def from_stored(stored: Mapping[str, str]) -> Settings:
    """Return settings from JSON texts; what is missing or out of range keeps its default."""
    settings = Settings()
    for field in dataclasses.fields(Settings):
        if field.name not in stored:
            continue
        default = getattr(settings, field.name)
        try:
            value: Any = json.loads(stored[field.name])
            if isinstance(value, str):
                value = clean_text(value)
            elif isinstance(value, list):
                value = [tuple(clean_text(str(text)) for text in row) for row in value]
            settings = checked(dataclasses.replace(settings, **{field.name: type(default)(value)}))
        except (NotDoneError, TypeError, ValueError, OverflowError):
            continue
    return settings


def to_stored(settings: Settings) -> dict[str, str]:
    """Return settings as JSON texts by name."""
    return {name: json.dumps(value) for name, value in dataclasses.asdict(settings).items()}


@lru_cache(maxsize=16)
def _tuning(text: str) -> Tuning:
    return parse_tuning(text)


def _plain(name: str) -> str:
    return name.replace("_", " ")
