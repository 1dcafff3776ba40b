"""Settings that belong to this repertoire."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.store.base import RepertoireFile, checked_json

if TYPE_CHECKING:
    from collections.abc import Mapping


class SettingRows(RepertoireFile):
    """Settings by name; what a value means is for others to know."""

    def settings(self) -> dict[str, str]:
        """Return every setting that was ever saved, each as JSON text."""
        with self.reading():
            return dict(self.connection.execute("SELECT name, value FROM settings"))

    def save_settings(self, values: Mapping[str, str]) -> None:
        """Save settings; others stay as they are.

        Args:
            values: JSON text by name.

        Raises:
            ValueError: A value is not JSON; nothing was saved.
        """
        with self.writing():
            self.connection.executemany(
                "INSERT INTO settings (name, value) VALUES (?, ?)"
                " ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                [(name, checked_json(value)) for name, value in values.items()],
            )
