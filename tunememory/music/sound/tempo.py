"""How fast a start is sounded. Every number here is common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from tunememory.music.metre import bar_quarters, group_quarters, is_compound
from tunememory.text import fold


@dataclass(frozen=True, slots=True)
class Tempo:
    """An unhurried speed at which a kind of tune is known again.

    Attributes:
        quarters: Quarter notes a minute in ``metre``.
        metre: The metre it is meant for.
        by_bar: A bar takes as long when a book writes it with notes of half or double length; else
            a quarter note takes as long.
    """

    quarters: float
    metre: str
    by_bar: bool = True


TEMPI = {
    "reel": Tempo(180, "4/4"),
    "breakdown": Tempo(190, "4/4"),
    "hoedown": Tempo(190, "4/4"),
    "rag": Tempo(170, "4/4"),
    "fling": Tempo(160, "4/4"),
    "hornpipe": Tempo(150, "4/4"),
    "barndance": Tempo(150, "4/4"),
    "barn dance": Tempo(150, "4/4"),
    "schottische": Tempo(140, "4/4"),
    "strathspey": Tempo(125, "4/4"),
    "polka": Tempo(120, "2/4"),
    "two step": Tempo(120, "2/4"),
    "jig": Tempo(165, "6/8"),
    "single jig": Tempo(180, "6/8"),
    "slip jig": Tempo(165, "9/8"),
    "hop jig": Tempo(180, "9/8"),
    "slide": Tempo(195, "12/8"),
    "waltz": Tempo(120, "3/4"),
    "mazurka": Tempo(130, "3/4"),
    "varsovienne": Tempo(120, "3/4"),
    "minuet": Tempo(110, "3/4"),
    "march": Tempo(96, "4/4", by_bar=False),
    "air": Tempo(66, "3/4", by_bar=False),
    "slow air": Tempo(60, "3/4", by_bar=False),
    "lament": Tempo(60, "3/4", by_bar=False),
    "song": Tempo(90, "3/4", by_bar=False),
    "hymn": Tempo(80, "4/4", by_bar=False),
}
"""Speeds by kind: a dotted quarter of a jig is 110 a minute, a half note of a reel 90."""

_ENDINGS = {"waltzes": "waltz", "marches": "march"}
_UNKNOWN = (Tempo(150, "6/8"), Tempo(110, "3/4"), Tempo(100, "2/4"), Tempo(140, "4/4"))
_NO_METRE = 110.0


@lru_cache(maxsize=512)
def quarters_per_minute(kind: str, metre: str) -> float:
    """Return the speed of a tune in quarter notes a minute.

    A reel that a book writes in 2/4 with sixteenth notes has half the quarters of one in 4/4 and
    sounds the same; a tune in 6/4 moves as one in 6/8.

    Args:
        kind: As the player writes it (``"Slip Jigs"``); the longest kind named in it counts.
        metre: As in ABC ``M:``; may be empty.

    >>> quarters_per_minute("reel", "C|"), quarters_per_minute("reel", "2/4")
    (180.0, 90.0)
    """
    named = _known(kind)
    bar = bar_quarters(metre)
    if named is None:
        return next(
            (tempo.quarters for tempo in _UNKNOWN if bar == bar_quarters(tempo.metre)
             and is_compound(metre) == is_compound(tempo.metre)),
            _NO_METRE * float(_beat(metre)),
        )  # fmt: skip
    if bar is None:
        return named.quarters
    usual = bar_quarters(named.metre)
    simple = not is_compound(metre) and not is_compound(named.metre)
    if simple and named.by_bar and usual is not None and bar in {usual * 2, usual / 2}:
        return float(named.quarters * bar / usual)
    return float(named.quarters * _beat(metre) / _beat(named.metre))


def _beat(metre: str) -> float:
    """Length of a beat in quarter notes: three of its notes in a compound metre."""
    return float(group_quarters(metre)) if is_compound(metre) else 1.0


def _known(kind: str) -> Tempo | None:
    words = [_ENDINGS.get(word, word) for word in fold(kind).split()]
    one = [word if word in TEMPI else word.removesuffix("s") for word in words]
    spaced = f" {' '.join(one)} "
    found = [name for name in TEMPI if f" {name} " in spaced]
    return TEMPI[max(found, key=len)] if found else None


RATE = 44_100
"""Samples a second, as on a compact disc (IEC 60908)."""
