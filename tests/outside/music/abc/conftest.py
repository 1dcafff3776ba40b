"""Printed tune collections as encoded in the music21 package, read where they are installed.

O'Neill's Music of Ireland (1903), Ryan's Mammoth Collection (1883), Aird's Selection of Scotch,
English, Irish and Foreign Airs (1782 to 1801), and others: 4,435 tunes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import music21
import pytest

from tunememory.music.abc.body import BodyReader
from tunememory.music.abc.fields import DIRECTIVE, Line
from tunememory.music.abc.parts import Part, find_parts
from tunememory.music.abc.reading import Header, read_header

if TYPE_CHECKING:
    from collections.abc import Callable

FOLDERS = ("oneills1850", "ryansMammoth", "airdsAirs", "miscFolk", "nottingham-dataset")


@dataclass(frozen=True)
class Printed:
    """One tune of the collections, read by our reader up to its parts."""

    folder: str
    file: str
    text: str
    header: Header
    body: BodyReader
    parts: tuple[Part, ...]

    @property
    def number(self) -> int:
        found = re.match(r"\d+", self.header.last("X"))
        return int(found[0]) if found else 0

    @property
    def title(self) -> str:
        return (self.header.texts("T") or [""])[0]

    @property
    def kind(self) -> str:
        return self.header.last("R").lower()


def _read_body(text: str) -> tuple[Header, BodyReader]:
    """The header and the bars of one tune."""
    lines = list(enumerate(re.split(r"\r\n|\n|\r", text), 1))
    header, rest = read_header(lines)
    voice = (header.fields.get("V", [""])[0].split() or [""])[0]
    body = BodyReader(header.key, header.metre, header.unit, voice)
    for name, value in header.directives:
        body.take(Line(1, DIRECTIVE, f"{name} {value}"))
    for line in rest:
        body.take(line)
    body.finish()
    return header, body


@pytest.fixture(scope="session")
def read_body() -> Callable[[str], tuple[Header, BodyReader]]:
    """Our reader for the text of one tune."""
    return _read_body


@pytest.fixture(scope="session")
def books() -> dict[str, bytes]:
    """Every ABC file of the collections by folder and name."""
    corpus = Path(music21.__file__).parent / "corpus"
    return {
        f"{folder}/{path.name}": path.read_bytes()
        for folder in FOLDERS
        for path in sorted((corpus / folder).glob("*.abc"))
    }


@pytest.fixture(scope="session")
def texts(books: dict[str, bytes]) -> list[tuple[str, str]]:
    """The text of every tune with the name of its file."""
    return [
        (name, text)
        for name, data in books.items()
        for text in re.split(r"(?m)^(?=X:)", data.decode())[1:]
    ]


@pytest.fixture(scope="session")
def printed(texts: list[tuple[str, str]]) -> list[Printed]:
    """Every tune, read."""
    tunes = []
    for name, text in texts:
        folder, file = name.split("/")
        header, body = _read_body(text)
        parts = find_parts(body.bars, body.closing)
        tunes.append(Printed(folder, file, text, header, body, parts))
    return tunes
