"""Starts typed as plain letters or as scale steps."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tunememory.tunes.entry_signs import EntryError, Sign, read_signs
from tunememory.tunes.pitch import LETTERS, Pitch
from tunememory.tunes.places import HIGHEST
from tunememory.tunes.spelling import alters_of, pitch_of_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.tuning import Tuning

_MIDDLE = 73
"""Mean pitch of the starts of fiddle tunes (O'Neill, Ryan, Aird: 72.5 over 9,384 parts); with it
most starts written without octaves come out in their own."""

_HIGHEST_MIDI = 127
_ALTERS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0, "#": 1, "##": 2, "♯": 1, "♭": -1, "n": 0,
           "♮": 0}  # fmt: skip
_LETTER = re.compile(
    r"(?P<sign>\^{1,2}|_{1,2}|=)?(?P<letter>[A-Ga-g])(?P<after>##?|[♯♭♮n])?(?P<marks>[',]*)"
)
_ALONE_WITH_B = re.compile(r"(?<![^\s|])(?P<letter>[A-Ga-g])b(?=[',]*(?:[\s|]|$))")
_LETTER_WANTED = "a note; write letters A to G, # behind for sharp, ' or , behind for up or down"
_STEP = re.compile(r"(?P<sign>b{1,2}|#{1,2}|[=n♭♯♮])?(?P<degree>[1-8])(?P<marks>[',]*)")
_STEP_WANTED = "a scale step; write 1 to 7, b7 for flat, 1' for an octave up, 5, for down"
_PLAIN_SIGNS = str.maketrans({"♭": "b", "♯": "#", "n": "=", "♮": "="})

GUESSED = "octaves are guessed: mark up with ' and down with , or mix small and capital letters"
"""Doubt of plain letters that say nothing of octaves."""


def read_letters(text: str, key: Key | None, tuning: Tuning | None) -> tuple[list[Sign], str]:
    """Read plain letters; the key's sharps and flats are understood.

    Capitals and small letters mixed mean octaves as in ABC. Otherwise each note is the one
    nearest to the note before (as in LilyPond's relative entry), ``'`` takes the next one above
    it and ``,`` the next one below, and the line lies in the middle of the instrument.

    A ``b`` behind a letter that stands alone is a flat where the key has that flat or the letter
    is a capital (``Bb``); else it is the note b (``ab`` is two notes in D).

    Returns:
        The signs, and a doubt where the octaves are a guess.

    Raises:
        EntryError: At the first sign that is no letter.
    """
    alters = alters_of(key)

    def flat(found: re.Match[str]) -> str:
        letter = found["letter"]
        return letter + ("♭" if letter.isupper() or alters[letter.upper()] < 0 else "b")

    found_notes: list[re.Match[str]] = []

    def pitch_of(found: re.Match[str]) -> Pitch:
        found_notes.append(found)
        letter, sign = found["letter"], found["sign"] or found["after"]
        name = letter.upper()
        octave = 4 if letter == name else 5
        return Pitch(octave, name, _ALTERS[sign] if sign else alters[name])

    signs = read_signs(_ALONE_WITH_B.sub(flat, text), _LETTER, pitch_of, _LETTER_WANTED)
    pitches = [sign for sign in signs if isinstance(sign, Pitch)]
    marks = [found["marks"] for found in found_notes]
    mixed = len({found["letter"].isupper() for found in found_notes}) > 1
    if mixed:
        placed = [
            Pitch(pitch.octave + mark.count("'") - mark.count(","), pitch.letter, pitch.alter)
            for pitch, mark in zip(pitches, marks, strict=True)
        ]
    else:
        placed = _nearest(pitches, marks, tuning)
    for found, pitch in zip(found_notes, placed, strict=True):
        if not 0 <= pitch.midi <= _HIGHEST_MIDI:
            raise EntryError(_out_of_range(found))
    octaves_said = mixed or len(pitches) < 2 or any(marks)
    queue = iter(placed)
    in_place = [next(queue) if isinstance(sign, Pitch) else sign for sign in signs]
    return in_place, "" if octaves_said else GUESSED


def _nearest(pitches: Sequence[Pitch], marks: Sequence[str], tuning: Tuning | None) -> list[Pitch]:
    """Put each letter near the one before, then the whole line into the instrument's middle."""
    if not pitches:
        return []
    steps = [LETTERS.index(pitches[0].letter)]
    for pitch, mark in zip(pitches[1:], marks[1:], strict=True):
        up = (LETTERS.index(pitch.letter) - steps[-1]) % 7
        ups, downs = mark.count("'"), mark.count(",")
        if ups:
            move = (up or 7) + 7 * (ups - 1)
        elif downs:
            move = up - 7 - 7 * (downs - 1)
        else:
            move = up if up <= 3 else up - 7
        steps.append(steps[-1] + move)
    low, high = (
        (min(tuning.strings), max(tuning.strings) + HIGHEST) if tuning else (_MIDDLE - 18, 84)
    )

    def line(octave: int) -> list[Pitch]:
        return [
            Pitch(step // 7 + octave, pitch.letter, pitch.alter)
            for step, pitch in zip(steps, pitches, strict=True)
        ]

    def strangeness(octave: int) -> tuple[int, float]:
        midis = [pitch.midi for pitch in line(octave)]
        outside = sum(not low <= midi <= high for midi in midis)
        return outside, abs(sum(midis) / len(midis) - _MIDDLE)

    return line(min(range(1, 8), key=strangeness) + marks[0].count("'") - marks[0].count(","))


def read_steps(text: str, key: Key | None) -> list[Sign]:
    """Read scale steps (``spelling.pitch_of_step``); 8 is 1 an octave up.

    Raises:
        EntryError: Without a key; at the first sign that is no step.
    """
    if key is None:
        raise EntryError("scale steps need the tune's key; give the key too, or write letters")

    def pitch_of(found: re.Match[str]) -> Pitch:
        octave, degree = divmod(int(found["degree"]) - 1, 7)
        octave += found["marks"].count("'") - found["marks"].count(",")
        sign = (found["sign"] or "").translate(_PLAIN_SIGNS)
        pitch = pitch_of_step(sign, degree + 1, octave, key)
        if pitch is None or not 0 <= pitch.midi <= _HIGHEST_MIDI:
            raise EntryError(_out_of_range(found))
        return pitch

    return read_signs(text, _STEP, pitch_of, _STEP_WANTED)


def _out_of_range(found: re.Match[str]) -> str:
    return (
        f"“{found[0]}” at place {found.start() + 1} cannot be written as a note; "
        "leave out an octave mark or a sign"
    )
