"""MusicXML and MIDI files, opened with music21. Runs in the child process only.

Nothing goes through music21's own file reading: that would write caches and look up settings.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from tunememory.notation.score_melody import Melody, read_melody

LARGEST_BYTES = 32 * 1024 * 1024
"""Largest score unpacked; the largest in common use, a whole opera, takes less."""

XML, ZIPPED, MIDI = (".xml", ".musicxml"), (".mxl",), (".mid", ".midi")


class UnreadableError(Exception):
    """A file that is no score; the text says why in one line."""


@dataclass(frozen=True, slots=True)
class Opened:
    """What is in a file.

    Attributes:
        melody: ``None`` where there are no notes.
        titles: As the file gives them, main title first.
        spelled: Pitches are spelled and the signature can be believed.
    """

    melody: Melody | None
    titles: list[str]
    spelled: bool


def open_score(data: bytes, suffix: str) -> Opened:
    """Read a score and find its melody.

    Args:
        data: The file.
        suffix: Its ending in small letters, with the dot.

    Raises:
        UnreadableError: It is no MusicXML or MIDI file.
        Exception: Whatever music21 raises on a broken file.
    """
    if suffix in MIDI or data.startswith(b"MThd"):
        score = _open_midi(data)
        return Opened(read_melody(score, top_of_file=False), _titles(score), spelled=False)
    text = _unzipped(data) if suffix in ZIPPED or data.startswith(b"PK") else data
    score = _open_xml(text)
    return Opened(read_melody(score, top_of_file=True), _titles(score), spelled=True)


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
