"""What can be asked of the desk about a practice day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.session import OpenFile

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime
    from pathlib import Path

    from tunememory.library.sound import Sound
    from tunememory.music.tune import Tune
    from tunememory.music.ways.material import Material
    from tunememory.practice.heard import HeardView
    from tunememory.practice.journal import CalendarDay, JournalDay, JournalEntry
    from tunememory.practice.sitting import SittingView
    from tunememory.practice.ways import WayView
    from tunememory.practice.work_list import WorkList
    from tunememory.store.records import At, Practice


# ruff: noqa: PLC0415 - each part loads when it is first asked for, so that start-up stays quick


class PracticeDesk(OpenFile):
    """Sitting, practice, journal. Everything that writes may raise ``ServiceError``."""

    def sitting(self) -> SittingView:
        """Return where today's sitting stands."""
        from tunememory.practice import sitting

        return sitting.view(self)

    def go_to(self, step: At) -> SittingView:
        """Go to a step of the sitting, forward or back; a closed day is opened again."""
        from tunememory.practice import sitting

        sitting.go_to(self, step)
        return sitting.view(self)

    def set_head_only(self, on: bool) -> SittingView:
        """Say whether the sitting is held without the instrument."""
        from tunememory.practice import sitting

        sitting.set_head_only(self, on=on)
        return sitting.view(self)

    def close_day(self, line: str = "") -> SittingView:
        """Close the day, with a line to the next time unless it is empty."""
        from tunememory.practice import sitting

        sitting.close_day(self, line)
        return sitting.view(self)

    def stop_for_pain(self, minutes: float = 0.0) -> SittingView:
        """End the sitting at once; ``minutes`` of the practice clock are kept too."""
        from tunememory.practice import sitting

        sitting.stop_for_pain(self, minutes)
        return sitting.view(self)

    def set_pick_up(self, line: str) -> None:
        """Write today's line to the next time; empty takes it out."""
        from tunememory.practice import sitting

        sitting.set_pick_up(self, line)

    def practised(self, minutes: float) -> Practice:
        """Write down minutes of the practice clock that belong to no tune."""
        from tunememory.practice import sitting

        return sitting.practised(self, minutes)

    def work_list(self, tuning: str = "", chosen: Sequence[str] = ()) -> WorkList:
        """Return what to practise now in one tuning, the instrument's when none is given.

        ``chosen`` are identities of tunes that are wanted on it in any case.
        """
        from tunememory.practice import work_list as working

        return working.to_practise(self, tuning, chosen)

    def ways(self, uuid: str) -> tuple[WayView, ...]:
        """Return every way of working on a tune, when it was done, and which to offer now."""
        from tunememory.practice import ways as practising

        return practising.ways_of(self, uuid)

    def material(self, uuid: str, way: str) -> Material:
        """Return the material of one way for a tune."""
        from tunememory.practice import ways as practising

        return practising.of_way(self, uuid, way)

    def sound_of_way(self, uuid: str, way: str, number: int = 0) -> Sound:
        """Return a piece of what a way brings for a tune, from 0, ready to be heard."""
        from tunememory.practice import ways as practising

        return practising.sound_of(self, uuid, way, number)

    def write_way(self, path: Path, uuid: str, way: str) -> None:
        """Write what a way brings for a tune to an .html or .txt file."""
        from tunememory.practice import ways as practising

        practising.write_material(self, path, uuid, way)

    def log_practice(
        self,
        uuid: str,
        way: str = "",
        minutes: float = 0.0,
        *,
        words: str = "",
        head_only: bool | None = None,
        at: datetime | None = None,
    ) -> Practice:
        """Write down practice of a tune; ``head_only`` is as the sitting is held if not given."""
        from tunememory.practice import ways as practising

        return practising.log(self, uuid, way, minutes, words=words, head_only=head_only, at=at)

    def undo_practice(self, uuid: str) -> None:
        """Take back a practice entry."""
        from tunememory.practice import ways as practising

        practising.undo(self, uuid)

    def journal(self, first_day: date, last_day: date) -> tuple[JournalDay, ...]:
        """Return the days with anything in them, newest first."""
        from tunememory.practice import journal

        return journal.days(self, first_day, last_day)

    def journal_of(self, uuid: str) -> tuple[JournalEntry, ...]:
        """Return what was done on one tune, newest first."""
        from tunememory.practice import journal

        return journal.of_tune(self, uuid)

    def search_journal(self, words: str) -> tuple[JournalDay, ...]:
        """Return the days on which all of ``words`` stand in something written."""
        from tunememory.practice import journal

        return journal.search(self, words)

    def calendar(self, first_day: date, last_day: date) -> tuple[CalendarDay, ...]:
        """Return every day from one to another."""
        from tunememory.practice import journal

        return journal.calendar(self, first_day, last_day)

    def export_journal(self, path: Path, first_day: date, last_day: date) -> int:
        """Write days of the journal as Markdown or CSV; return how many."""
        from tunememory.practice import journal as journal_text

        return journal_text.export(self, path, first_day, last_day)

    def hear(
        self, name: str = "", from_whom: str = "", alike: str = "", note: str = ""
    ) -> HeardView:
        """Write down a tune heard today, with a name or without."""
        from tunememory.practice import heard

        return heard.hear(self, name, from_whom, alike, note)

    def heard(
        self, first_day: date | None = None, last_day: date | None = None
    ) -> tuple[HeardView, ...]:
        """Return what was heard, newest first."""
        from tunememory.practice import heard

        return heard.views(self, first_day, last_day)

    def edit_heard(
        self, uuid: str, name: str = "", from_whom: str = "", alike: str = "", note: str = ""
    ) -> HeardView:
        """Write a line of what was heard anew."""
        from tunememory.practice import heard

        return heard.edit(self, uuid, name, from_whom, alike, note)

    def join_heard(self, uuid: str, tune: str) -> HeardView:
        """Say which tune it was that was heard."""
        from tunememory.practice import heard

        return heard.join(self, uuid, tune)

    def want_heard(self, uuid: str) -> Tune:
        """Add what was heard as a wanted tune."""
        from tunememory.practice import heard

        return heard.want(self, uuid)

    def remove_heard(self, uuid: str) -> None:
        """Take a line of what was heard out."""
        from tunememory.practice import heard

        heard.remove(self, uuid)
