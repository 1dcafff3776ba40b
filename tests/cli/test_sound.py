"""``show --sound`` and ``show --play``."""

from __future__ import annotations

import shutil
import sys
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

Say = Callable[..., Any]

REEL = ("add", "The Saltpan Reel", "--key", "D", "--kind", "reel", "--metre", "C|",
        "--a", "A2 FA DAFA", "--b", "f2 df afdf", "--c", "")  # fmt: skip
JIG = ("add", "Saltpan Jig", "--key", "G", "--kind", "jig", "--metre", "6/8")


@pytest.fixture
def no_players(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the whole path."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return folder


def put_player(folder: Path, *lines: str) -> None:
    if sys.platform == "win32":
        pytest.skip("the players are shell scripts")
    player = folder / "paplay"
    player.write_text("\n".join(["#!/bin/sh", *lines]) + "\n")
    player.chmod(0o755)


def samples_of(path: Path) -> np.ndarray:
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 44_100)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32_767


def test_all_starts_of_a_tune_are_written(say: Say, tmp_path: Path) -> None:
    """Two bars of a reel at 90 half notes a minute, a pause between: common practice, no source."""
    say(*REEL)
    file = tmp_path / "saltpan.wav"
    said = say("show", "saltpan", "--sound", str(file))
    assert (said.code, said.err) == (0, "")
    assert said.out == f"wrote The Saltpan Reel (A, B) to {file}\n"
    samples = samples_of(file)
    assert samples.size / 44_100 == pytest.approx(2 * 4 * 60 / 180 + 0.7 + 0.3, abs=0.01)
    assert 20 * np.log10(np.abs(samples).max()) == pytest.approx(-20, abs=0.05)


def test_the_drone_is_heard_in_the_file(say: Say, tmp_path: Path) -> None:
    say(*REEL)
    plain, droned = tmp_path / "plain.wav", tmp_path / "droned.wav"
    say("show", "saltpan", "--sound", str(plain))
    say("show", "saltpan", "--drone", "--sound", str(droned))
    assert samples_of(plain).size == samples_of(droned).size
    assert not np.array_equal(samples_of(plain), samples_of(droned))


def test_a_name_that_fits_several_tunes_is_not_guessed(say: Say, tmp_path: Path) -> None:
    say(*REEL)
    say(*JIG)
    said = say("show", "saltpan", "--sound", str(tmp_path / "x.wav"))
    assert said.code == 1
    assert "could be several tunes" in said.err
    assert not (tmp_path / "x.wav").exists()


def test_a_tune_with_no_start_has_nothing_to_hear(say: Say, tmp_path: Path) -> None:
    say(*JIG)
    said = say("show", "jig", "--sound", str(tmp_path / "x.wav"))
    assert (said.code, said.out) == (1, "")
    assert said.err.count("\n") == 1
    assert "Saltpan Jig has not got a start written down" in said.err


def test_a_folder_that_is_not_there_is_said(say: Say, tmp_path: Path) -> None:
    say(*REEL)
    said = say("show", "saltpan", "--sound", str(tmp_path / "no" / "x.wav"))
    assert said.code == 1
    assert "x.wav: no such file or directory" in said.err


@pytest.mark.parametrize("more", [("--drone",), ("--json", "--play"), ("--json", "--sound", "x")])
def test_options_that_do_not_fit_together(say: Say, more: tuple[str, ...]) -> None:
    say(*REEL)
    said = say("show", "saltpan", *more)
    assert (said.code, said.out) == (2, "")
    assert said.err.count("\n") == 1


def test_playing_says_the_caution_once(say: Say, no_players: Path) -> None:
    copy = shutil.which("cp", path="/bin:/usr/bin")
    put_player(no_players, f"{copy} \"$1\" '{no_players}/heard.wav'")
    say(*REEL)
    first = say("show", "saltpan", "--play")
    assert (first.code, first.err) == (0, "")
    title, caution = first.out.splitlines()
    assert title == "The Saltpan Reel (A, B)"
    assert "low" in caution
    assert samples_of(no_players / "heard.wav").size > 44_100
    assert say("show", "saltpan", "--play").out.splitlines() == [title]


def test_no_player_is_one_line(say: Say, no_players: Path) -> None:
    say(*REEL)
    said = say("show", "saltpan", "--play")
    assert said.code == 1
    assert said.err.startswith("tunememory: No sound: no player ")
    assert said.err.count("\n") == 1


def test_no_device_is_one_line(say: Say, no_players: Path) -> None:
    put_player(no_players, "exit 1")
    say(*REEL)
    said = say("show", "saltpan", "--play")
    assert said.code == 1
    assert said.err == "tunememory: No sound: no sound device answered.\n"


def test_writing_and_playing_at_once(say: Say, no_players: Path, tmp_path: Path) -> None:
    say(*REEL)
    said = say("show", "saltpan", "--sound", str(tmp_path / "x.wav"), "--play")
    assert said.code == 1
    assert samples_of(tmp_path / "x.wav").size
