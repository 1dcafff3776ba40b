"""Finding tunes by name and by notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.overview import rows
from tunememory.tunes.naming import NameIndex

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import TuneRow


def by_words(desk: OpenFile, words: str) -> tuple[TuneRow, ...]:
    """Return the tunes with all of ``words`` in a title, best first."""
    found = _names(desk).find(words)
    lines = {row.uuid: row for row in rows(desk)}
    return tuple(lines[named.tune] for named in found)


def _names(desk: OpenFile) -> NameIndex:
    index = desk.__dict__.get("name_index")
    if not isinstance(index, NameIndex):
        index = NameIndex.of((tune.uuid, tune.titles) for tune in desk.tunes.values())
        desk.__dict__["name_index"] = index
    return index
