"""Singing before playing, and listening before playing.

Teachers by ear have both done before the instrument is taken up: common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.music.fingering import drone_strings
from tunememory.music.forms import letters_of, steps_of
from tunememory.music.ways.material import NO_START, Material, nothing, prose, rows_of

if TYPE_CHECKING:
    from tunememory.music.ways.material import Subject


_RECORDING = "recording"


def sing(subject: Subject) -> Material:
    """The starts to be sung, from the root."""
    heading = "Sing it, then play it"
    if not subject.starts:
        return nothing(heading, NO_START)
    lines = [_root_line(subject), *prose("Sing the start on la, then on its steps, then play it.")]
    for piece in subject.pieces:
        start = piece.start
        rows = {
            "letters": letters_of(start.notes, start.key),
            "steps": steps_of(start.notes, start.key),
        }
        lines += [piece.label, *rows_of(rows, piece)]
    return Material(heading, tuple(lines), subject.pieces)


def _root_line(subject: Subject) -> str:
    key = subject.tune.key
    if key is None:
        return "Sound the first note and keep it in the ear."
    strings = drone_strings(key.root_class, subject.tuning)
    for string in strings:
        if (subject.tuning.strings[string] - key.root_class) % 12 == 0:
            name = subject.tuning.long_string_names[string]
            return f"Sound the root: the open {name} string."
    return f"Sound the root, {key.root}, and keep it in the ear."


def listen(subject: Subject) -> Material:
    """Where the tune's recording is, from the lines of its note that begin with "recording"."""
    heading = "Listen, then play"
    recordings = [
        line.strip()
        for line in subject.tune.note.splitlines()
        if line.strip().casefold().startswith(_RECORDING)
    ]
    if not recordings:
        return nothing(heading, "No recording is noted; add a line “recording: where” to the note.")
    said = [f"From: {subject.tune.source}"] if subject.tune.source else []
    said += [*recordings, "Hear it twice without the instrument; hum along; then play."]
    lines = (line for sentence in said for line in prose(sentence, "  "))
    return Material(heading, tuple(lines))
