"""Where the parts of a tune begin, and the start of each: its pickup and first two bars.

Repeat signs, double bars and part names are taken at their word (ABC 2.1, 4.8, 4.10, 3.1.9); the
rules for crumbs, four-bar lines and written-out repeats are our own, tuned on printed collections
of dance music: the shares of regular tunes they give are kept by the tests.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import dropwhile, pairwise
from typing import TYPE_CHECKING

from tunememory.music.abc.notes import UNIT, Sound, join_sounds, write_notes
from tunememory.music.tune import Start

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tunememory.music.abc.body import Bar
    from tunememory.music.key import Key


CRUMB = Fraction(5, 2)
"""Bars; an unrepeated section shorter than this belongs to its neighbour."""

PHRASE = 8
"""Bars of the usual part of a dance tune. Common practice, no source."""

SLACK = Fraction(1, 4)
"""Bars a section may be off a whole number of bars and still count as that long."""

_RUN_ON = 4
"""Bars after the length of the first ending that cannot belong to the second."""

_NO_LINE = "[|]"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a tune.

    Attributes:
        label: Name given by ``P:`` or ``T:`` in the body, or empty.
        bars: Its bars in order, all endings included.
        repeated: A repeat sign or a written-out repeat follows or surrounds it.
    """

    label: str
    bars: tuple[Bar, ...]
    repeated: bool

    @property
    def played(self) -> tuple[Bar, ...]:
        """Bars of the first time through: second and later endings left out."""
        kept: list[Bar] = []
        later = False
        for bar in self.bars:
            if bar.ending or _stops_ending(bar.before):
                later = bool(bar.ending) and _first_number(bar.ending) > 1
            if not later:
                kept.append(bar)
        # A part that is nothing but a second ending is played as it stands.
        return tuple(kept) or self.bars

    @property
    def length(self) -> Fraction:
        """Length of the first time through in bars; a bar of free metre counts one."""
        return sum(map(_share, self.played), Fraction(0))


def find_parts(bars: Sequence[Bar], closing: Sequence[str]) -> tuple[Part, ...]:
    """Return the parts of a tune in order, each once.

    Args:
        bars: The whole melody.
        closing: Bar lines after the last sound.
    """
    sections = [part for section in _sections(bars, closing) for part in _end_endings(section)]
    sections = _merge_crumbs(sections)
    sections = _merge_fours(sections)
    parts = [part for section in sections for part in _cut(section)]
    return _once_each_label(parts)


def _sections(bars: Sequence[Bar], closing: Sequence[str]) -> list[Part]:
    found: list[Part] = []
    begin = 0
    opened = bool(bars) and _repeat_starts(bars[0].before)
    for place in range(1, len(bars) + 1):
        tokens = bars[place].before if place < len(bars) else closing
        if place < len(bars) and not _divides(bars[place]):
            continue
        inside = bars[begin:place]
        repeated = (
            _repeat_ends(tokens)
            or _has_later_ending(inside)
            or (opened and any(bar.ending for bar in inside))
        )
        found.append(Part(bars[begin].label, tuple(inside), repeated))
        begin, opened = place, _repeat_starts(tokens)
    return found


def _end_endings(section: Part) -> list[Part]:
    """Let a last ending end where the first did, when no bar line ends it and music follows."""
    begins = [place for place, bar in enumerate(section.bars) if bar.ending]
    if len(begins) < 2 or _first_number(section.bars[begins[-1]].ending) < 2:
        return [section]
    end = begins[-1] + begins[1] - begins[0]
    if len(section.bars) - end < _RUN_ON:
        return [section]
    return [
        Part(section.label, section.bars[:end], repeated=True),
        Part("", section.bars[end:], repeated=False),
    ]


def _divides(bar: Bar) -> bool:
    """Whether a section begins with ``bar``."""
    starts = _repeat_starts(bar.before)
    if bar.label:
        return True
    if bar.ending and (_first_number(bar.ending) > 1 or not starts):
        return False
    return starts or _repeat_ends(bar.before) or _double(bar.before)


def _repeat_ends(tokens: Iterable[str]) -> bool:
    return any(token.startswith(":") for token in tokens)


def _repeat_starts(tokens: Iterable[str]) -> bool:
    return any(token.endswith(":") for token in tokens)


def _double(tokens: Iterable[str]) -> bool:
    return any(
        sign in token
        for token in tokens
        if token != _NO_LINE
        for sign in ("||", "|]", "[|")
    )  # fmt: skip


def _stops_ending(tokens: Iterable[str]) -> bool:
    return _double(tokens) or _repeat_ends(tokens)


def _has_later_ending(bars: Iterable[Bar]) -> bool:
    return any(bar.ending and _first_number(bar.ending) > 1 for bar in bars)


def _first_number(ending: str) -> int:
    digits = ""
    for character in ending:
        if not character.isdigit():
            break
        digits += character
    return int(digits or 1)


def _share(bar: Bar) -> Fraction:
    full = bar.full
    return Fraction(1) if full is None else bar.quarters / full


def _joined(first: Part, second: Part) -> Part:
    return Part(
        first.label or second.label,
        first.bars + second.bars,
        first.repeated or second.repeated,
    )


def _merge_crumbs(sections: list[Part]) -> list[Part]:
    merged: list[Part] = []
    waiting: Part | None = None
    for section, following in pairwise([*sections, None]):
        if section is None:
            break
        whole = section if waiting is None else _joined(waiting, section)
        waiting = None
        free = following is not None and not following.label
        if whole.repeated or whole.length >= CRUMB:
            merged.append(whole)
        elif merged and not whole.label and _wants_second_ending(merged[-1], whole):
            second = replace(whole.bars[0], ending="2")
            merged[-1] = _joined(merged[-1], replace(whole, bars=(second, *whole.bars[1:])))
        elif free and (not merged or whole.length < 1):
            # A pickup, or an opening flourish, goes with what follows.
            waiting = whole
        elif merged and not whole.label:
            merged[-1] = _joined(merged[-1], whole)
        else:
            merged.append(whole)
    return merged


def _wants_second_ending(before: Part, section: Part) -> bool:
    """Whether a section is the second ending of the part before it, its number left out."""
    endings = [bar.ending for bar in before.bars if bar.ending]
    # What is shorter leads into the next part.
    return len(endings) == 1 and _first_number(endings[0]) == 1 and section.length > SLACK * 2


def _merge_fours(sections: list[Part]) -> list[Part]:
    merged: list[Part] = []
    for section in sections:
        last = merged[-1] if merged else None
        if (
            last is not None
            and not (last.repeated or section.repeated or section.label)
            and _about(last, 4)
            and _about(section, 4)
        ):
            merged[-1] = _joined(last, section)
        else:
            merged.append(section)
    return merged


def _about(section: Part, bars: int) -> bool:
    return abs(section.length - bars) <= SLACK


def _cut(section: Part) -> list[Part]:
    """Cut a long unrepeated section into eights, and fold written-out repeats."""
    eights = round(section.length / PHRASE)
    if (
        section.repeated
        or section.label
        or eights < 2
        or abs(section.length - PHRASE * eights) > 2 * SLACK
    ):
        return [section]
    chunks = _chunks(section.bars, eights)
    if chunks is None:
        return [section]
    folded: list[Part] = []
    for chunk in chunks:
        if folded and not folded[-1].repeated and _same(folded[-1].bars, chunk):
            folded[-1] = Part("", folded[-1].bars, repeated=True)
        else:
            folded.append(Part("", chunk, repeated=False))
    return folded


def _chunks(bars: Sequence[Bar], eights: int) -> list[tuple[Bar, ...]] | None:
    """Cut at the bar lines nearest to every eighth bar; ``None`` where there is none."""
    begin, done = 0, Fraction(0)
    chunks: list[tuple[Bar, ...]] = []
    pickup = _share(bars[0]) if bars[0].is_pickup else Fraction(0)
    for place, bar in enumerate(bars):
        done += _share(bar)
        if len(chunks) < eights - 1 and done - pickup >= PHRASE * (len(chunks) + 1) - SLACK:
            chunks.append(tuple(bars[begin : place + 1]))
            begin = place + 1
    chunks.append(tuple(bars[begin:]))
    return chunks if len(chunks) == eights and all(chunks) else None


def _same(first: Sequence[Bar], second: Sequence[Bar]) -> bool:
    """Whether at least four of the first six bars are the same music, or nearly."""
    pairs = list(zip(_without_pickup(first)[:6], _without_pickup(second)[:6], strict=False))
    return sum(_alike(one, other) for one, other in pairs) >= 4


def _without_pickup(bars: Sequence[Bar]) -> Sequence[Bar]:
    return bars[1:] if bars and bars[0].is_pickup else bars


def _alike(one: Bar, other: Bar) -> bool:
    first, second = _onsets(one), _onsets(other)
    return 2 * len(first & second) >= max(len(first), len(second))


def _onsets(bar: Bar) -> set[tuple[Fraction, int]]:
    onsets: set[tuple[Fraction, int]] = set()
    at = Fraction(0)
    for sound in bar.sounds:
        if sound.pitch is not None:
            onsets.add((at, sound.pitch.midi))
        at += sound.quarters
    return onsets


def _once_each_label(parts: list[Part]) -> tuple[Part, ...]:
    """Leave out a part whose name was heard before: it is played again, not new."""
    seen: set[str] = set()
    kept: list[Part] = []
    for part in parts:
        if part.label and part.label in seen:
            continue
        seen.add(part.label)
        kept.append(part)
    return tuple(kept)


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
    sounds: list[Sound] = []
    if has_pickup:
        sounds.extend(dropwhile(lambda sound: sound.pitch is None, bars[0].sounds))
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
