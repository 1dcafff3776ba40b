"""The melody of a MusicXML or MIDI file, opened with music21, as ABC. In the child process only.

Nothing goes through music21's own file reading: that would write caches and look up settings.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field, replace
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from tunememory.music.abc.fields import write_text
from tunememory.music.abc.key import guess_key, read_key, write_key, write_signature
from tunememory.music.abc.notes import BarSpelling, Sound, write_length
from tunememory.music.abc.writing import directive
from tunememory.music.key import MODES, MOST_SIGNS, alters_of, fifths_of, key_of_signature
from tunememory.music.pitch import Note, Pitch
from tunememory.music.spelling import spell
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence


_MELODY_WORDS = ("melody", "tune", "fiddle", "violin", "whistle", "flute", "pipe", "voice",
                 "vocal", "lead", "solo")  # fmt: skip
_NO_BRACKETS = str.maketrans("", "", "[]")
_FEW = 3
_GRID = 960


@dataclass(slots=True)
class Measure:
    """One measure of the melody.

    Attributes:
        sounds: Notes and rests in order; they fill what of the measure is written.
        left: Bar line before it, as in ABC, where it is no plain one.
        right: Bar line after it, as in ABC.
        ending: Number of the ending that begins here, or empty.
        label: Rehearsal mark with letters, or empty.
        metre: New metre as in ``M:``, or empty.
        fifths: New signature, or ``None``.
        mode: Mode the file gives with the signature, or empty.
    """

    sounds: list[Sound] = field(default_factory=list)
    left: str = ""
    right: str = "|"
    ending: str = ""
    label: str = ""
    metre: str = ""
    fifths: int | None = None
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Melody:
    """The melody of a score.

    Attributes:
        measures: In order.
        titles: As the file gives them, main title first.
        doubt: Which line was taken, where there was a choice.
        spelled: The file spells its pitches (a score does, MIDI does not) and its signature can
            be believed.
    """

    measures: tuple[Measure, ...]
    titles: tuple[str, ...]
    doubt: str
    spelled: bool


def melody_of(score: Any, *, spelled: bool) -> Melody | None:
    """Return the melody of a score, or ``None`` where it has no pitched notes.

    Args:
        score: A music21 stream.
        spelled: It is a score: its lines stand in order, melody first, so the first is taken;
            otherwise (tracks in any order) the highest of those with enough notes. A line named
            for a melody or its instrument comes before both.
    """
    lines = [line for line in (list(score.parts) or [score]) if _pitches(line)]
    if not lines:
        return None
    chosen = _choose(lines, in_order=spelled)
    doubt = ""
    if len(lines) > 1:
        name = str(chosen.partName or "").strip()
        which = f"“{name[:40]}”" if name else f"number {lines.index(chosen) + 1}"
        doubt = f"the file has {len(lines)} lines of music; {which} was taken for the melody"
    return Melody(tuple(_measures(chosen)), tuple(_titles(score)), doubt, spelled)


def _choose(lines: Sequence[Any], *, in_order: bool) -> Any:
    for word in _MELODY_WORDS:
        for line in lines:
            if word in str(line.partName or "").lower():
                return line
    if in_order:
        return lines[0]
    most = max(len(_pitches(line)) for line in lines)
    busy = [line for line in lines if _FEW * len(_pitches(line)) >= most]
    return max(busy, key=lambda line: median(_pitches(line)))


def _pitches(line: Any) -> list[int]:
    return [
        max(pitch.midi for pitch in element.pitches)
        for element in line.flatten().notes
        if element.pitches and not _is_symbol(element)
    ]


def _is_symbol(element: Any) -> bool:
    """Whether an element is a chord symbol, or played without pitch."""
    return "ChordSymbol" in element.classes or "PercussionChord" in element.classes


def _measures(line: Any) -> Iterator[Measure]:
    begins = _endings(line)
    found = list(line.getElementsByClass("Measure"))
    current: tuple[int, str] | None = None
    for place, source in enumerate(found):
        measure = Measure(sounds=_top_line(source), ending=begins.get(id(source), ""))
        if source.timeSignature is not None:
            measure.metre = str(source.timeSignature.ratioString)
        measure.label = _label(source)
        signature = source.keySignature
        if signature is not None:
            fifths, mode = int(signature.sharps), str(getattr(signature, "mode", "") or "")
            if (fifths, mode) != current:
                measure.fifths, measure.mode = current = fifths, mode
        measure.left = _bar_line(source.leftBarline, "")
        measure.right = _bar_line(source.rightBarline, "|]" if place + 1 == len(found) else "|")
        yield measure


def _endings(line: Any) -> dict[int, str]:
    """Numbers of the endings by the measure they begin at."""
    brackets = line.recurse().getElementsByClass("RepeatBracket")
    return {
        id(bracket.getFirst()): "".join(c for c in str(bracket.number) if c.isdigit() or c in ",-")
        for bracket in brackets
        if bracket.getFirst() is not None
    }


def _label(measure: Any) -> str:
    """A rehearsal mark that names a part; numbers count bars, they name nothing."""
    for mark in measure.getElementsByClass("RehearsalMark"):
        label = clean_text(str(mark.content), limit=20).translate(_NO_BRACKETS)
        if label and not label.isdigit():
            return label
    return ""


def _bar_line(barline: Any, plain: str) -> str:
    if barline is None:
        return plain
    direction = getattr(barline, "direction", None)
    if direction is not None:
        return "|:" if direction == "start" else ":|"
    double = barline.type in {"double", "final", "heavy-light", "heavy-heavy", "heavy"}
    return "||" if double else plain


def _top_line(measure: Any) -> list[Sound]:
    """The highest notes of a measure, one at a time; gaps are rests."""
    sounding: list[tuple[Fraction, Fraction, Pitch, bool]] = []
    for element in sorted(measure.flatten().notes, key=_order):
        if element.duration.isGrace or not element.pitches or _is_symbol(element):
            continue
        top = max(element.pitches, key=lambda pitch: pitch.midi)
        begin = _fraction(element.offset)
        end = begin + _fraction(element.quarterLength)
        if end <= begin:
            continue
        if sounding and begin < sounding[-1][1]:
            before = sounding[-1]
            if before[2].midi >= top.midi or before[0] == begin:
                continue
            sounding[-1] = (before[0], begin, before[2], False)
        sounding.append((begin, end, _pitch(top), _tied(element)))
    sounds: list[Sound] = []
    at = Fraction(0)
    for begin, end, pitch, tied in sounding:
        if begin > at:
            sounds.append(Sound(None, begin - at))
        sounds.append(Sound(pitch, end - begin, tied))
        at = end
    written = _fraction(measure.highestTime)
    if written > at:
        sounds.append(Sound(None, written - at))
    return sounds


def _order(element: Any) -> tuple[Fraction, int]:
    return _fraction(element.offset), -max((p.midi for p in element.pitches), default=0)


def _tied(element: Any) -> bool:
    return element.tie is not None and element.tie.type in {"start", "continue"}


def _fraction(length: Any) -> Fraction:
    return Fraction(length).limit_denominator(_GRID)


def _pitch(source: Any) -> Pitch:
    alter = int(source.alter)
    if abs(alter) > 2:
        source = source.getEnharmonic()
        alter = int(source.alter)
    return Pitch(int(source.octave if source.octave is not None else 4), str(source.step), alter)


def notes_of(melody: Melody) -> list[Note]:
    """The sounding notes, for guessing a key; ties are left apart."""
    return [
        Note(sound.pitch, sound.quarters)
        for measure in melody.measures
        for sound in measure.sounds
        if sound.pitch is not None
    ]


LARGEST_BYTES = 32 * 1024 * 1024
"""Largest score unpacked; the largest in common use, a whole opera, takes less."""

XML, ZIPPED, MIDI = (".xml", ".musicxml"), (".mxl",), (".mid", ".midi")


class UnreadableError(Exception):
    """A file that is no score; the text says why in one line."""


def open_score(data: bytes, suffix: str) -> Melody | None:
    """Return the melody of a score, ``None`` where there are no notes.

    Args:
        data: The file.
        suffix: Its ending in small letters, with the dot.

    Raises:
        UnreadableError: It is no MusicXML or MIDI file.
        Exception: Whatever music21 raises on a broken file.
    """
    if suffix in MIDI or data.startswith(b"MThd"):
        return melody_of(_open_midi(data), spelled=False)
    text = _unzipped(data) if suffix in ZIPPED or data.startswith(b"PK") else data
    return melody_of(_open_xml(text), spelled=True)


def _open_midi(data: bytes) -> Any:
    from music21 import midi  # noqa: PLC0415 - slow to load, and only here
    from music21.midi import translate  # noqa: PLC0415

    if not data.startswith(b"MThd"):
        raise UnreadableError("it is no MIDI file")
    file = midi.MidiFile()
    file.readstr(data)
    return translate.midiFileToStream(file)


def _open_xml(data: bytes) -> Any:
    from music21.musicxml import xmlToM21  # noqa: PLC0415 - slow to load, and only here

    try:
        root = ElementTree.fromstring(data)  # noqa: S314 - expat caps what entities may grow to
    except ElementTree.ParseError as error:
        raise UnreadableError(f"it is no MusicXML file (line {error.position[0]})") from error
    if root.tag == "score-timewise":
        raise UnreadableError("the score is written time by time; save it part by part")
    if root.tag != "score-partwise":
        raise UnreadableError("it is no MusicXML file")
    importer = xmlToM21.MusicXMLImporter()
    importer.xmlRoot = root
    importer.xmlRootToScore(root, importer.stream)
    return importer.stream


def _unzipped(data: bytes) -> bytes:
    """The score in a compressed MusicXML file, named by its container (MusicXML 4.0)."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = ElementTree.fromstring(archive.read("META-INF/container.xml"))  # noqa: S314
            found = container.find(".//{*}rootfile")
            name = found.get("full-path", "") if found is not None else ""
            if archive.getinfo(name).file_size > LARGEST_BYTES:
                raise UnreadableError("the score in it is larger than 32 MB")
            return archive.read(name)
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError) as error:
        raise UnreadableError("it is no compressed MusicXML file") from error


def _titles(score: Any) -> list[str]:
    data = score.metadata
    if data is None:
        return []
    found = [data.movementName, data.title, *(data["alternativeTitle"] or ())]
    return list(dict.fromkeys(str(title) for title in found if title))


_UNIT = Fraction(1, 2)
_BARS_A_LINE = 4


def write_melody(melody: Melody, title: str) -> str:
    """Return a melody as one ABC tune.

    What the file does not spell is spelled in the key the notes suggest.

    Args:
        melody: Not empty.
        title: Taken where the file gives none.
    """
    if not melody.spelled:
        melody = _respelled(melody)
    first = melody.measures[0]
    key, doubt = _key(first), melody.doubt
    if first.mode and first.fifths is not None and abs(first.fifths) <= MOST_SIGNS:
        doubt = "; ".join(filter(None, (doubt, _mode_doubt(melody, first.fifths))))
    lines = ["X:1"]
    lines += [
        f"T:{write_text(title)}" for title in map(clean_text, melody.titles or (title,)) if title
    ]
    if doubt:
        lines.append(directive("doubt", doubt))
    lines += [f"M:{first.metre or 'none'}", "L:1/8", f"K:{key}", *_body(melody)]
    return "\n".join(lines)


def _mode_doubt(melody: Melody, fifths: int) -> str:
    """Programs write major for every tune whose player did not say; the notes may know better."""
    given = read_key(_key(melody.measures[0])).key
    guess = guess_key([notes_of(melody)], fifths)
    if given is None or guess is None or not guess.sure or guess.key == given:
        return ""
    return f"the file says {given.name}; by the notes it may be {guess.key.name}"


def _key(measure: Measure) -> str:
    """The ``K:`` field: a root where the file gives a mode, else the bare signature."""
    if measure.fifths is None or abs(measure.fifths) > MOST_SIGNS:
        return "none"
    mode = {"ionian": "major", "aeolian": "minor"}.get(measure.mode, measure.mode)
    if mode not in MODES:
        return write_signature(measure.fifths)
    return write_key(key_of_signature(measure.fifths, mode))


def _signature(measure: Measure) -> Mapping[str, int]:
    if measure.fifths is None or abs(measure.fifths) > MOST_SIGNS:
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
        for sound in measure.sounds:
            length = write_length(sound.quarters / _UNIT)
            if sound.pitch is None:
                line.append(f"z{length}")
            else:
                note = spelling.note(sound.pitch, held=held)
                line.append(f"{note}{length}{'-' if sound.tied else ''}")
            held = sound.tied
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
    guess = guess_key([notes], first.fifths or None)
    key = guess.key if guess is not None else None
    fifths = None if key is None else fifths_of(key.alters())
    measures = [
        replace(
            measure,
            fifths=fifths if place == 0 else None,
            mode="",
            sounds=[
                replace(sound, pitch=spell(sound.pitch.midi, key)) if sound.pitch else sound
                for sound in measure.sounds
            ],
        )
        for place, measure in enumerate(melody.measures)
    ]
    return replace(melody, measures=tuple(measures))
