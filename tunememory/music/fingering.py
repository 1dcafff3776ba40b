"""Where a start lies on an instrument, what is awkward in it, and which strings drone under it.

The cheapest path over string and finger is found by dynamic programming (Viterbi 1967). Costs of
string crossings, finger changes and placements are the terms that published models of violin
fingering use (Maezawa et al. 2009, Nagata et al. 2014); the weights are our own, set so that the
cost follows what players say of keys and tunings: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.music.metre import usual_bar
from tunememory.music.pitch import Note, Pitch
from tunememory.music.strings import (
    FIVE_STRING_BANJO,
    HIGHEST,
    OUT_OF_REACH,
    STANDARD,
    Place,
    Tuning,
    long_place_name,
    place_mark,
    places_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence


_PLACED = (0.0, 0.3, 0.0, 0.1, 0.0, 0.0, 0.4, 0.6, 1.5)
"""Cost of each place, in semitones above the open string: low fingers, the fourth, the stretch."""

_BEYOND = 5.0
"""Cost of a note with no place in first position."""

_CROSSING = 0.3
_QUICK_CROSSING = 0.2
_QUICK = Fraction(13, 100)
"""A crossing is harder after a note this short, in bars."""

_SKIPPING = (0.0, 0.0, 1.2, 2.0)
"""Cost of going to the next string but one, but two (or further), by strings apart."""

_REACHING_BACK = 0.2
_SAME_FINGER_BESIDE = 0.8
_SAME_FINGER_MOVED = 1.2
_SAME_FINGER_FURTHER = 1.5
_SLIDING = 0.7
_LOW_1_WITH_4 = 0.5
_SECOND_FINGER_MOVED = 0.3

BANDS = ((0.13, "easy"), (0.24, "normal"), (0.39, "awkward"), (float("inf"), "hard"))
"""Upper limits of awkwardness and their words: quarters and the last twentieth of 3,050 A starts
of O'Neill's and Ryan's collections lie below .13, .24 and .39 (half below .18)."""


@dataclass(frozen=True, slots=True)
class Move:
    """Going from one note to the next.

    Attributes:
        note: Index of the note gone to, at least 1.
        cost: How awkward, 0 for a plain step.
        why: In words, such as ``"A1 to D3: crosses to the string below and sets another finger"``.
    """

    note: int
    cost: float
    why: str


@dataclass(frozen=True, slots=True)
class Fingering:
    """The easiest way to finger a start.

    Attributes:
        places: One for each note, ``None`` out of first position.
        moves: From each note to the next.
        awkwardness: Cost for each note, 0 or more.
    """

    places: tuple[Place | None, ...]
    moves: tuple[Move, ...]
    awkwardness: float

    @property
    def band(self) -> str:
        """Word for the awkwardness, from ``BANDS``."""
        return next(word for limit, word in BANDS if self.awkwardness <= limit)

    def hardest(self, count: int = 3) -> tuple[Move, ...]:
        """Return up to ``count`` moves that cost something, hardest first, each only once."""
        told: dict[str, Move] = {}
        for move in sorted(self.moves, key=lambda move: -move.cost):
            if move.cost > 0 and move.why not in told:
                told[move.why] = move
        return tuple(told.values())[:count]


def fingering(notes: Sequence[Note], tuning: Tuning, metre: str = "") -> Fingering:
    """Find the easiest fingering of ``notes``.

    Args:
        notes: A start, or any melody; may be empty.
        tuning: 1 to 8 strings.
        metre: As in ABC ``M:``; against its bar a note is quick.
    """
    bar = usual_bar(metre)
    path, cost = _cheapest(notes, tuning, bar)
    moves = []
    for index in range(1, len(path)):
        quick = _is_quick(notes[index - 1], bar)
        moves.append(Move(index, *move(path[index - 1], path[index], tuning, quick=quick)))
    return Fingering(tuple(path), tuple(moves), cost / max(1, len(path)))


def move(
    before: Place | None, after: Place | None, tuning: Tuning, *, quick: bool = False
) -> tuple[float, str]:
    """How awkward it is to go from one place to another, and why, in words.

    The cost of the crossing or shift, and of the low and high fingers at both ends.
    """
    names = f"{long_place_name(before, tuning)} to {long_place_name(after, tuning)}"
    if before is None or after is None:
        return _BEYOND, f"{names}: leaves first position"
    cost, why = _transition(before, after, quick=quick)
    cost += sum(_PLACED[place.semitones] for place in (before, after) if place.semitones < 7)
    return cost, f"{names}: {why}"


def _transition(before: Place, after: Place, *, quick: bool) -> tuple[float, str]:
    """Cost of changing place, and why."""
    if before.string == after.string:
        return _along(before, after)
    apart = abs(after.string - before.string)
    down = after.string < before.string
    if apart == 1:
        cost = _CROSSING + (_QUICK_CROSSING if quick else 0)
        why = f"crosses to the string {'below' if down else 'above'}"
    else:
        cost = _SKIPPING[min(apart, 3)]
        why = f"skips {_COUNTED[min(apart - 1, 3)]}"
    more, how = _change_of_finger(before, after, apart=apart, down=down)
    return cost + more, why + how


def _along(before: Place, after: Place) -> tuple[float, str]:
    """Going on along one string."""
    if before.finger == after.finger and before.semitones != after.semitones:
        return _SLIDING, "the same finger moves a semitone"
    low, high = sorted((before.semitones, after.semitones))
    if low == 1 and high >= 7:
        return _LOW_1_WITH_4, "low 1 and 4 stretch the hand"
    return 0.0, "stays on the string"


def _change_of_finger(before: Place, after: Place, *, apart: int, down: bool) -> tuple[float, str]:
    """What the fingers do while the bow crosses."""
    if before.finger == after.finger != 0:
        if apart > 1:
            return _SAME_FINGER_FURTHER, " with the same finger"
        if before.semitones == after.semitones:
            return _SAME_FINGER_BESIDE, ", one finger has to stop both"
        return _SAME_FINGER_MOVED, ", the same finger has to move"
    if down and after.finger > before.finger:
        return _REACHING_BACK, " and sets another finger"
    return 0.0, ""


_COUNTED = ("", "a string", "two strings", "several strings")

_State = tuple[Place | None, int]
"""Place of a note, and where the second finger was last set (3 or 4 semitones, 0 for nowhere)."""


def _is_quick(note: Note, bar: Fraction) -> bool:
    return note.quarters <= _QUICK * bar


def _step_cost(before: _State, after: Place | None, *, quick: bool) -> float:
    """Cost of going to a note and of holding it."""
    place, second = before
    if after is None:
        return _BEYOND
    cost = _PLACED[after.semitones]
    if place is not None:
        cost += _transition(place, after, quick=quick)[0]
    if after.finger == 2 and second not in {0, after.semitones}:
        # Moving the finger along one string has been counted as the slide.
        slid = place is not None and place.string == after.string and place.semitones == second
        cost += 0 if slid else _SECOND_FINGER_MOVED
    return cost


def _second(after: Place | None, second: int) -> int:
    return after.semitones if after is not None and after.finger == 2 else second


def _cheapest(
    notes: Sequence[Note], tuning: Tuning, bar: Fraction
) -> tuple[list[Place | None], float]:
    """The cheapest path, and what it costs."""
    costs: dict[_State, float] = {(None, 0): 0.0}
    came_from: list[dict[_State, _State]] = []
    quick = False
    for note in notes:
        following: dict[_State, float] = {}
        best: dict[_State, _State] = {}
        for after in places_of(note.pitch, tuning) or (None,):
            for before, so_far in costs.items():
                state = (after, _second(after, before[1]))
                cost = so_far + _step_cost(before, after, quick=quick)
                if cost < following.get(state, float("inf")):
                    following[state] = cost
                    best[state] = before
        costs = following
        came_from.append(best)
        quick = _is_quick(note, bar)
    state = min(costs, key=costs.__getitem__)
    cost = costs[state]
    path: list[Place | None] = []
    for best in reversed(came_from):
        path.append(state[0])
        state = best[state]
    path.reverse()
    return path, cost


_OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Instrument:
    """What a start is shown for.

    Attributes:
        name: As the player calls it.
        tuning: Usual tuning; the fiddle's, and not used, where there are no strings.
        reach: Lowest and highest written note (MIDI) where there are no strings, else ``None``.
        frets: Highest fret counted on; 0 where fingers are named, or there are no strings.
        drones: So many strings, the first ones, are not stopped.
        sounds_below: Semitones from what is written down to what sounds.
    """

    name: str
    tuning: Tuning = STANDARD
    reach: tuple[int, int] | None = None
    frets: int = 0
    drones: int = 0
    sounds_below: int = 0

    def reach_in(self, tuning: Tuning) -> tuple[int, int] | None:
        """Lowest and highest written note (MIDI); ``None`` where one can go on up the strings."""
        if self.reach is not None or not self.frets:
            return self.reach
        strings = tuning.strings[self.drones :]
        return min(strings) + self.sounds_below, max(strings) + self.frets + self.sounds_below


FIDDLE = Instrument("fiddle")
_FRETS = 12
INSTRUMENTS = {
    one.name: one
    for one in (
        FIDDLE,
        Instrument("mandolin", frets=_FRETS),
        Instrument("tenor banjo", frets=_FRETS),
        Instrument(
            "five-string banjo",
            Tuning(FIVE_STRING_BANJO),
            frets=_FRETS,
            drones=1,
            sounds_below=_OCTAVE,
        ),
        Instrument("flute", reach=(62, 83)),
        Instrument("whistle", reach=(62, 83)),
    )
}
"""By name; the first is the one taken when none is chosen."""


def strings_for(tuning: Tuning | None, usual: Tuning) -> Tuning:
    """A tune's own tuning where the player's instrument has as many strings, else the usual."""
    return tuning if tuning and len(tuning.strings) == len(usual.strings) else usual


@dataclass(frozen=True, slots=True)
class OnStrings:
    """A start on the strings of an instrument.

    Attributes:
        strings: Those that are stopped, and may be played open.
        places: One for each note, ``None`` out of reach.
        marks: Finger or fret of each place, ``OUT_OF_REACH`` beyond.
    """

    strings: Tuning
    places: tuple[Place | None, ...]
    marks: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """String and finger, or string and fret, of each note: ``"A1"``."""
        strings = self.strings.string_names
        return tuple(
            mark if place is None else strings[place.string] + mark
            for place, mark in zip(self.places, self.marks, strict=True)
        )


def on_strings(
    notes: Sequence[Note], tuning: Tuning, metre: str, instrument: Instrument
) -> OnStrings | None:
    """Return where a start lies, the easiest way; ``None`` on an instrument without strings.

    Args:
        notes: The start, as written.
        tuning: All strings of the instrument.
        metre: As in ABC ``M:``.
        instrument: Which one.
    """
    if instrument.reach is not None:
        return None
    stopped = Tuning(tuning.strings[instrument.drones :])
    octaves = instrument.sounds_below // _OCTAVE
    sounding = [_octaves_lower(note, octaves) for note in notes]
    places = fingering(sounding, stopped, metre).places
    if not instrument.frets:
        return OnStrings(stopped, places, tuple(_mark(place) for place in places))
    top = max(range(len(stopped.strings)), key=stopped.strings.__getitem__)
    fretted = tuple(
        place or _up_the_neck(note, top, stopped, instrument.frets)
        for note, place in zip(sounding, places, strict=True)
    )
    marks = (OUT_OF_REACH if place is None else str(place.semitones) for place in fretted)
    return OnStrings(stopped, fretted, tuple(marks))


def reach_words(
    notes: Sequence[Note], names: Sequence[str], tuning: Tuning, instrument: Instrument
) -> str:
    """Say which notes of a start lie beyond the instrument, and which octave would fit.

    On strings that are fingered, which lie beyond first position; what is too low for them is
    doubted where it is typed.

    Args:
        notes: The start, as written.
        names: What each note is called.
        tuning: All strings of the instrument.
        instrument: Which one.

    Returns:
        Sentences, such as ``"Too low for the flute: note 3 (A,). An octave up all of it fits."``;
        empty where every note is in reach.
    """
    reach = instrument.reach_in(tuning)
    if reach is None:
        lowest = min(tuning.strings)
        away = [
            place
            for place, note in enumerate(notes)
            if note.pitch.midi > lowest and not places_of(note.pitch, tuning)
        ]
        return f"Beyond first position: {_listed(away, names)}." if away else ""
    midis = [note.pitch.midi for note in notes]
    low = [place for place, midi in enumerate(midis) if midi < reach[0]]
    high = [place for place, midi in enumerate(midis) if midi > reach[1]]
    if not low and not high:
        return ""
    told = [
        f"Too {word} for the {instrument.name}: {_listed(places, names)}."
        for word, places in (("low", low), ("high", high))
        if places
    ]
    for word, by in (("up", _OCTAVE), ("down", -_OCTAVE)):
        if all(reach[0] <= midi + by <= reach[1] for midi in midis):
            return " ".join([*told, f"An octave {word} all of it fits."])
    for which, word, by, places in (
        ("low", "up", _OCTAVE, low),
        ("high", "down", -_OCTAVE, high),
    ):
        if places and all(reach[0] <= midis[place] + by <= reach[1] for place in places):
            those = "it" if len(places) == 1 else "them"
            told.append(f"Play {f'the {which}' if low and high else those} an octave {word}.")
    return " ".join(told)


_LISTED = 4
_HIGHEST_FINGER = 4


def _listed(places: Sequence[int], names: Sequence[str]) -> str:
    if len(places) > _LISTED:
        return f"{len(places)} of {len(names)} notes"
    numbers = " and ".join(str(place + 1) for place in places)
    called = ", ".join(dict.fromkeys(names[place] for place in places))
    return f"note{'s' * (len(places) > 1)} {numbers} ({called})"


def _mark(place: Place | None) -> str:
    return OUT_OF_REACH if place is None else place_mark(place)


def _up_the_neck(note: Note, top: int, strings: Tuning, frets: int) -> Place | None:
    """The place of a note too high for the hand at the nut, on the highest string."""
    fret = note.pitch.midi - strings.strings[top]
    return Place(top, fret, _HIGHEST_FINGER) if HIGHEST < fret <= frets else None


def _octaves_lower(note: Note, octaves: int) -> Note:
    pitch = note.pitch
    return Note(Pitch(pitch.octave - octaves, pitch.letter, pitch.alter), note.quarters)


_FIFTH = 7


def drone_strings(root_class: int, tuning: Tuning) -> tuple[int, ...]:
    """Open strings that can drone under a tune: those on its root, then those a fifth above.

    Args:
        root_class: Pitch class of the root, 0 (C) to 11 (B).
        tuning: Strings of the instrument.

    Returns:
        Indices of strings, low string first within each of the two; empty where none fits.
    """
    return tuple(
        string
        for wanted in (root_class, root_class + _FIFTH)
        for string, pitch in enumerate(tuning.strings)
        if (pitch - wanted) % 12 == 0
    )


def easy_drones(root_class: int, tuning: Tuning) -> tuple[tuple[int, int], ...]:
    """Drones that sound most easily: open strings next below the one that is played.

    Args:
        root_class: Pitch class of the root, 0 (C) to 11 (B).
        tuning: Strings of the instrument.

    Returns:
        Pairs of the string played and the open one below it, in the order of ``drone_strings``.
    """
    highest = len(tuning.strings) - 1
    strings = drone_strings(root_class, tuning)
    return tuple((string + 1, string) for string in strings if string < highest)


def easy_drones_words(root_class: int, tuning: Tuning) -> str:
    """The same in words: ``"open G under D, open D under A"``."""
    names = tuning.long_string_names
    return ", ".join(
        f"open {names[drone]} under {names[played]}"
        for played, drone in easy_drones(root_class, tuning)
    )
