"""Players that are small scripts, on a path of their own."""

from __future__ import annotations

import shutil
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tunememory.music.sound.player import Player


def until(condition: Callable[[], object], seconds: float = 10.0) -> None:
    """Wait until ``condition()`` holds; fail when it does not within ``seconds``."""
    end = time.monotonic() + seconds
    tick = threading.Event()
    while not condition():
        assert time.monotonic() < end, "this did not come true in time"
        tick.wait(0.005)


class Players:
    """A folder of players; each notes what it was given.

    Attributes:
        folder: The only folder on the path.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._tools = {name: shutil.which(name) for name in ("cp", "tail", "sh")}

    def put(self, name: str, *lines: str) -> None:
        """Make a player of shell lines; ``$HEARD`` is its note, ``$LAST`` the file it is given."""
        file = self.folder / name
        file.write_text(
            "\n".join([
                f"#!{self._tools['sh']}",
                f"HEARD='{self.folder / name}.heard'",
                'for LAST; do :; done',
                'echo "$*" > "$HEARD"',
                *lines,
            ]) + "\n"
        )  # fmt: skip
        file.chmod(0o755)

    def put_good(self, name: str) -> None:
        """A player that keeps a copy of the sound and ends well."""
        self.put(name, f"{self._tools['cp']} \"$LAST\" '{self.folder}/{name}.wav'")

    def put_endless(self, name: str) -> None:
        """A player that goes on until it is stopped; it notes its process number."""
        self.put(
            name,
            f"echo $$ > '{self.folder}/{name}.new'",
            f"mv '{self.folder}/{name}.new' '{self.folder}/{name}.pid'",
            f"{self._tools['tail']} -f /dev/null",
        )

    def put_noisy(self, name: str) -> None:
        """A player that shouts in every way it can, and fails."""
        self.put(
            name,
            "echo SHOUT",
            "echo SHOUT >&2",
            "(echo SHOUT > /dev/tty) 2>/dev/null",
            "exit 1",
        )

    def heard(self, name: str) -> str:
        """The arguments that a player was called with, or an empty text."""
        file = self.folder / f"{name}.heard"
        return file.read_text().strip() if file.exists() else ""

    def wav(self, name: str) -> bytes:
        """The sound that a good player was given."""
        return (self.folder / f"{name}.wav").read_bytes()

    def pid(self, name: str) -> int:
        """Process number of an endless player, once it runs."""
        file = self.folder / f"{name}.pid"
        until(file.exists)
        return int(file.read_text())


@pytest.fixture
def players(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Players:
    """No player at all until one is put there; sounds are written into a folder of their own."""
    if sys.platform == "win32":
        pytest.skip("the players are shell scripts")
    folder = tmp_path / "bin"
    folder.mkdir()
    sounds = tmp_path / "sounds"
    sounds.mkdir()
    made = Players(folder)
    (folder / "mv").symlink_to(shutil.which("mv") or "/bin/mv")
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setattr("tempfile.tempdir", str(sounds))
    return made


@pytest.fixture
def no_sound_file_left(tmp_path: Path) -> Callable[[], bool]:
    """Whether every file of a sound was removed."""
    return lambda: not list((tmp_path / "sounds").iterdir())


@pytest.fixture
def player():
    """A player that is silent at the end of the test."""
    made = Player()
    yield made
    made.close()
