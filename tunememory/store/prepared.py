"""Days worked out in advance, so that a morning's first picture is read and not computed.

They are a cache like the beliefs, but of everything: each change of the file, by whatever window
and of whatever kind, drops them in its own transaction (``RepertoireFile.writing``). So a day that
is there was worked out from the file as it is.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from tunememory.store.connection import RepertoireFile

if TYPE_CHECKING:
    from collections.abc import Mapping


class PreparedRows(RepertoireFile):
    """What the first screen will say, by practice day; the text's meaning is for others."""

    def prepared_days(self, made_as: str) -> dict[date, str]:
        """Return the text of each day that is prepared.

        Args:
            made_as: How it must have been made: program, format and whatever else it rests on
                beside the file.
        """
        with self.reading():
            return {
                date.fromisoformat(day): view
                for day, view in self.connection.execute(
                    "SELECT day, view FROM prepared_days WHERE made_as = ? ORDER BY day", (made_as,)
                )
            }

    def save_prepared_days(self, views: Mapping[date, str], made_as: str) -> bool:
        """Keep what was worked out, in place of all that was kept.

        Args:
            views: Text by practice day, worked out from the file as it was last seen.
            made_as: As for ``prepared_days``.

        Returns:
            Whether it was kept: not if another window has written the file since it was last
            seen, so that the texts may be of what was.
        """
        with self.writing(copied=False):
            # From here on nobody else can write.
            if self.revision() != self.revision_seen:
                return False
            self.connection.executemany(
                "INSERT INTO prepared_days (day, made_as, view) VALUES (?, ?, ?)",
                [(day.isoformat(), made_as, view) for day, view in views.items()],
            )
        return True
