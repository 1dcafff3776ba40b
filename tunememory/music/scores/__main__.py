"""``python -m tunememory.music.scores``: the child process in which music21 runs.

``read FILE`` reads a MusicXML or MIDI file; ``musicxml`` reads an ABC tune on standard input and
writes its starts as MusicXML. Every answer is one JSON object a line on standard output:
``{"progress": [done, total]}``, ``{"abc": text}``, ``{"musicxml": text}``, ``{"refused": why}``,
last ``{"end": true}``. Nothing is written to standard error, and music21's settings are left
alone.
"""

from __future__ import annotations

import json
import os
import sys
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


def main(arguments: Sequence[str]) -> int:
    """Answer one request; always 0 once the request is understood."""
    with Path(os.devnull).open("w", encoding="utf-8") as silence:
        # music21 warns on standard error, which would spoil the screen of who asked.
        sys.stderr = silence
        warnings.simplefilter("ignore")
        match list(arguments):
            case ["read", name]:
                _answered(lambda: _read(Path(name)))
            case ["musicxml"]:
                _answered(_musicxml)
            case _:
                return 2
        _say({"end": True})
    return 0


def _answered(work: Callable[[], None]) -> None:
    try:
        work()
    except Exception as error:
        # Whatever the file did to the library: the one who asked gets a line, not a traceback.
        _say({"refused": f"the file cannot be read: {_one_line(error)}"})


def _read(path: Path) -> None:
    from tunememory.music.scores.melody import open_score, write_melody  # noqa: PLC0415

    _say({"progress": [0, 1]})
    melody = open_score(path.read_bytes(), path.suffix.lower())
    if melody is None:
        _say({"refused": "there are no notes in it"})
        return
    _say({"abc": write_melody(melody, path.stem.replace("_", " "))})
    _say({"progress": [1, 1]})


def _musicxml() -> None:
    from tunememory.music.abc.books import read_one  # noqa: PLC0415 - only to write
    from tunememory.music.scores.musicxml import write_musicxml  # noqa: PLC0415

    _say({"musicxml": write_musicxml(read_one(sys.stdin.read()))})


def _say(answer: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()


def _one_line(error: Exception) -> str:
    words = " ".join(str(error).split())[:200]
    return words or type(error).__name__


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
