"""A date, or days off, as they are typed; how they are understood stands under the line."""

from __future__ import annotations

from dataclasses import replace

from tunememory.service.date_views import DateDraft
from tunememory.service.errors import ServiceError
from tunememory.tunes.dates import DATE_KINDS
from tunememory.ui.drawing_dates import preview_words
from tunememory.ui.screens.form import Asked, FormScreen


class DateForm(FormScreen):
    """One date.

    Args:
        uuid: The date to change; empty makes one.
    """

    HEAD = "Date"

    def __init__(self, uuid: str = "") -> None:
        super().__init__()
        self._uuid = uuid
        self._given = DateDraft()

    def lines(self) -> tuple[Asked, ...]:
        """When comes first: the rest may wait."""
        if self._uuid and not self._given.when:
            with self.trying():
                self._given = self.desk.date_draft(self._uuid)
        given = self._given
        weeks = str(given.weeks_before) if given.weeks_before else ""
        return (
            Asked("when", "when", given.when, "5 december · every thursday …"),
            Asked("title", "name", given.title, "what you call it"),
            Asked("kind", "kind", given.kind, ", ".join(DATE_KINDS[:4]) + " …", DATE_KINDS),
            Asked("place", "place", given.place, "where, in words"),
            Asked("weeks", "season", weeks, "weeks before, for its tunes to wake"),
        )

    def follow(self, name: str, text: str) -> str:
        """Read the date back as it is typed."""
        if name != "when" or len(text) < 3:
            return ""
        return preview_words(*self.desk.preview_when(text))

    def keep(self) -> str:
        """Keep the date; its tunes and sets stay."""
        weeks = self.typed("weeks")
        if weeks and not weeks.isdecimal():
            raise ServiceError("season: give a number of weeks, or leave it empty")
        draft = replace(
            self._given,
            when=self.typed("when"),
            title=self.typed("title"),
            kind=self.typed("kind"),
            place=self.typed("place"),
            weeks_before=int(weeks or 0),
        )
        return self.desk.save_date(draft, self._uuid).uuid


class DayOffForm(FormScreen):
    """Days off."""

    HEAD = "Days off"

    def lines(self) -> tuple[Asked, ...]:
        """When, and a word why."""
        return (
            Asked("when", "when", "", "every sunday · 2 august to 14 august"),
            Asked("note", "note", "", "holiday, rest day …"),
        )

    def follow(self, name: str, text: str) -> str:
        """Read the days back as they are typed."""
        if name != "when" or len(text) < 3 or " to " in text:
            return ""
        return preview_words(*self.desk.preview_when(text))

    def keep(self) -> str:
        """Keep the days off."""
        return self.desk.add_day_off(self.typed("when"), self.typed("note")).uuid
