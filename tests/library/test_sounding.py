"""Starts made ready to be heard."""

from __future__ import annotations

import io
import sqlite3
import subprocess
import sys
import wave
from dataclasses import replace
from pathlib import Path
from threading import Thread

import numpy as np
import pytest

from tunememory.errors import NotDoneError
from tunememory.library import starts as sound_
from tunememory.library.adding import Draft, add_tune, sound_of_draft
from tunememory.library.starts import Sound, sound_caution, sound_of, sound_of_piece
from tunememory.music.sound import tempo
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Tune
from tunememory.practice.ways import material_of
from tunememory.store.errors import RepertoireError

JIG = Draft(("Saltpan Jig",), "jig", "D", "6/8", starts=(("A", "d2 f afd"), ("B", "A2 d fed")))


def heard(wav: bytes) -> np.ndarray:
    with wave.open(io.BytesIO(wav)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 44_100)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32_767


def test_a_start_sounds_at_the_speed_of_its_kind(session) -> None:
    """Six eighths of a jig at 110 dotted quarters a minute; common practice, no source."""
    sound = sound_of(add_tune(session, JIG), session.settings, ["A"])
    assert sound.seconds == pytest.approx(2 * 60 / 110)
    samples = heard(sound.wav())
    audible = np.flatnonzero(np.abs(samples) > 1e-3)
    assert (audible[-1] - audible[0]) / 44_100 == pytest.approx(sound.seconds, abs=0.08)


def test_all_starts_that_are_written_down(session) -> None:
    tune = add_tune(session, replace(JIG, starts=(*JIG.starts, ("C", ""))))
    both = sound_of(tune, session.settings)
    assert [start.part for start in both.starts] == ["A", "B"]
    assert both.seconds == pytest.approx(2 * sound_of(tune, session.settings, ["B"]).seconds)
    assert heard(both.wav()).size > heard(sound_of(tune, session.settings, ["A"]).wav()).size * 1.8


@pytest.mark.parametrize(("parts", "named"), [((), "a start"), (("B",), "the B start")])
def test_nothing_written_down_is_said(session, parts, named) -> None:
    tune = add_tune(session, Draft(("Silent Jig",), starts=(("A", ""),)))
    with pytest.raises(NotDoneError, match=f"Silent Jig has not got {named} written down"):
        sound_of(tune, session.settings, parts)


def test_loudness_and_drone_are_remembered(session) -> None:
    tune = add_tune(session, JIG)
    quiet = heard(sound_of(tune, session.settings).wav())
    assert 20 * np.log10(np.abs(quiet).max()) == pytest.approx(-20, abs=0.05)
    assert sound_of(tune, session.settings).drones == ((), ())
    session.save_settings(replace(session.settings, loudness="usual", drone=True))
    session.reload()
    sound = sound_of(tune, session.settings)
    assert sound.drones == ((62, 69), (62, 69))
    assert 20 * np.log10(np.abs(heard(sound.wav())).max()) == pytest.approx(-12, abs=0.05)
    assert sound_of(tune, session.settings, drone=False).drones == ((), ())


@pytest.mark.parametrize(
    ("root", "tuning", "pitches"),
    [
        ("D", "GDAE", (62, 69)),
        ("G", "GDAE", (55, 62)),
        ("A", "GDAE", (69, 76)),
        ("E", "GDAE", (76,)),
        ("C", "GDAE", (55,)),
        ("F", "GDAE", ()),
        ("A", "AEAE", (57, 64)),
        ("D", "ADAE", (62, 57)),
        ("G", "gDGBD", (55, 50)),
    ],
)
def test_drones_are_the_lowest_strings_of_root_and_fifth(root, tuning, pitches) -> None:
    """Common practice, no source."""
    classes = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9}
    assert sound_.drone_pitches(classes[root], parse_tuning(tuning)) == pitches


def test_the_drone_follows_the_tuning_and_the_key_of_the_part(session) -> None:
    tune = add_tune(session, replace(JIG, key="A", tuning="AEAE"))
    assert sound_of(tune, session.settings, drone=True).drones == ((57, 64), (57, 64))
    in_d = replace(tune, tuning=STANDARD, starts=(replace(tune.starts[0], key=None),))
    assert sound_of(replace(in_d, key=None), session.settings, drone=True).drones == ((),)
    sound_of(replace(in_d, key=None), session.settings, drone=True).wav()


def test_a_start_as_typed_needs_neither_name_nor_the_other_starts(session) -> None:
    draft = replace(JIG, titles=(), starts=(("A", "?!"), ("B", "A2 d fed")))
    sound = sound_of_draft(session, draft, "B")
    assert [note.pitch.midi for note in sound.starts[0].notes] == [69, 74, 78, 76, 74]
    with pytest.raises(NotDoneError, match="A start"):
        sound_of_draft(session, draft, "A")
    with pytest.raises(NotDoneError, match="not a key"):
        sound_of_draft(session, replace(draft, key="H sharp"), "B")
    with pytest.raises(NotDoneError, match="nothing to hear"):
        sound_of_draft(session, draft, "C")
    assert session.tunes == {}


def test_the_caution_is_said_once_for_good(session) -> None:
    assert "low" in sound_caution(session)
    assert sound_caution(session) == ""
    session.reload()
    assert sound_caution(session) == ""
    session.save_settings(replace(session.settings, drone=True))
    assert sound_caution(session) == ""


def test_a_file_that_cannot_be_written_to_does_not_hush_the_sound(session, monkeypatch) -> None:
    def full(_: object) -> None:
        raise RepertoireError("own.tunes: the disk is full")

    monkeypatch.setattr(session.repertoire.settings, "save", full)
    assert sound_caution(session) == sound_.CAUTION
    assert sound_caution(session) == sound_.CAUTION


def test_the_same_start_always_sounds_the_same(session) -> None:
    tune = add_tune(session, JIG)
    assert sound_of(tune, session.settings).wav() == sound_of(tune, session.settings).wav()


def test_making_a_sound_ready_loads_no_numpy() -> None:
    code = (
        "import sys\n"
        "from tunememory.library.starts import sound_of\n"
        "from tunememory.settings import Settings\n"
        "from tunememory.music.tune import Tune, Start\n"
        "from tunememory.music.pitch import Note, Pitch\n"
        "from fractions import Fraction\n"
        "tune = Tune('x', ('It',), starts=(Start('A', (Note(Pitch(4, 'D'), Fraction(1)),)),))\n"
        "print(sound_of(tune, Settings()).seconds)\n"
        "import tunememory.music.sound.player\n"
        "assert 'numpy' not in sys.modules\n"
    )
    subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, cwd=Path(__file__).parents[2]
    )


def test_the_sound_can_be_made_on_another_thread(session) -> None:
    """SQLite refuses a connection to other threads than its own: none is used."""
    sound = sound_of(add_tune(session, JIG), session.settings)
    made: list[bytes] = []
    thread = Thread(target=lambda: made.append(sound.wav()))
    thread.start()
    thread.join(10)
    assert made == [sound.wav()]
    with pytest.raises(sqlite3.ProgrammingError):
        raise_from_another_thread(session)


def raise_from_another_thread(session) -> None:
    caught: list[Exception] = []

    def use() -> None:
        try:
            session.repertoire.settings.all()
        except sqlite3.ProgrammingError as error:
            caught.append(error)

    thread = Thread(target=use)
    thread.start()
    thread.join(10)
    raise caught[0]


def sound_of_way(session, tune: Tune, way: str, number: int = 0) -> Sound:
    piece = material_of(session, tune.uuid, way).pieces[number]
    return sound_of_piece(piece, tune, session.settings)


def test_a_piece_goes_as_fast_as_its_tune_only_in_its_metre(session) -> None:
    tune = add_tune(session, JIG)
    home = sound_of_way(session, tune, "key", 0)
    assert home.tempo == sound_of(tune, session.settings).tempo
    as_reel = sound_of_way(session, tune, "metre", 1)
    assert (as_reel.metre, as_reel.tempo) == ("C|", tempo.quarters_per_minute("", "C|"))
    exercise = sound_of_way(session, tune, "scale")
    assert (exercise.metre, exercise.tempo) == ("", sound_.EXERCISE_TEMPO)


def test_chords_of_a_piece_sound_under_it_in_place_of_a_drone(session) -> None:
    tune = add_tune(session, JIG)
    session.save_settings(replace(session.settings, drone=True))
    assert sound_of_way(session, tune, "key").drones != ((),)
    sound = sound_of_way(session, tune, "chords")
    assert sound.drones == ((),)
    assert any(sound.under[0])
    assert sound.wav() != replace(sound, under=()).wav()
