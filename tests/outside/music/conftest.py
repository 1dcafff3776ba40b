"""Printed tune collections as encoded in the music21 package, as tunes.

O'Neill's Music of Ireland (1903), Ryan's Mammoth Collection (1883), Aird's Selection of Scotch,
English, Irish and Foreign Airs (1782 to 1801), and other folk tunes: 4,433 tunes with notes.
"""

from pathlib import Path

import music21
import pytest

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune
from tunememory.music.tune import Tune

FOLDERS = ("oneills1850", "ryansMammoth", "airdsAirs", "miscFolk")


@pytest.fixture(scope="session")
def printed():
    """Every tune, its identity made of collection, file and number, which comes again at times."""
    corpus = Path(music21.__file__).parent / "corpus"
    tunes = []
    for folder in FOLDERS:
        for path in sorted((corpus / folder).glob("*.abc")):
            for read in read_book(path.read_bytes()).tunes:
                if isinstance(read, ReadTune):
                    tunes.append(
                        Tune(
                            f"{folder}/{path.stem}/{read.reference}/{len(tunes)}",
                            read.titles,
                            kind=read.kind,
                            key=read.key,
                            metre=read.metre,
                            starts=read.starts,
                        )
                    )
    return tunes
