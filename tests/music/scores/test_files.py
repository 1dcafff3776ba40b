"""MusicXML and MIDI through the child process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from music21 import instrument, meter, note, stream
from music21.midi import translate

from tunememory.errors import NotDoneError
from tunememory.music.abc.notes import parse_notes
from tunememory.music.abc.reading import ReadTune, Refusal
from tunememory.music.key import Key
from tunememory.music.scores.files import read_score, write_musicxml
from tunememory.music.tune import Start, Tune

D_MAJOR = Key("D")
CORPUS = Path(music21.__file__).parent / "corpus"


def start(part: str, text: str, key: Key, metre: str, own: Key | None = None) -> Start:
    read = parse_notes(text, own or key, metre)
    assert read.problem == ""
    return Start(part, read.notes, read.pickup, text, own)


def quiet(_done: int, _total: int) -> None:
    pass


def read(path: Path) -> ReadTune:
    tune = read_score(path, quiet)
    assert isinstance(tune, ReadTune), tune
    return tune


TUNES = {
    "a jig with pickups": Tune(
        "1",
        ("Salt & Sand", "The Sill"),
        key=Key("D"),
        metre="6/8",
        starts=(
            start("A", "A|d2f afd|g2e c>de|", Key("D"), "6/8"),
            start("B", "fg|a3 afd|b3 gfe|", Key("D"), "6/8"),
        ),
    ),
    "a reel that changes key": Tune(
        "2",
        ("Low Water",),
        key=Key("E", "dorian"),
        metre="C|",
        starts=(
            start("A", "E2BE dEBE|E2BE AFDF|", Key("E", "dorian"), "C|"),
            start("B", "A2cA eAcA|^d2ed cABc|", Key("E", "dorian"), "C|", Key("A")),
        ),
    ),
    "triplets and a tie": Tune(
        "3",
        ("The Causeway",),
        key=Key("Bb"),
        metre="2/4",
        starts=(start("A", "(3fga|b2 d2-|d(3efg f|", Key("Bb"), "2/4"),),
    ),
    "a part in another metre": Tune(
        "5",
        ("The Weir",),
        key=Key("G"),
        metre="6/8",
        starts=(
            start("A", "D|GBd gdB|cAF G2D|", Key("G"), "6/8"),
            start("B", "[M:9/8]g|fed cBA Bcd|efg agf edc|", Key("G"), "6/8"),
        ),
    ),
    "seven in a bar": Tune(
        "4",
        ("Crooked Stair",),
        key=Key("A", "minor"),
        metre="(2+2+3)/8",
        starts=(start("A", "ABcde^fg|a2e2c3|", Key("A", "minor"), "(2+2+3)/8"),),
    ),
}


@pytest.mark.parametrize("name", TUNES)
def test_starts_come_back_from_musicxml(name, tmp_path):
    tune = TUNES[name]
    path = tmp_path / "tune.musicxml"
    path.write_text(write_musicxml(tune), encoding="utf-8")
    back = read(path)
    assert back.titles == tune.titles[:1]
    assert back.key == tune.key
    assert [(s.part, s.notes, s.pickup, s.key) for s in back.starts] == [
        (s.part, s.notes, s.pickup, s.key) for s in tune.starts
    ]


def test_a_tune_without_starts_cannot_be_written():
    with pytest.raises(NotDoneError, match="no start to write"):
        write_musicxml(Tune("1", ("Only a Name",)))


def midi(path: Path, *tracks: tuple[str, str, int], key: Key = D_MAJOR) -> Path:
    """A MIDI file of tracks given as name, ABC and octaves to move by."""
    score = stream.Score()
    for name, text, octaves in tracks:
        part = stream.Part()
        voice = instrument.Instrument()
        voice.partName = name
        part.append(voice)
        part.append(meter.TimeSignature("6/8"))
        for one in parse_notes(text, key, "6/8").notes:
            written = note.Note(one.pitch.midi + 12 * octaves)
            written.quarterLength = one.quarters
            part.append(written)
        score.insert(0, part)
    path.write_bytes(translate.streamToMidiFile(score).writestr())
    return path


JIG = "d2f afd|g2e cde|d2f afd|gec d3|d2f afd|g2e cde|d2f afd|gec d3|"


def test_midi_takes_the_high_line_and_finds_key_and_parts(tmp_path):
    bass = "D3 A,3|D3 A,3|D3 A,3|A,3 D3|" * 2
    back = read(midi(tmp_path / "salt_road.mid", ("", bass, -1), ("", JIG, 0)))
    assert back.titles == ("salt road",)
    assert back.metre == "6/8"
    assert back.key == Key("D")
    assert [one.pitch.letter for one in back.starts[0].notes][:4] == ["D", "F", "A", "F"]
    assert back.starts[0].notes[1].pitch.alter == 1
    assert sum(one.quarters for one in back.starts[0].notes) == 6
    assert any("2 lines of music" in doubt for doubt in back.doubts)
    assert any("D major" in doubt for doubt in back.doubts)


def test_midi_takes_the_line_named_for_a_melody(tmp_path):
    back = read(midi(tmp_path / "x.mid", ("Descant", JIG, 1), ("Fiddle", JIG, 0)))
    assert back.starts[0].notes[0].pitch.octave == 5
    assert any("“Fiddle”" in doubt for doubt in back.doubts)


def test_midi_spells_in_the_key_of_its_notes(tmp_path):
    text = "B2d fdB|e2c ABc|B2d fdB|cFA B3|" * 2
    path = midi(tmp_path / "flat.mid", ("", text, 0), key=Key("Bb"))
    back = read(path)
    assert back.key == Key("Bb")
    assert {(n.pitch.letter, n.pitch.alter) for s in back.starts for n in s.notes} <= {
        ("B", -1), ("D", 0), ("F", 0), ("E", -1), ("C", 0), ("A", 0),
    }  # fmt: skip


def test_scores_of_the_corpus():
    """Two printed scores that come with the music21 package."""
    song = read(CORPUS / "schubert" / "Lindenbaum.xml")
    assert any("melody" in doubt for doubt in song.doubts)
    assert song.starts[0].notes
    hymn = read(CORPUS / "bach" / "bwv66.6.mxl")
    # Bach, BWV 66.6, soprano: c# b a b c# e, in eighths and quarters.
    assert [one.pitch.midi for one in hymn.starts[0].notes][:6] == [73, 71, 69, 71, 73, 76]
    assert hymn.starts[0].pickup == 1
    assert hymn.starts[0].notes[0].quarters == Fraction(1, 2)


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("empty.musicxml", b"", "no MusicXML file"),
        ("words.xml", b"Dear box player,", "no MusicXML file"),
        ("page.xml", b"<html><body/></html>", "no MusicXML file"),
        ("time.xml", b"<score-timewise/>", "part by part"),
        ("silent.xml", b"<score-partwise><part-list/></score-partwise>", "no notes"),
        ("torn.mxl", b"PK\x03\x04 torn", "no compressed MusicXML file"),
        ("words.mid", b"Dear box player,", "no MIDI file"),
        ("torn.mid", b"MThd\x00\x00\x00\x06\x00\x01", "cannot be read"),
        ("empty.mid", b"", "no MIDI file"),
    ],
)
def test_what_is_no_score_is_refused_in_one_line(tmp_path, name, data, why):
    path = tmp_path / name
    path.write_bytes(data)
    refusal = read_score(path, quiet)
    assert isinstance(refusal, Refusal)
    assert why in refusal.why
    assert "\n" not in refusal.why


def test_a_file_that_is_not_there_is_refused(tmp_path):
    refusal = read_score(tmp_path / "nothing.mid", quiet)
    assert isinstance(refusal, Refusal)
    assert "No such file" in refusal.why


def test_a_file_that_takes_too_long_is_given_up(tmp_path):
    path = midi(tmp_path / "x.mid", ("", JIG, 0))
    refusal = read_score(path, quiet, time_limit=0.01)
    assert isinstance(refusal, Refusal)
    assert "longer than" in refusal.why


def test_progress_is_told(tmp_path):
    told: list[tuple[int, int]] = []
    read_score(
        midi(tmp_path / "x.mid", ("", JIG, 0)), lambda done, total: told.append((done, total))
    )
    assert told[0] == (0, 1)


def test_the_child_speaks_json_lines_and_leaves_the_machine_clean(tmp_path):
    home, scratch = tmp_path / "home", tmp_path / "scratch"
    home.mkdir()
    scratch.mkdir()
    path = midi(tmp_path / "x.mid", ("", JIG, 0))
    environment = {
        **os.environ, "HOME": str(home), "XDG_CONFIG_HOME": str(home), "TMPDIR": str(scratch),
        "APPDATA": str(home), "TEMP": str(scratch), "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", "tunememory.music.scores", "read", str(path)],
        capture_output=True, text=True, env=environment, timeout=60, check=True,
    )  # fmt: skip
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [next(iter(answer)) for answer in answers] == ["progress", "abc", "progress", "end"]
    assert done.stderr == ""
    assert list(home.rglob("*")) == []
    assert list(scratch.rglob("*")) == []


def test_an_unknown_request_is_wrong_usage():
    command = [sys.executable, "-m", "tunememory.music.scores"]
    done = subprocess.run(command, timeout=60, check=False)
    assert done.returncode == 2


def test_music21_stays_in_the_child():
    script = "import sys, tunememory.music.scores.files; sys.exit('music21' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], timeout=60, check=False).returncode == 0
