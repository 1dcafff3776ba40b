"""Folders and files that a path being typed may become."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.paths import BOOKS, Entry
from tunememory.ui.text import cell
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span


class PathList(RowList[Entry]):
    """One entry a line, folders with a slash, files that are no tune books quiet."""

    def spans(self, row: Entry, width: int) -> Sequence[Span]:
        """Write one entry."""
        if row.folder:
            return [(cell(f"{row.name}/", width), "accent")]
        return [(cell(row.name, width), "" if row.name.casefold().endswith(BOOKS) else "quiet")]
