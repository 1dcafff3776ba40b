"""The start of each part: its pickup and first two bars."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import dropwhile
from typing import TYPE_CHECKING

from tunememory.music.abc.notes import UNIT, Sound, join_sounds, write_notes
from tunememory.music.tune import Start

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.abc.body import Bar
    from tunememory.music.abc.parts import Part
    from tunememory.music.key import Key


BARS = 2
"""Bars of a start after its pickup."""

FEWEST_NOTES = 5
"""A start of fewer notes goes on, bar by bar, to at most twice ``BARS``: two bars of a slow
waltz say too little to tell tunes apart."""

_SIXTEENTH = Fraction(1, 16)


@dataclass(frozen=True, slots=True)
class _Opening:
    sounds: tuple[Sound, ...]
    pickup: Fraction
    doubt: str


def part_letter(place: int) -> str:
    """Letter of a part by its place, from 0: A to Z, then AA to ZZ.

    >>> part_letter(0), part_letter(25), part_letter(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def find_starts(
    parts: Sequence[Part], key: Key | None, metre: str, unit: Fraction = UNIT
) -> tuple[Start, ...]:
    """Return the start of each part.

    Args:
        parts: Parts in order.
        key: Key of the tune; a part in another key carries its own.
        metre: Metre of the tune; a part in another metre says so in its text.
        unit: Unit note length of the file; sixteenths are kept, anything else is written in
            eighths.
    """
    own_unit = unit if unit == _SIXTEENTH else UNIT
    labels = _labels(parts)
    return tuple(
        _start(label, part, key, metre, own_unit) for label, part in zip(labels, parts, strict=True)
    )


def _labels(parts: Sequence[Part]) -> list[str]:
    """Letters given by the file where all parts have one of their own, else by place."""
    given = [part.label.strip().rstrip(".").upper() for part in parts]
    if len(set(given)) == len(given) and all(len(g) == 1 and "A" <= g <= "Z" for g in given):
        return given
    return [part_letter(place) for place in range(len(parts))]


def _start(label: str, part: Part, key: Key | None, metre: str, unit: Fraction) -> Start:
    bars = _from_first_note(part.played)
    opening = _opening(bars)
    notes = join_sounds(opening.sounds)
    own = bars[0].key.key
    part_key = own if own is not None and own != key else None
    pickup = opening.pickup
    written = write_notes(notes, pickup=pickup, metre=bars[0].metre, key=part_key or key, unit=unit)
    if written and bars[0].metre != metre:
        written = f"[M:{bars[0].metre or 'none'}]{written}"
    return Start(label, notes, pickup, written, part_key, opening.doubt)


def _from_first_note(bars: Sequence[Bar]) -> Sequence[Bar]:
    """Leave out whole bars of rest before the first note."""
    for place, bar in enumerate(bars):
        if any(sound.pitch is not None for sound in bar.sounds):
            return bars[place:]
    return bars


def _opening(bars: Sequence[Bar]) -> _Opening:
    """Cut the first notes out of a part; why they are doubtful, if they are."""
    full = bars[0].full
    has_pickup = len(bars) > 1 and bars[0].is_pickup
    pickup = bars[0].sounding if has_pickup else Fraction(0)
    rest = bars[1:] if has_pickup else bars
    sounds = _without_leading_rests(bars[0].sounds) if has_pickup else []
    doubts: list[str] = []
    taken = Fraction(0)
    for bar in rest:
        enough = sum(sound.pitch is not None for sound in sounds) >= FEWEST_NOTES
        if taken >= BARS and (enough or taken >= 2 * BARS):
            break
        sounds.extend(bar.sounds)
        share = Fraction(1) if bar.full is None else bar.quarters / bar.full
        if share != 1 and not doubts:
            doubts.append(f"a bar is too {'long' if share > 1 else 'short'}")
        taken += share
    if taken < BARS:
        doubts.insert(0, f"only {float(taken):.3g} bar{'' if taken == 1 else 's'} long")
    if full is None:
        doubts.append("no metre, so bar lines were taken as they stand")
    if not any(sound.pitch is not None for sound in sounds):
        doubts.insert(0, "no notes")
    return _Opening(_trimmed(sounds, pickup, taken, full), pickup, "; ".join(doubts))


def _without_leading_rests(sounds: Sequence[Sound]) -> list[Sound]:
    return list(dropwhile(lambda sound: sound.pitch is None, sounds))


def _trimmed(
    sounds: Sequence[Sound], pickup: Fraction, taken: Fraction, full: Fraction | None
) -> tuple[Sound, ...]:
    """Cut sounds that overrun the last whole bar, where bars were too long."""
    if full is None:
        return tuple(sounds)
    limit = pickup + full * max(BARS, int(taken))
    kept: list[Sound] = []
    at = Fraction(0)
    for sound in sounds:
        if at >= limit:
            break
        kept.append(Sound(sound.pitch, min(sound.quarters, limit - at), sound.tied))
        at += sound.quarters
    return tuple(kept)
