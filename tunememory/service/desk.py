"""What every front end talks to. One thin method for each thing that can be asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.tune import Declared, Status
from tunememory.service.dates_desk import DatesDesk
from tunememory.service.guessing_desk import GuessingDesk
from tunememory.service.practice_desk import PracticeDesk
from tunememory.store.errors import RepertoireError
from tunememory.store.repertoire import Repertoire

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.library.adding import Draft
    from tunememory.library.importing import ImportReport
    from tunememory.library.overview import FadingRow, TuneRow, TuneView
    from tunememory.library.searching import FoundView, Glance
    from tunememory.library.sound import Sound
    from tunememory.library.starts import StartView
    from tunememory.music.tune import Tune
    from tunememory.practice.today import TodayView
    from tunememory.recall.check import Check, Level, RoundKind
    from tunememory.recall.state import Rated
    from tunememory.rounds.planning import Planned
    from tunememory.rounds.running import RoundRun


# ruff: noqa: PLC0415 - each part loads when it is first asked for, so that start-up stays quick


class Desk(PracticeDesk, DatesDesk, GuessingDesk):
    """The open repertoire as a front end sees it."""

    def today(self) -> TodayView:
        """Return the first screen."""
        from tunememory.practice import today as first_screen

        return first_screen.today(self)

    def reading(self) -> Iterator[Callable[[], object]]:
        """Return in small pieces the reading that the first screen and a round wait for."""
        from tunememory.practice import today as preparing

        return preparing.reading(self)

    def prepare(self) -> bool:
        """Keep in the file what the first screen says now and on the next days.

        Returns:
            Whether that could be done; the next start is slower without, and nothing else.
        """
        from tunememory.practice import today as preparing

        return preparing.prepare(self)

    def rows(self) -> tuple[TuneRow, ...]:
        """Return every tune as a line of the tune list, in title order."""
        from tunememory.library import overview

        return overview.rows(self)

    def fading(self, days_ahead: int = 0) -> tuple[FadingRow, ...]:
        """Return the weakest strand of every kept or learning tune, lowest chance first."""
        from tunememory.library import overview

        return overview.fading(self, days_ahead)

    def view(self, uuid: str) -> TuneView:
        """Return a tune's page.

        Raises:
            ServiceError: It is no longer in the repertoire.
        """
        from tunememory.library import overview

        return overview.view(self, uuid)

    def search(self, words: str) -> tuple[TuneRow, ...]:
        """Return tunes by three letters of any word of any title, best first."""
        from tunememory.library import searching

        return searching.by_words(self, words)

    def find(self, notes: str, kind: str = "") -> tuple[FoundView, ...]:
        """Return tunes by their first notes in any key, best first.

        Raises:
            ServiceError: The notes cannot be read or are too few.
        """
        from tunememory.library import searching

        return searching.by_notes(self, notes, kind)

    def glance(self, uuid: str, part: str = "") -> Glance:
        """Return key, first notes and twins of a tune, or of one part of it."""
        from tunememory.library import searching

        return searching.glance(self, uuid, part)

    def preview(self, text: str, key: str, metre: str, tuning: str, kind: str = "") -> StartView:
        """Return a start as it would be kept, in every form.

        Raises:
            ServiceError: One line naming the sign that cannot be read.
        """
        from tunememory.library import adding

        return adding.preview(self, text, key, metre, tuning, kind)

    def add(self, draft: Draft) -> Tune:
        """Add a tune.

        Raises:
            ServiceError: A field cannot be read.
        """
        from tunememory.library import adding

        return adding.add(self, draft)

    def had_as(self, draft: Draft) -> Tune | None:
        """Return the tune that begins just like ``draft``, perhaps under another name."""
        from tunememory.library import adding

        return adding.had_as(self, draft)

    def name_too(self, uuid: str, titles: Sequence[str]) -> Tune:
        """Give a tune further names.

        Raises:
            ServiceError: The tune is gone, or the file cannot be written.
        """
        from tunememory.library import adding

        return adding.name_too(self, uuid, titles)

    def edit(self, uuid: str, draft: Draft) -> Tune:
        """Change a tune.

        Raises:
            ServiceError: A field cannot be read, or the tune is gone.
        """
        from tunememory.library import adding

        return adding.edit(self, uuid, draft)

    def draft_of(self, uuid: str) -> Draft:
        """Return a tune as it would be typed."""
        from tunememory.library import adding

        return adding.draft_of(self.tune(uuid))

    def set_status(self, uuid: str, status: Status) -> None:
        """Say of a tune that it is wanted, in learning, kept or resting."""
        from tunememory.library import adding

        adding.set_status(self, uuid, status)

    def remove(self, uuid: str) -> None:
        """Take a tune out of the repertoire. Its history stays in the file."""
        from tunememory.library import adding

        adding.remove(self, uuid)

    def import_file(
        self,
        path: Path,
        progress: Callable[[int, int], None],
        status: Status | None = None,
        declared: Declared = Declared.KNOWN,
    ) -> ImportReport:
        """Read a tune book into the repertoire; ``progress`` is told tunes done and in all.

        ``status`` and ``declared`` are of tunes that come in anew and do not say; without a
        status they are kept, or wanted when it is a whole collection.

        Raises:
            ServiceError: The file cannot be read at all.
        """
        from tunememory.library import importing

        return importing.import_file(self, path, progress, status, declared)

    def plan(
        self,
        kind: RoundKind,
        minutes: float | None = None,
        tuning: str | None = None,
        only_kind: str | None = None,
    ) -> Planned:
        """Plan a round; nothing is written."""
        from tunememory.rounds import planning

        return planning.plan(self, kind, minutes, tuning, only_kind)

    def plan_tune(self, uuid: str) -> Planned:
        """Plan a loose round of one tune; nothing is written.

        Raises:
            ServiceError: There is nothing that can be asked of it.
        """
        from tunememory.rounds import planning

        return planning.plan_tune(self, uuid)

    def plan_tunes(self, uuids: Sequence[str]) -> Planned:
        """Plan a loose round of some tunes in their order; nothing is written.

        Raises:
            ServiceError: There is nothing that can be asked of any of them.
        """
        from tunememory.rounds import planning

        return planning.plan_tunes(self, uuids)

    def plan_set(self, uuid: str) -> Planned:
        """Plan a loose round of a set: its first tune, then every join; nothing is written.

        Raises:
            ServiceError: The set is gone.
        """
        from tunememory.rounds import planning

        return planning.plan_set(self, uuid)

    def begin(self, planned: Planned) -> RoundRun:
        """Begin a planned round."""
        from tunememory.rounds.running import RoundRun

        return RoundRun.begin(self, planned)

    def catch_up(self) -> None:
        """Compare new starts with all others; takes a while after a large book came in."""
        from tunememory.library import twins

        twins.catch_up(self)

    def sound(self, tune: Tune, parts: Collection[str] = (), *, drone: bool | None = None) -> Sound:
        """Return starts of a tune ready to be heard; no parts is all of them.

        Raises:
            ServiceError: None of them is written down.
        """
        from tunememory.library import sound as sounding

        return sounding.sound(tune, self.settings, parts, drone=drone)

    def sound_of_draft(self, draft: Draft, part: str) -> Sound:
        """Return a start as typed, ready to be heard.

        Raises:
            ServiceError: It cannot be read.
        """
        from tunememory.library import sound as sounding

        return sounding.sound_of_draft(self, draft, part)

    def sound_caution(self) -> str:
        """Return what is said the first time sound is used; afterwards an empty text."""
        from tunememory.library import sound as sounding

        return sounding.caution(self)

    def check_away(self, uuid: str, levels: dict[str, Level], at: datetime) -> Check:
        """Record a check made away from the screen.

        Raises:
            ServiceError: The moment lies in the future, or a strand is not the tune's.
        """
        from tunememory.history import recording

        return recording.check_away(self, uuid, levels, at)

    def rate_away(self, uuid: str, levels: dict[str, Level], at: datetime) -> Rated:
        """Do as ``check_away``, and return what it did to the chance."""
        from tunememory.rounds import running

        return running.check_away(self, uuid, levels, at)


def open_desk(path: Path, clock: Clock, *, create: bool = True) -> Desk:
    """Open (or create) the repertoire file at ``path``.

    Raises:
        ServiceError: One line saying why the file cannot be used.
    """
    try:
        return Desk(Repertoire.open(path, create=create, clock=clock), clock)
    except RepertoireError as error:
        raise NotDoneError(str(error)) from error
