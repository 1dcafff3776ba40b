"""The melody of a score as an ABC tune, so that it is read and reported like any other."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.notation.abc_key import read_key, write_key, write_signature
from tunememory.notation.abc_text import write_text
from tunememory.notation.facts import directive
from tunememory.notation.key_guess import guess_key, guess_signed_key
from tunememory.notation.score_melody import notes_of
from tunememory.notation.signature import MOST, fifths_of, key_of_signature
from tunememory.tunes.abc_notes import BarSpelling, write_length
from tunememory.tunes.key import MODES
from tunememory.tunes.spelling import alters_of, spell
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from tunememory.notation.score_melody import Measure, Melody

_UNIT = Fraction(1, 2)
_BARS_A_LINE = 4


def write_melody(melody: Melody, titles: list[str], *, spelled: bool) -> str:
    """Return a melody as one ABC tune.

    Args:
        melody: Not empty.
        titles: Main title first; may be empty.
        spelled: The file spells its pitches (a score does, MIDI does not) and its signature can
            be believed; otherwise pitches are spelled in the key the notes suggest.
    """
    if not spelled:
        melody = _respelled(melody)
    first = melody.measures[0]
    key, doubt = _key(first), melody.doubt
    if first.mode and first.fifths is not None and abs(first.fifths) <= MOST:
        doubt = "; ".join(filter(None, (doubt, _mode_doubt(melody, first.fifths))))
    lines = ["X:1"]
    lines += [f"T:{write_text(title)}" for title in map(clean_text, titles) if title]
    if doubt:
        lines.append(directive("doubt", doubt))
    lines += [f"M:{first.metre or 'none'}", "L:1/8", f"K:{key}", *_body(melody)]
    return "\n".join(lines)


def _mode_doubt(melody: Melody, fifths: int) -> str:
    """Programs write major for every tune whose player did not say; the notes may know better."""
    given = read_key(_key(melody.measures[0])).key
    guess = guess_signed_key([notes_of(melody)], fifths)
    if given is None or guess is None or not guess.sure or guess.key == given:
        return ""
    return f"the file says {given.name}; by the notes it may be {guess.key.name}"


def _key(measure: Measure) -> str:
    """The ``K:`` field: a root where the file gives a mode, else the bare signature."""
    if measure.fifths is None or abs(measure.fifths) > MOST:
        return "none"
    mode = {"ionian": "major", "aeolian": "minor"}.get(measure.mode, measure.mode)
    if mode not in MODES:
        return write_signature(measure.fifths)
    return write_key(key_of_signature(measure.fifths, mode))


def _signature(measure: Measure) -> Mapping[str, int]:
    if measure.fifths is None or abs(measure.fifths) > MOST:
        return alters_of(None)
    return alters_of(key_of_signature(measure.fifths, "major"))


def _body(melody: Melody) -> Iterator[str]:
    spelling = BarSpelling(_signature(melody.measures[0]))
    line: list[str] = []
    held = False
    for place, measure in enumerate(melody.measures):
        if measure.label:
            line.append(f"[P:{measure.label}]")
        if place and measure.metre:
            line.append(f"[M:{measure.metre}]")
        if place and measure.fifths is not None:
            line.append(f"[K:{_key(measure)}]")
            spelling = BarSpelling(_signature(measure))
        if measure.left:
            line.append(measure.left)
        if measure.ending:
            line.append(f"[{measure.ending} ")
        for tone in measure.tones:
            length = write_length(tone.quarters / _UNIT)
            if tone.pitch is None:
                line.append(f"z{length}")
            else:
                note = spelling.note(tone.pitch, held=held)
                line.append(f"{note}{length}{'-' if tone.tied else ''}")
            held = tone.tied
        spelling.end_bar()
        line.append(measure.right)
        if place % _BARS_A_LINE == _BARS_A_LINE - 1:
            yield "".join(line)
            line = []
    if line:
        yield "".join(line)


def _respelled(melody: Melody) -> Melody:
    """Spell every pitch in the key the notes suggest, and give that key's signature.

    MIDI files say C major when they mean nothing; any other signature is believed.
    """
    first = melody.measures[0]
    notes = notes_of(melody)
    guess = guess_signed_key([notes], first.fifths) if first.fifths else guess_key([notes])
    key = guess.key if guess is not None else None
    fifths = None if key is None else fifths_of(key.alters())
    measures = [
        replace(
            measure,
            fifths=fifths if place == 0 else None,
            mode="",
            tones=[
                replace(tone, pitch=spell(tone.pitch.midi, key)) if tone.pitch else tone
                for tone in measure.tones
            ],
        )
        for place, measure in enumerate(melody.measures)
    ]
    return replace(melody, measures=tuple(measures))
