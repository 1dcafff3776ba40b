"""The scale of the tune's mode, up and down its range."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.pitch import Note
from tunememory.tunes.places import places_of
from tunememory.tunes.spelling import alters_of, spell
from tunememory.tunes.tune import Start
from tunememory.ways.material import NO_KEY, Material, Piece, nothing, piece_lines, prose

if TYPE_CHECKING:
    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Pitch
    from tunememory.tunes.tuning import Tuning
    from tunememory.ways.material import Subject

_EIGHTH = Fraction(1, 2)


def scale(subject: Subject) -> Material:
    """The mode's notes from the root below the lowest note to the root above the highest.

    Where such a root is out of first position the scale turns at the last note in reach.
    """
    key = subject.tune.key
    if key is None:
        return nothing("scale", "Its scale", NO_KEY)
    heading = f"Scale of {key.name}, up and down its range"
    sounding = [note.pitch.midi for start in subject.known for note in start.notes]
    up = scale_notes(key, subject.tuning, sounding)
    if not up:
        return nothing("scale", heading, "No note of it is in reach in this tuning.")
    notes = [Note(pitch, _EIGHTH) for pitch in (*up, *up[-2::-1])]
    notes[-1] = Note(notes[-1].pitch, 4 * _EIGHTH)
    climb = Piece("Up", Start("up", tuple(notes[: len(up)]), key=key), "")
    lines = [
        *piece_lines(climb, subject.tuning, steps=True),
        *prose("Down the same way; then each note twice, then in pairs."),
    ]
    whole = Piece(heading, Start("scale", tuple(notes), key=key), "")
    return Material("scale", heading, tuple(lines), (whole,))


def scale_notes(key: Key, tuning: Tuning, sounding: list[int]) -> tuple[Pitch, ...]:
    """Return the notes of the scale in reach, low to high.

    Args:
        key: Root and mode, changes of its signature included.
        tuning: Strings.
        sounding: MIDI numbers of the tune's notes; an octave from the lowest root when empty.
    """
    reach = [
        midi
        for midi in range(min(tuning.strings), max(tuning.strings) + 9)
        if places_of(spell(midi, key), tuning)
    ]
    roots = [midi for midi in reach if midi % 12 == key.root_class]
    if not sounding:
        sounding = [roots[0], roots[0] + 12] if roots else []
    if not sounding:
        return ()
    below = [root for root in roots if root <= min(sounding)]
    above = [root for root in roots if root >= max(sounding)]
    lowest = below[-1] if below else min(sounding)
    highest = above[0] if above else max(sounding)
    alters = alters_of(key)
    pitches = (spell(midi, key) for midi in reach if lowest <= midi <= highest)
    return tuple(pitch for pitch in pitches if alters[pitch.letter] == pitch.alter)
