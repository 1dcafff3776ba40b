"""A tune's starts as MusicXML, written with music21. Runs in the child process only."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tunememory.music.abc.reading import Refusal
from tunememory.music.metre import bar_quarters, cut_bars

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.abc.reading import ReadTune
    from tunememory.music.key import Key
    from tunememory.music.metre import CutBar, Piece
    from tunememory.music.tune import Start


_SHORT = {"C": "4/4", "C|": "2/2"}


def write_musicxml(tune: ReadTune | Refusal) -> str:
    """Return a MusicXML document with each start under its part letter.

    Raises:
        ValueError: The tune has no start with notes.
    """
    from music21 import metadata, stream  # noqa: PLC0415 - slow to load, and only here
    from music21.musicxml import m21ToXml  # noqa: PLC0415

    starts = [] if isinstance(tune, Refusal) else [start for start in tune.starts if start.notes]
    if isinstance(tune, Refusal) or not starts:
        raise ValueError("the tune has no start to write")
    score, part = stream.Score(), stream.Part()
    score.metadata = metadata.Metadata()
    score.metadata.title = tune.titles[0] if tune.titles else ""
    at = Fraction(0)
    for start in starts:
        for measure, length in _measures(start, start.metre_in(tune.metre)):
            measure.number = len(part.getElementsByClass("Measure")) + 1
            # Short bars stand as they are: a gap after them would be filled with rests.
            part.insert(at, measure)
            at += length
    _sign(part, tune, starts)
    score.insert(0, part)
    return bytes(m21ToXml.GeneralObjectExporter(score).parse()).decode("utf-8")


def _measures(start: Start, metre: str) -> list[tuple[Any, Fraction]]:
    """Measures of one start with their lengths in quarter notes."""
    from music21 import bar, expressions, stream  # noqa: PLC0415 - slow to load, and only here

    measures: list[tuple[Any, Fraction]] = []
    full = bar_quarters(metre)
    for cut in cut_bars(start.notes, start.pickup, metre):
        measure = stream.Measure()
        if not measures:
            measure.insert(0, expressions.RehearsalMark(start.part))
        _fill(measure, cut)
        length = sum((piece.quarters for piece in cut.pieces), Fraction(0))
        if full is not None and not measures and cut.closed and length < full:
            measure.paddingLeft = full - length
        measures.append((measure, length))
    measures[-1][0].rightBarline = bar.Barline("double")
    return measures


def _sign(part: Any, tune: ReadTune, starts: Sequence[Start]) -> None:
    """Write metre and key where a start's first measure changes them."""
    from music21 import key as keys  # noqa: PLC0415 - slow to load, and only here
    from music21 import meter  # noqa: PLC0415

    measures = list(part.getElementsByClass("Measure"))
    current: Key | None = None
    beats = ""
    for start in starts:
        begin = next(m for m in measures if _begins(m, start.part))
        metre = start.metre_in(tune.metre)
        if metre != beats and bar_quarters(metre) is not None:
            begin.timeSignature = meter.TimeSignature(_plain(metre))
            beats = metre
        wanted = start.key or tune.key
        if wanted is not None and wanted != current:
            tonic = wanted.root.replace("b", "-")
            begin.keySignature = keys.Key(tonic, wanted.mode)
            current = wanted


def _plain(metre: str) -> str:
    return _SHORT.get(metre.upper(), metre.replace("(", "").replace(")", ""))


def _begins(measure: Any, part: str) -> bool:
    return any(mark.content == part for mark in measure.getElementsByClass("RehearsalMark"))


def _fill(measure: Any, cut: CutBar) -> None:
    from music21 import note, tie  # noqa: PLC0415 - slow, only here

    for piece in cut.pieces:
        written = note.Note(_name(piece))
        written.quarterLength = piece.quarters
        if piece.tied or piece.held:
            kind = "continue" if piece.tied and piece.held else "start" if piece.tied else "stop"
            written.tie = tie.Tie(kind)
        measure.append(written)


def _name(piece: Piece) -> str:
    alter = piece.pitch.alter
    return f"{piece.pitch.letter}{'#' * alter if alter > 0 else '-' * -alter}{piece.pitch.octave}"
