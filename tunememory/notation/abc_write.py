"""The repertoire as an ABC 2.1 tune book that reads back as the same tunes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.notation.abc_key import write_key
from tunememory.notation.abc_text import write_text
from tunememory.notation.facts import Facts, read_facts, write_facts
from tunememory.notation.own_starts import write_starts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tunememory.notation.reading import ReadTune
    from tunememory.tunes.tune import Tune

_VERSION = "%abc-2.1"


def write_book(tunes: Iterable[Tune]) -> str:
    """Return an ABC 2.1 tune book, numbered from 1, that ``abc_book`` reads back the same."""
    pieces = [_VERSION]
    pieces += ["\n".join(_lines(tune, number)) for number, tune in enumerate(tunes, start=1)]
    return "\n\n".join(pieces) + "\n"


def facts_of(read: ReadTune) -> Facts:
    """Return what only a tune book of ours says of a tune; unreadable facts are left out."""
    return read_facts(read.directives)[0]


def _lines(tune: Tune, number: int) -> Iterator[str]:
    yield f"X:{number}"
    for title in tune.titles or ("",):
        yield f"T:{write_text(title)}"
    yield from write_facts(tune)
    if tune.kind:
        yield f"R:{write_text(tune.kind)}"
    if tune.source:
        yield f"S:{write_text(tune.source)}"
    if tune.note:
        for line in tune.note.split("\n"):
            yield f"N:{write_text(line)}"
    yield f"M:{write_text(tune.metre) or 'none'}"
    yield "L:1/8"
    yield f"K:{write_key(tune.key)}"
    yield from write_starts(tune.starts, tune.key, tune.metre)
