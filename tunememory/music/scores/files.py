"""MusicXML and MIDI in, MusicXML out, by a child process in which music21 runs.

The child turns a score into ABC; from there on it is read and reported like any tune book.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.abc.books import read_one
from tunememory.music.abc.reading import ReadTune, Refusal
from tunememory.music.abc.writing import write_book
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from tunememory.music.tune import Tune


SUFFIXES = frozenset({".xml", ".musicxml", ".mxl", ".mid", ".midi"})
"""File endings read here, in small letters."""

TIME_LIMIT = 60.0
"""Seconds after which a file is given up; a string quartet movement of 50 pages takes about 10."""


def read_score(
    path: Path, progress: Callable[[int, int], None], time_limit: float = TIME_LIMIT
) -> ReadTune | Refusal:
    """Read a MusicXML or MIDI file. A file that cannot be read is a refusal, never an error.

    Args:
        path: The file; its ending says which kind it is.
        progress: Told what is done and what there is in all.
        time_limit: Seconds after which the file is given up.
    """
    refused = "the music reader stopped without an answer"
    for answer in _answers(["read", str(path)], "", time_limit):
        match answer:
            case {"progress": [int(done), int(total)]}:
                progress(done, total)
            case {"abc": str(text)}:
                return read_one(text)
            case {"refused": str(why)}:
                refused = clean_text(why)
    return Refusal(0, refused)


def write_musicxml(tune: Tune, time_limit: float = TIME_LIMIT) -> str:
    """Return the starts of a tune as a MusicXML document.

    Raises:
        NotDoneError: The tune has no start to write, or the writer failed.
    """
    why = "the music writer stopped without an answer"
    for answer in _answers(["musicxml"], write_book([tune]), time_limit):
        match answer:
            case {"musicxml": str(document)}:
                return document
            case {"refused": str(said)}:
                why = clean_text(said)
    raise NotDoneError(why)


def _answers(arguments: Sequence[str], text: str, time_limit: float) -> Iterator[dict[str, object]]:
    """Yield the child's answers; an answer that takes too long or makes no sense is a refusal."""
    command = [sys.executable, "-m", "tunememory.music.scores", *arguments]
    with subprocess.Popen(  # noqa: S603 - our own module, no shell
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    ) as child:
        expired = threading.Event()

        def give_up() -> None:
            expired.set()
            child.kill()

        timer = threading.Timer(time_limit, give_up)
        timer.start()
        try:
            if child.stdin is not None:
                try:
                    child.stdin.write(text)
                    child.stdin.close()
                except BrokenPipeError:
                    pass
            for line in child.stdout or ():
                try:
                    answer = json.loads(line)
                except ValueError:
                    continue
                if isinstance(answer, dict):
                    yield answer
            if expired.is_set():
                yield {"refused": f"it took longer than {time_limit:.0f} seconds"}
        finally:
            timer.cancel()
            child.kill()
