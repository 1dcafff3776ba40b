"""The app in a real pseudo-terminal: how it starts, ends, and leaves the terminal behind."""

from __future__ import annotations

import os
import re
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tunememory.clock import system_clock
from tunememory.library.adding import Draft, add_tune
from tunememory.session import open_session

pty = pytest.importorskip("pty", reason="needs a system with pseudo-terminals")

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
START = (
    "import sys; from pathlib import Path; from tunememory.clock import system_clock; "
    "from tunememory.ui.running import run_app; "
    "sys.exit(run_app(Path(sys.argv[1]), system_clock()))"
)
FAULTY = START.replace(
    "sys.exit",
    "from tunememory.ui.today import TodayScreen\n"
    "def broken(self): secret = 'title of a tune'; raise RuntimeError('broken on purpose')\n"
    "TodayScreen.fill = broken\nsys.exit",
)
COLLECTS = START.replace(
    "sys.exit",
    "import gc\n"
    "from tunememory.ui.app import TuneApp\n"
    "leave = TuneApp.exit\n"
    "def noted(self, *given, **named):\n"
    "    state = f'{gc.isenabled()} {gc.get_freeze_count() > 0}'\n"
    "    Path(sys.argv[1]).with_suffix('.gc').write_text(state)\n"
    "    leave(self, *given, **named)\n"
    "TuneApp.exit = noted\nsys.exit",
)
FILLED = "not asked yet (3)"
"""On the screen once the day is worked out."""
LEAVES = b"\x1b[?1049l"
"""Back to the ordinary screen (xterm control sequences, private mode 1049)."""
COLOUR = re.compile(rb"\x1b\[(?:[0-9;]*;)?(?:3[0-7]|4[0-7]|38|48|9[0-7]|10[0-7])(?:;[0-9;]*)?m")
"""A colour set by SGR (ECMA-48, 8.3.117, and its 256-colour and direct-colour extensions)."""


class Session:
    """The app as a child in a pseudo-terminal."""

    def __init__(self, code: str, file: Path, **environment: str) -> None:
        self.seen = b""
        self.status: int | None = None
        self.child, self.fd = pty.fork()
        if self.child == 0:
            os.environ.update({"TERM": "xterm-256color", "PYTHONPATH": str(ROOT), **environment})
            os.execv(sys.executable, [sys.executable, "-c", code, str(file)])

    def _take(self, seconds: float) -> bool:
        if not select.select([self.fd], [], [], seconds)[0]:
            return True
        try:
            piece = os.read(self.fd, 65536)
        except OSError:
            return False
        self.seen += piece
        return bool(piece)

    def until(self, word: str, seconds: float = 30) -> None:
        """Read until ``word`` was seen."""
        end = time.monotonic() + seconds
        while word.encode() not in self.seen:
            assert self._take(0.1), self.seen[-2000:]
            assert time.monotonic() < end, self.seen[-2000:]

    def press(self, keys: str) -> None:
        """Write keys."""
        os.write(self.fd, keys.encode())

    def ended(self, seconds: float = 30) -> int:
        """Read to the end and return the exit code."""
        end = time.monotonic() + seconds
        while self._take(0.1):
            assert time.monotonic() < end, "it did not end"
        self.status = os.waitstatus_to_exitcode(os.waitpid(self.child, 0)[1])
        return self.status

    def close(self) -> None:
        """Make sure nothing is left behind."""
        os.close(self.fd)
        if self.status is None:
            os.kill(self.child, signal.SIGKILL)
            os.waitpid(self.child, 0)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "my.tunes"
    with open_session(path, system_clock()) as session:
        for title in ("Haste to the Wedding", "Garryowen", "Off to California"):
            add_tune(session, Draft((title,), "jig", "G", "6/8", starts=(("A", "G2B d2B"),)))
    return path


@pytest.fixture
def session(file: Path):
    """Start the app on a small repertoire."""
    begun: list[Session] = []

    def start(code: str = START, **environment: str) -> Session:
        begun.append(Session(code, file, **environment))
        return begun[-1]

    yield start
    for each in begun:
        each.close()


def test_a_round_and_out_again(session) -> None:
    app = session()
    app.until(FILLED)
    app.press("\r")
    app.until("I have it")
    app.press(" ")
    app.until("how it came")
    app.press("3")
    app.press("\x1b")
    app.until("back to Today")
    app.press("\r")
    app.press("\x11")
    assert app.ended() == 0
    assert LEAVES in app.seen


@pytest.mark.parametrize("number", [0, signal.SIGTERM, signal.SIGHUP])
def test_left_in_order_it_opens_again(session, number) -> None:
    app = session()
    app.until(FILLED)
    app.press("\x11") if not number else os.kill(app.child, number)
    app.ended()
    again = session()
    again.until(FILLED)
    # The file may not be open yet; the key waits for it.
    again.press("\r")
    again.until("I have it")
    again.press("\x11")
    assert again.ended() == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_told_to_end_it_leaves_the_terminal_in_order(session, number) -> None:
    app = session()
    app.until(FILLED)
    os.kill(app.child, number)
    assert app.ended() == 128 + number
    assert LEAVES in app.seen
    assert b"\x1b[?1000l" in app.seen
    assert b"Traceback" not in app.seen


def test_a_closed_window_does_not_leave_a_process_behind(session) -> None:
    app = session()
    app.until(FILLED)
    os.close(app.fd)
    end = time.monotonic() + 30
    while not os.waitpid(app.child, os.WNOHANG)[0]:
        assert time.monotonic() < end, "still running without a terminal"
        time.sleep(0.05)
    app.status = 0
    app.fd = os.open(os.devnull, os.O_RDONLY)


def test_a_fault_restores_the_terminal_and_hides_nothing_from_the_caller(session) -> None:
    app = session(FAULTY)
    assert app.ended() == 1
    after = app.seen.split(LEAVES)[-1]
    # Only the traceback of this bare caller; the command line turns it into two plain lines.
    assert b"broken on purpose" in after
    assert b"title of a tune" not in after.replace(b"secret = 'title of a tune'", b"")


def test_garbage_is_collected_again_once_the_day_is_shown(session, file) -> None:
    app = session(COLLECTS)
    app.until(FILLED)
    app.press("\x11")
    assert app.ended() == 0
    assert file.with_suffix(".gc").read_text() == "True True"


def test_no_colour_means_none(session) -> None:
    app = session(NO_COLOR="1")
    app.until(FILLED)
    app.press("\r")
    app.until("I have it")
    app.press(" ")
    app.until("how it came")
    app.press("\x11")
    assert app.ended() == 0
    assert not COLOUR.search(app.seen), COLOUR.search(app.seen)


def test_an_empty_no_color_means_colour(session) -> None:
    app = session(NO_COLOR="", COLORTERM="truecolor")
    app.until(FILLED)
    app.press("\x11")
    assert app.ended() == 0
    assert COLOUR.search(app.seen)


@pytest.mark.parametrize("term", ["xterm", "dumb"])
def test_without_a_terminal_it_says_so_in_one_sentence(file, term) -> None:
    done = subprocess.run(
        [sys.executable, "-c", START, str(file)],
        input="", capture_output=True, text=True, check=False, cwd=ROOT,
        env={**os.environ, "TERM": term},
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("tunememory needs a terminal")


def test_a_file_that_is_not_ours_never_shows_a_screen(session, file) -> None:
    file.write_text("X:1\nT:A tune book\nK:D\n")
    app = session()
    assert app.ended() == 1
    assert b"\x1b[?1049h" not in app.seen
