"""The signs a staff is drawn with."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Charset:
    """The signs a staff is drawn with, each one cell wide.

    Attributes:
        line: Staff and ledger lines.
        stem: Stems and bar lines in a space; ``cross`` on a line.
        top: A bar line on the top line; ``foot`` on the bottom line.
        filled: Head of a quarter and shorter; ``hollow`` of a half or whole note.
        beams: One beam, two, three.
        flag_up: Flag of a stem that points up; ``flag_down`` down.
        tie: A tie.
        dot: The dot that lengthens a note.
        signs: Accidentals by semitones.
        cut: Cut time.
        clef: Rows of the treble clef by staff place; a blank lets the line through.
    """

    line: str
    stem: str
    cross: str
    top: str
    foot: str
    filled: str
    hollow: str
    beams: tuple[str, str, str]
    flag_up: str
    flag_down: str
    tie: str
    dot: str
    signs: tuple[str, ...]
    cut: str
    clef: tuple[tuple[int, str], ...]


UNICODE = Charset(
    line="─", stem="│", cross="┼", top="┬", foot="┴", filled="●", hollow="○", beams=("━", "═", "≡"),
    flag_up="╲", flag_down="╱", tie="‿", dot="·", signs=("♭♭", "♭", "♮", "♯", "x"), cut="¢",
    clef=(
        (40, "  ╭╮"), (39, "  ││"), (38, "  ││"), (37, "  ├╯"), (36, " ╭┤ "), (35, "╭╯│ "),
        (34, "│ ├╮"), (33, "│╭┼╮"), (32, "││││"), (31, "╰╰┼╯"), (30, "  │ "), (29, " ●╯ "),
    ),
)  # fmt: skip
ASCII = Charset(
    line="-", stem="|", cross="+", top="+", foot="+", filled="@", hollow="o", beams=("=", "#", "%"),
    flag_up="\\", flag_down="/", tie="_", dot=".", signs=("bb", "b", "n", "#", "x"), cut="C|",
    clef=(
        (39, "  /\\"), (38, "  ||"), (37, "  |/"), (36, "  / "), (35, " /| "), (34, "/ |-"),
        (33, "|/|\\"), (32, "||||"), (31, "\\\\|/"), (30, "  | "), (29, " @/ "),
    ),
)  # fmt: skip
