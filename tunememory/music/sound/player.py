"""Plays a WAV file in a child process that cannot write to the terminal nor hold anything up."""

from __future__ import annotations

import atexit
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.music.sound.tempo import RATE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    Command = Sequence[str]


NO_PLAYER = "No sound: no player (pw-play, paplay, aplay, ffplay)."
NO_DEVICE = "No sound: no sound device answered."
NO_ROOM = "No sound: its file could not be written."
NOT_MADE = "No sound: it could not be made."
"""What is said when there is nothing to hear; short enough for one line of a small window."""

_COMMANDS = (
    ("pw-play",),
    ("paplay",),
    ("aplay", "-q"),
    ("afplay",),
    ("ffplay", "-nodisp", "-autoexit", "-loglevel", "quiet"),
)
"""Players of Linux and macOS that take a file as their last argument, the best first."""

_ON_WINDOWS = (
    sys.executable,
    "-c",
    "import sys, winsound;"
    "winsound.PlaySound(sys.argv[1], winsound.SND_FILENAME | winsound.SND_NODEFAULT)",
)

_PATIENCE = 10.0
"""Seconds that a player may take longer than its sound before it is given up."""

_FAREWELL = 2.0
"""Seconds to wait for a player to be gone when the program ends."""


def player_commands() -> list[Command]:
    """Return the players of this machine, the best first; each takes a WAV file as argument."""
    if sys.platform == "win32":
        return [_ON_WINDOWS]
    return [(found, *command[1:]) for command in _COMMANDS if (found := shutil.which(command[0]))]


class Player:
    """Plays one sound at a time; every method returns at once.

    Args:
        commands: Finds the players of this machine, when first wanted.
    """

    def __init__(self, commands: Callable[[], list[Command]] = player_commands) -> None:
        self._find = commands
        self._commands: list[Command] | None = None
        self._playing: _Playing | None = None

    @property
    def playing(self) -> bool:
        """Whether a sound was started that has neither ended nor been stopped."""
        return self._playing is not None and self._playing.lasts

    def start(self, make: Callable[[], bytes], ended: Callable[[str], None]) -> None:
        """Stop what plays and play another sound.

        Args:
            make: Makes the WAV file; called on another thread, so it must share nothing.
            ended: Called on another thread when the sound is over by itself: with an empty text,
                or with one line saying why nothing was heard. Not called after ``stop``.
        """
        self.stop()
        if self._commands is None:
            self._commands = self._find()
            atexit.register(self.close)
        self._playing = _Playing(make, self._commands, ended)
        threading.Thread(target=self._playing.run, name="sound", daemon=True).start()

    def stop(self) -> None:
        """Stop what plays, if anything does."""
        if self._playing is not None:
            self._playing.stop()

    def close(self) -> None:
        """Stop, and wait a moment until the file of the sound is removed."""
        atexit.unregister(self.close)
        if self._playing is not None:
            self._playing.stop()
            self._playing.gone.wait(_FAREWELL)


def play_to_end(
    make: Callable[[], bytes], commands: Callable[[], list[Command]] = player_commands
) -> str:
    """Play a sound and wait for its end; an interruption stops it.

    Returns:
        An empty text, or one line saying why nothing was heard.
    """
    return _Playing(make, commands(), lambda _: None).play()


class _Playing:
    """One sound on its way through the players of a machine."""

    def __init__(
        self, make: Callable[[], bytes], commands: list[Command], ended: Callable[[str], None]
    ) -> None:
        self._make = make
        self._commands = commands
        self._ended = ended
        self._stopped = threading.Event()
        self._child: subprocess.Popen[bytes] | None = None
        self.gone = threading.Event()
        """Set once the child has ended and the file is removed."""

    @property
    def lasts(self) -> bool:
        return not self._stopped.is_set() and not self.gone.is_set()

    def run(self) -> None:
        try:
            why = self.play()
        except Exception:  # a traceback of a thread would be written over the screen
            why = NOT_MADE
        finally:
            self.gone.set()
        if not self._stopped.is_set():
            self._ended(why)

    def stop(self) -> None:
        self._stopped.set()
        child = self._child
        if child is not None:
            _kill(child)

    def play(self) -> str:
        if not self._commands:
            return NO_PLAYER
        wav = self._make()
        try:
            path = _put_down(wav)
        except OSError:
            return NO_ROOM
        limit = len(wav) / (2 * RATE) + _PATIENCE
        try:
            # A player may be installed without the sound service that it talks to.
            for command in list(self._commands):
                if self._stopped.is_set():
                    return ""
                if self._played_by(command, path, limit):
                    self._commands.remove(command)
                    self._commands.insert(0, command)
                    return ""
            return NO_DEVICE
        finally:
            with suppress(OSError):
                path.unlink()

    def _played_by(self, command: Command, path: Path, limit: float) -> bool:
        try:
            child = subprocess.Popen(  # noqa: S603 - a player found by its name, no shell
                [*command, str(path)],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                # A session of its own has no terminal that it could open and write to.
                start_new_session=True,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except OSError:
            return False
        self._child = child
        try:
            if self._stopped.is_set():
                return True
            return child.wait(limit) == 0 or self._stopped.is_set()
        except subprocess.TimeoutExpired:
            return False
        finally:
            _kill(child)
            child.wait()


def _put_down(wav: bytes) -> Path:
    """Write the sound into a file that only its owner can read."""
    handle, name = tempfile.mkstemp(prefix="tunememory-", suffix=".wav")
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(wav)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    return path


def _kill(child: subprocess.Popen[bytes]) -> None:
    """End a player and whatever it started; one that has ended already is left alone."""
    if child.poll() is not None:
        return
    with suppress(OSError):
        if sys.platform == "win32":
            child.kill()
        else:
            os.killpg(child.pid, signal.SIGKILL)
