"""What was heard: a name or none, from whom, like which. Enter keeps it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.screens.form import Asked, FormScreen

if TYPE_CHECKING:
    from tunememory.service.day_views import HeardView


class HeardForm(FormScreen):
    """One tune heard.

    Args:
        heard: The line to change; ``None`` writes a new one.
    """

    HEAD = "Heard tonight"
    ENTER_KEEPS = True

    def __init__(self, heard: HeardView | None = None) -> None:
        super().__init__()
        self._heard = heard

    def lines(self) -> tuple[Asked, ...]:
        """Everything may be empty but not all of it."""
        heard = self._heard
        return (
            Asked("name", "name", heard.name if heard else "", "empty: no name yet"),
            Asked("from", "from", heard.from_whom if heard else "", "who played it"),
            Asked("like", "like", heard.alike if heard else "", "a tune it is like"),
            Asked("note", "note", heard.note if heard else "", "after which tune, on what tape"),
        )

    def keep(self) -> str:
        """Write the line."""
        written = [self.typed(name) for name in ("name", "from", "like", "note")]
        if self._heard is None:
            return self.desk.hear(*written).uuid
        return self.desk.edit_heard(self._heard.uuid, *written).uuid
