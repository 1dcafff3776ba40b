"""Playing in a child process: started, stopped, over, failed, and never on the terminal."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tunememory.music.sound.player import (
    NO_DEVICE,
    NO_PLAYER,
    NO_ROOM,
    NOT_MADE,
    Player,
    play_to_end,
    player_commands,
)

WAV = b"RIFF not a real sound"


def made() -> bytes:
    return WAV


class Over:
    """Waits for the word that a sound is over."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self._over = threading.Event()

    def __call__(self, why: str) -> None:
        self.said.append(why)
        self._over.set()

    def why(self) -> str:
        assert self._over.wait(10), "the sound was never over"
        return self.said[-1]


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def until(condition: Callable[[], object]) -> None:
    tick = threading.Event()
    for _ in range(2000):
        if condition():
            return
        tick.wait(0.005)
    pytest.fail("this did not come true in time")


def test_a_sound_is_played_and_its_file_removed(players, player, no_sound_file_left) -> None:
    players.put_good("aplay")
    over = Over()
    player.start(made, over)
    assert over.why() == ""
    assert players.wav("aplay") == WAV
    assert players.heard("aplay").startswith("-q ")
    assert not player.playing
    until(no_sound_file_left)


def test_the_best_player_is_taken(players) -> None:
    for name in ("ffplay", "aplay", "paplay"):
        players.put_good(name)
    assert [Path(command[0]).name for command in player_commands()] == ["paplay", "aplay", "ffplay"]
    assert play_to_end(made) == ""
    assert players.wav("paplay") == WAV
    assert players.heard("aplay") == ""


def test_the_next_player_is_tried_and_remembered(players, player, no_sound_file_left) -> None:
    players.put("pw-play", "exit 1")
    players.put_good("aplay")
    for time in (1, 2):
        over = Over()
        player.start(made, over)
        assert over.why() == ""
        assert players.wav("aplay") == WAV
        (players.folder / "aplay.wav").unlink()
        tried = players.folder / "pw-play.heard"
        assert tried.exists() is (time == 1)
        tried.unlink(missing_ok=True)
    until(no_sound_file_left)


def test_stopping_ends_the_player(players, player, no_sound_file_left) -> None:
    players.put_endless("paplay")
    over = Over()
    player.start(made, over)
    pid = players.pid("paplay")
    assert player.playing
    player.stop()
    assert not player.playing
    until(lambda: not alive(pid))
    until(no_sound_file_left)
    assert over.said == []


def test_what_a_player_started_is_stopped_with_it(players, player, tmp_path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    players.put(
        "paplay", f"{shutil.which('tail', path=os.defpath)} -f /dev/null > '{pipe}'", "exit"
    )
    player.start(made, Over())
    with pipe.open("rb") as held:
        player.stop()
        # The end is read once nobody holds the other side any more.
        assert held.read() == b""


def test_another_start_stops_the_one_before(players, player) -> None:
    players.put_endless("paplay")
    first, second = Over(), Over()
    player.start(made, first)
    pid = players.pid("paplay")
    players.put_good("paplay")
    player.start(made, second)
    assert second.why() == ""
    until(lambda: not alive(pid))
    assert first.said == []


def test_stopping_before_the_sound_is_made_starts_nothing(players, player) -> None:
    players.put_good("paplay")
    wait = threading.Event()
    asked = threading.Event()

    def slow() -> bytes:
        asked.set()
        wait.wait(10)
        return WAV

    over = Over()
    player.start(slow, over)
    assert asked.wait(10)
    player.stop()
    wait.set()
    player.close()
    assert players.heard("paplay") == ""
    assert over.said == []


def test_a_crash_is_noticed(players, player, no_sound_file_left) -> None:
    players.put("paplay", "kill -SEGV $$")
    over = Over()
    player.start(made, over)
    assert over.why() == NO_DEVICE
    until(no_sound_file_left)


def test_a_device_that_does_not_answer_is_said(players, no_sound_file_left) -> None:
    players.put("pw-play", "exit 1")
    players.put("aplay", "exit 2")
    assert play_to_end(made) == NO_DEVICE
    assert players.heard("pw-play")
    assert players.heard("aplay")
    assert no_sound_file_left()


def test_no_player_is_said_and_nothing_made(players, player) -> None:
    over = Over()
    player.start(lambda: pytest.fail("made for nobody"), over)
    assert over.why() == NO_PLAYER
    assert play_to_end(made) == NO_PLAYER


def test_a_player_that_cannot_be_started_is_passed_over(players) -> None:
    (players.folder / "pw-play").write_text("#!/nowhere/at/all\n")
    (players.folder / "pw-play").chmod(0o755)
    assert play_to_end(made) == NO_DEVICE
    players.put_good("ffplay")
    assert play_to_end(made) == ""
    assert players.heard("ffplay").startswith("-nodisp -autoexit -loglevel quiet ")


def test_a_player_that_hangs_is_given_up(players, monkeypatch, no_sound_file_left) -> None:
    monkeypatch.setattr("tunememory.music.sound.player._PATIENCE", 0.05)
    players.put_endless("paplay")
    assert play_to_end(made) == NO_DEVICE
    assert no_sound_file_left()


def test_no_room_for_the_file_is_said(players, player, tmp_path, monkeypatch) -> None:
    players.put_good("paplay")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "gone"))
    over = Over()
    player.start(made, over)
    assert over.why() == NO_ROOM


def test_a_fault_while_the_sound_is_made_is_not_printed(players, player, capfd) -> None:
    players.put_good("paplay")

    def wrong() -> bytes:
        raise RuntimeError("SHOUT")

    over = Over()
    player.start(wrong, over)
    assert over.why() == NOT_MADE
    assert capfd.readouterr() == ("", "")


def test_nothing_a_player_writes_reaches_the_terminal(players, player, capfd) -> None:
    players.put_noisy("pw-play")
    over = Over()
    player.start(made, over)
    assert over.why() == NO_DEVICE
    assert players.heard("pw-play")
    assert capfd.readouterr() == ("", "")


def test_not_even_by_opening_the_terminal_itself(players, tmp_path) -> None:
    pty = pytest.importorskip("pty")
    players.put_noisy("pw-play")
    ours, theirs = pty.openpty()
    script = (
        "import os, tempfile\n"
        f"tempfile.tempdir = {str(tmp_path)!r}\n"
        # The first terminal that the leader of a session opens is its own.
        f"terminal = os.open({os.ttyname(theirs)!r}, os.O_RDWR)\n"
        "for number in (0, 1, 2): os.dup2(terminal, number)\n"
        "os.close(os.open('/dev/tty', os.O_RDWR))\n"
        "from tunememory.music.sound.player import NO_DEVICE, play_to_end\n"
        "assert play_to_end(lambda: b'x') == NO_DEVICE\n"
        "print('done')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=Path(__file__).parents[3],
        start_new_session=True,
        timeout=30,
        check=False,
    )
    assert done.returncode == 0
    seen = os.read(ours, 10_000)
    os.close(theirs)
    os.close(ours)
    assert seen.split() == [b"done"]
    assert players.heard("pw-play")


def test_the_file_can_be_read_by_its_owner_alone(players) -> None:
    players.put("paplay", f"{sys.executable} -c 'import os, sys; print(oct(os.stat(sys.argv[1])"
                ".st_mode & 0o777))' \"$LAST\" > \"$HEARD\"")  # fmt: skip
    assert play_to_end(made) == ""
    assert players.heard("paplay") == "0o600"


def test_an_interruption_stops_the_sound(players, no_sound_file_left, monkeypatch) -> None:
    players.put_endless("paplay")
    pids: list[int] = []
    wait = subprocess.Popen.wait

    def interrupted(self, timeout=None):
        if timeout is None:
            return wait(self)
        pids.append(players.pid("paplay"))
        raise KeyboardInterrupt

    monkeypatch.setattr(subprocess.Popen, "wait", interrupted)
    with pytest.raises(KeyboardInterrupt):
        play_to_end(made)
    until(lambda: not alive(pids[0]))
    assert no_sound_file_left()


def test_a_program_that_ends_takes_its_sound_along(players, tmp_path) -> None:
    players.put_endless("paplay")
    script = (
        "import os, sys, tempfile, threading\n"
        f"tempfile.tempdir = {str(tmp_path / 'sounds')!r}\n"
        "from tunememory.music.sound.player import Player\n"
        "Player().start(lambda: b'x', print)\n"
        "tick = threading.Event()\n"
        f"while not os.path.exists({str(players.folder / 'paplay.pid')!r}): tick.wait(0.01)\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[3],
        timeout=30,
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")
    until(lambda: not alive(players.pid("paplay")))
    assert not list((tmp_path / "sounds").iterdir())


def test_stopping_what_never_started_is_nothing(players) -> None:
    player = Player()
    player.stop()
    player.close()
    assert not player.playing


def test_windows_plays_in_a_child_too(monkeypatch) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    ((program, *arguments),) = player_commands()
    assert program == sys.executable
    assert arguments[0] == "-c"
    compile(arguments[1], "the child", "exec")
    assert "SND_FILENAME" in arguments[1]
