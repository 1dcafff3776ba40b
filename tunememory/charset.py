"""The signs a terminal can show."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Charset:
    """The signs that music and pictures are drawn with, each one cell wide.

    Attributes:
        line: A staff or ledger line through the middle of a cell.
        low_line: A staff line along the bottom of a cell.
        bar: A stem or bar line in a space; ``cross``, ``top`` and ``foot`` where it meets a line.
        head: Head of a quarter and shorter; in pictures a tune that was asked.
        hollow: Head of a half or whole note; in pictures a tune that was not asked yet.
        ghost: Where a head stood before.
        beams: One beam, two, three.
        flag_up: Flag of a stem that points up; ``flag_down`` down.
        tie: A tie.
        dot: The dot that lengthens a note.
        signs: Accidentals by semitones.
        cut: Cut time.
        clef: Rows of the treble clef by staff place; a blank lets the line through.
    """

    line: str
    low_line: str
    bar: str
    cross: str
    top: str
    foot: str
    head: str
    hollow: str
    ghost: str
    beams: tuple[str, str, str]
    flag_up: str
    flag_down: str
    tie: str
    dot: str
    signs: tuple[str, ...]
    cut: str
    clef: tuple[tuple[int, str], ...]


UNICODE = Charset(
    line="─", low_line="▁", bar="│", cross="┼", top="┬", foot="┴", head="●", hollow="○", ghost="◌",
    beams=("━", "═", "≡"), flag_up="╲", flag_down="╱", tie="‿", dot="·",
    signs=("♭♭", "♭", "♮", "♯", "x"), cut="¢",
    clef=(
        (40, "  ╭╮"), (39, "  ││"), (38, "  ││"), (37, "  ├╯"), (36, " ╭┤ "), (35, "╭╯│ "),
        (34, "│ ├╮"), (33, "│╭┼╮"), (32, "││││"), (31, "╰╰┼╯"), (30, "  │ "), (29, " ●╯ "),
    ),
)  # fmt: skip
ASCII = Charset(
    line="-", low_line="_", bar="|", cross="+", top="+", foot="+", head="@", hollow="o", ghost=".",
    beams=("=", "#", "%"), flag_up="\\", flag_down="/", tie="_", dot=".",
    signs=("bb", "b", "n", "#", "x"), cut="C|",
    clef=(
        (39, "  /\\"), (38, "  ||"), (37, "  |/"), (36, "  / "), (35, " /| "), (34, "/ |-"),
        (33, "|/|\\"), (32, "||||"), (31, "\\\\|/"), (30, "  | "), (29, " @/ "),
    ),
)  # fmt: skip


def charset_here(encoding: str = "", environment: Mapping[str, str] = os.environ) -> Charset:
    """Choose signs for a terminal: plain ones without UTF-8 or on the bare Linux console.

    Args:
        encoding: Encoding of the terminal's output, ``"utf-8"``; the one we write to when empty.
        environment: Where ``TERM`` is looked up.
    """
    encoding = encoding or getattr(sys.__stdout__, "encoding", None) or "utf-8"
    utf8 = encoding.lower().replace("_", "-") in {"utf-8", "utf8"}
    bare_console = environment.get("TERM", "") in {"linux", "vt100", "vt220", "dumb"}
    return UNICODE if utf8 and not bare_console else ASCII
