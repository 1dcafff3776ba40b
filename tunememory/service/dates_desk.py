"""What can be asked of the desk about dates, sets, tonight and the card."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.session import OpenFile

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from tunememory.dates.changing import DateDraft, DatesTaken, DayOffView
    from tunememory.dates.overview import DateView, PastDate
    from tunememory.dates.tonight import StarterView
    from tunememory.library.sets import SetView
    from tunememory.teaching.card import Card
    from tunememory.teaching.pupils import Given, PupilPage


# ruff: noqa: PLC0415 - each part loads when it is first asked for, so that start-up stays quick


class DatesDesk(OpenFile):
    """Sets, dates, days off, tonight, card. What is typed wrong raises ``ServiceError``."""

    def all_sets(self) -> tuple[SetView, ...]:
        """Return every set and how it stands, by name."""
        from tunememory.library import sets

        return sets.views(self)

    def set_view(self, uuid: str) -> SetView:
        """Return one set and how it stands."""
        from tunememory.library import sets

        return sets.view(self, uuid)

    def save_set(self, name: str, tunes: Sequence[str], uuid: str = "") -> SetView:
        """Make a set, or change the one of identity ``uuid``."""
        from tunememory.library import sets

        return sets.save(self, name, tunes, uuid)

    def remove_set(self, uuid: str) -> None:
        """Take a set apart; its tunes stay."""
        from tunememory.library import sets

        sets.remove(self, uuid)

    def all_dates(self) -> tuple[DateView, ...]:
        """Return every date, those that come soonest first, then those that are over."""
        from tunememory.dates import overview

        return overview.views(self)

    def date_view(self, uuid: str) -> DateView:
        """Return one date with its tunes, and what to leave out."""
        from tunememory.dates import overview

        return overview.view(self, uuid)

    def save_date(self, draft: DateDraft, uuid: str = "") -> DateView:
        """Make a date, or change the one of identity ``uuid``."""
        from tunememory.dates import changing

        return changing.save(self, draft, uuid)

    def date_draft(self, uuid: str) -> DateDraft:
        """Return a date as it would be typed."""
        from tunememory.dates import changing

        return changing.draft_of(self, uuid)

    def remove_date(self, uuid: str) -> None:
        """Take a date out; what was played there stays in the journal."""
        from tunememory.dates import changing

        changing.remove(self, uuid)

    def preview_when(self, text: str) -> tuple[str, tuple[date, ...]]:
        """Return what was typed as it was understood, and the next days it means."""
        from tunememory.dates import changing

        return changing.preview(self, text)

    def dates_to_tell(self) -> tuple[PastDate, ...]:
        """Return the dates of the last days of which it is not said what was played there."""
        from tunememory.dates import overview

        return overview.to_tell(self)

    def played_there(self, uuid: str, day: date, tunes: Sequence[str]) -> None:
        """Say which tunes were played at a date; each counts as met."""
        from tunememory.dates import overview

        overview.played_there(self, uuid, day, tunes)

    def not_played_there(self, uuid: str, day: date, tune: str) -> None:
        """Take back that a tune was played at a date."""
        from tunememory.dates import overview

        overview.not_played_there(self, uuid, day, tune)

    def told(self, uuid: str, day: date) -> None:
        """Ask no more what was played at a date."""
        from tunememory.dates import overview

        overview.told(self, uuid, day)

    def all_days_off(self) -> tuple[DayOffView, ...]:
        """Return the days off in words."""
        from tunememory.dates import changing

        return changing.days_off(self)

    def add_day_off(self, text: str, note: str = "") -> DayOffView:
        """Take days off: one day, ``2 August to 14 August``, or ``every Sunday``."""
        from tunememory.dates import changing

        return changing.add_day_off(self, text, note)

    def remove_day_off(self, uuid: str) -> None:
        """Take days off back."""
        from tunememory.dates import changing

        changing.remove_day_off(self, uuid)

    def export_dates(self, path: Path) -> None:
        """Write every date to an iCalendar file."""
        from tunememory.dates import changing

        changing.export(self, path)

    def import_dates(self, path: Path) -> DatesTaken:
        """Take the events of an iCalendar file in as dates."""
        from tunememory.dates import changing

        return changing.take(self, path)

    def what_to_start(
        self, key: str = "", kind: str = "", tuning: str = "", at: str = ""
    ) -> tuple[StarterView, ...]:
        """Return tunes to start, best first; ``at`` is the identity of a date."""
        from tunememory.dates import tonight

        return tonight.what_to_start(self, key, kind, tuning, at)

    def what_have_i_in(
        self, key: str, kind: str = "", tuning: str = ""
    ) -> tuple[tuple[str, tuple[StarterView, ...]], ...]:
        """Return what there is on a root, by tuning."""
        from tunememory.dates import tonight

        return tonight.in_key(self, key, kind, tuning)

    def one_a_key(
        self, tuning: str = "", kind: str = ""
    ) -> tuple[tuple[str, StarterView | None], ...]:
        """Return one sure starter for each key, ``None`` where there is none."""
        from tunememory.dates import tonight

        return tonight.each_key(self, tuning, kind)

    def card(self, what: str = "") -> Card:
        """Return a card of all tunes, or of a date, a set, a status or a state by its name."""
        from tunememory.teaching import card as carding

        return carding.card_for(self, what)

    def give(self, path: Path, uuids: Sequence[str], *, create: bool = False) -> Given:
        """Give tunes with their starts to another repertoire file."""
        from tunememory.teaching import pupils

        return pupils.give(self, path, uuids, create=create)

    def pupil_page(self) -> PupilPage:
        """Return the tunes of a pupil's file by how they stand."""
        from tunememory.teaching import pupils

        return pupils.page(self)
