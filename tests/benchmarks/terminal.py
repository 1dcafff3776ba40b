"""A program in a pseudo-terminal, and what it spends until something stands on its screen."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import statistics
import struct
import sys
import termios
import time
from pathlib import Path
from typing import NamedTuple

ROWS, COLUMNS = 24, 80
ESCAPES = re.compile(rb"\x1b(\[[0-9;?<>=$ ]*[A-Za-z@`~]|[PX^_].*?\x1b\\|\][^\x07]*(\x07|\x1b\\)|.)")


class Spent(NamedTuple):
    """Seconds on the wall, and of the processor."""

    wall: float
    processor: float

    def over(self, other: Spent) -> str:
        """The two ratios in words."""
        if not other.processor:
            return f"{self.wall / other.wall:5.2f} x"
        return (
            f"{self.wall / other.wall:5.2f} x wall, {self.processor / other.processor:5.2f} x cpu"
        )

    def __str__(self) -> str:
        return f"{self.wall * 1e3:7.1f} ms, cpu {self.processor * 1e3:6.1f} ms"


def middle(taken: list[Spent]) -> Spent:
    """The median of each."""
    return Spent(*(statistics.median(column) for column in zip(*taken, strict=True)))


def least(taken: list[Spent]) -> Spent:
    """The least of each: noise only adds."""
    return Spent(*(min(column) for column in zip(*taken, strict=True)))


class Terminal:
    """A process in a pseudo-terminal of 80x24; its compiled modules are kept in ``cache``."""

    def __init__(self, cache: Path, *arguments: str) -> None:
        self.seen = b""
        self.begun = time.perf_counter()
        self.child, self.fd = pty.fork()
        if self.child == 0:
            os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
            os.environ.update(PYTHONPYCACHEPREFIX=str(cache))
            for name in ("NO_COLOR", "PYTHONDONTWRITEBYTECODE"):
                os.environ.pop(name, None)
            os.execv(sys.executable, [sys.executable, *arguments])
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))

    def processor(self) -> float:
        """Seconds of the processor so far, all threads (Linux: proc/PID/task/*/schedstat)."""
        tasks = Path(f"/proc/{self.child}/task")
        try:
            spent = [int((task / "schedstat").read_text().split()[0]) for task in tasks.iterdir()]
        except OSError:
            return 0.0
        return sum(spent) / 1e9

    def until(self, *words: str, since: int = 0, seconds: float = 30.0) -> float:
        """Seconds on the clock when all ``words`` stood in what came after ``since``."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            if not select.select([self.fd], [], [], 0.05)[0]:
                continue
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                break
            now = time.perf_counter()
            shown = ESCAPES.sub(b"", self.seen[since:]).decode("utf-8", "replace")
            if all(word in shown for word in words):
                return now
        sys.exit(f"never saw {words}: {ESCAPES.sub(b'', self.seen[since:])[-2000:]!r}")

    def quiet(self, seconds: float = 0.08) -> int:
        """Read until nothing comes for ``seconds``; returns how much was read in all."""
        while select.select([self.fd], [], [], seconds)[0]:
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                break
        return len(self.seen)

    def press(self, key: str, *words: str) -> Spent:
        """Seconds from writing ``key`` to the read with ``words``; the processor until quiet."""
        since = self.quiet()
        before = self.processor()
        begun = time.perf_counter()
        os.write(self.fd, key.encode())
        wall = self.until(*words, since=since) - begun
        self.quiet(0.02)
        return Spent(wall, self.processor() - before)

    def close(self) -> float:
        """End the process; returns the seconds that takes."""
        begun = time.perf_counter()
        os.write(self.fd, b"\x11")
        try:
            while os.read(self.fd, 65536):
                pass
        except OSError:
            pass
        os.waitpid(self.child, 0)
        os.close(self.fd)
        return time.perf_counter() - begun
