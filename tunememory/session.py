"""The open file with its clock: what was read once and is kept in step."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, time
from enum import Flag, auto
from typing import TYPE_CHECKING, Any, Generic, Self, TypeVar, cast

from tunememory.clock import practice_day, to_days
from tunememory.errors import NotDoneError
from tunememory.recall.belief import of_this_model
from tunememory.recall.parameters import PRIOR, Parameters
from tunememory.recall.replay import replayed, stored_beliefs
from tunememory.recall.table import read_table
from tunememory.settings import Settings, checked, from_stored, to_stored
from tunememory.store.repertoire import Repertoire

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path
    from types import TracebackType

    from tunememory.clock import Clock
    from tunememory.music.tune import Tune
    from tunememory.recall.belief import TuneBelief
    from tunememory.recall.table import BeliefTable
    from tunememory.store.records import ParameterSet, TuneSet


Made = TypeVar("Made")


class About(Flag):
    """What of the file something rests on that was worked out from it."""

    TUNES = auto()
    SETS = auto()
    """Sets, dates and days off."""
    CHECKS = auto()
    """Checks of another day, or taken back; what one of now changes is kept in step by itself."""
    CHANGES = auto()
    """Checks of going from one tune of a set into the next."""
    PRACTICE = auto()
    TWINS = auto()
    SETTINGS = auto()
    BELIEFS = auto()
    """All beliefs, worked out anew."""


class Memo(Generic[Made]):
    """Something worked out from the open file once and at hand until what it rests on changes.

    The room that works it out makes the memo, in its module, and calls it with the session.

    Args:
        make: Works it out.
        rests_on: A change of any of these makes it be worked out anew at the next use.
        daily: Whether another practice day does so too.
    """

    def __init__(
        self, make: Callable[[Session], Made], rests_on: About, *, daily: bool = False
    ) -> None:
        self._make = make
        self.rests_on = rests_on
        self._daily = daily

    def __call__(self, session: Session) -> Made:
        """Return it, worked out now if it is not at hand."""
        day = session.day() if self._daily else None
        made = session.memos.get(self)
        if made is None or made[0] != day:
            made = session.memos[self] = (day, self._make(session))
        return cast("Made", made[1])


class Session:
    """The open repertoire, its tunes and beliefs read once and kept in step.

    Attributes:
        repertoire: The open file.
        clock: Where the time comes from.
        settings: The player's settings.
        memos: What rooms have at hand, each with its day if it holds for a day; theirs alone.
    """

    def __init__(self, repertoire: Repertoire, clock: Clock) -> None:
        self.repertoire = repertoire
        self.clock = clock
        self.settings: Settings = from_stored(repertoire.settings.all())
        self.memos: dict[Memo[Any], tuple[date | None, object]] = {}

    def __enter__(self) -> Self:
        """Return the open file; leaving closes the file."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.repertoire.close()

    @property
    def path(self) -> Path:
        """Where the repertoire file is."""
        return self.repertoire.path

    def now(self) -> datetime:
        """This moment, aware."""
        return self.clock.now()

    def now_days(self) -> float:
        """This moment on the model's scale."""
        return to_days(self.clock.now())

    def day(self) -> date:
        """The present practice day."""
        return self.day_of(self.clock.now())

    def evening_of(self, day: date) -> datetime:
        """Ten in the evening of a practice day, when a session is over; not after this moment."""
        at = datetime.combine(day, time(22), tzinfo=self.clock.zone)
        return min(at.astimezone(UTC), self.clock.now())

    def day_of(self, moment: datetime) -> date:
        """The practice day that holds ``moment``."""
        return practice_day(moment, self.clock.zone, self.settings.day_ends_at)

    @property
    def tunes(self) -> dict[str, Tune]:
        """Every tune by identity, in title order."""
        return _tunes(self)

    @property
    def params(self) -> Parameters:
        """The player's parameters, or the priors until they were fitted."""
        return _parameters(self)[0]

    @property
    def params_version(self) -> int:
        """Version of the parameters in use."""
        return _parameters(self)[1]

    @property
    def beliefs(self) -> BeliefTable:
        """Beliefs of every tune."""
        return _beliefs(self)

    @property
    def last_met(self) -> dict[str, datetime]:
        """Last check of each tune that was ever asked."""
        return _last_met(self)

    @property
    def last_practised(self) -> dict[str, datetime]:
        """When each tune that was ever practised or played in company was so last."""
        return _last_practised(self)

    @property
    def sets(self) -> dict[str, TuneSet]:
        """Every set by identity."""
        return _sets(self)

    def tune(self, uuid: str) -> Tune:
        """Return one tune.

        Raises:
            NotDoneError: It is not (or no longer) in the repertoire.
        """
        try:
            return self.tunes[uuid]
        except KeyError:
            raise NotDoneError("that tune is no longer in this repertoire") from None

    def active(self) -> Iterator[Tune]:
        """Tunes that are kept or in learning."""
        return (t for t in self.tunes.values() if t.status.asked_for)

    @contextmanager
    def changing(self) -> Iterator[None]:
        """Make everything in the block one change of the file: all of it or none.

        When it fails, what is kept here of the file is read anew at the next use, so that nothing
        stays of what was not written.

        Raises:
            NotDoneError: The file cannot be written; nothing was.
        """
        try:
            with self.repertoire.writing():
                yield
        except BaseException:
            self.memos.clear()
            raise

    def changed_elsewhere(self) -> bool:
        """Whether another window or program wrote to the file since it was last read here."""
        return self.repertoire.changed_elsewhere()

    def reload(self) -> None:
        """Read the file anew at the next use."""
        self.settings = from_stored(self.repertoire.settings.all())
        self.memos.clear()

    def changed(self, what: About) -> None:
        """Be told of a change: all that rests on it is worked out anew at the next use."""
        for memo in [memo for memo in self.memos if memo.rests_on & what]:
            del self.memos[memo]

    def save_settings(self, settings: Settings) -> None:
        """Check and keep the settings.

        Raises:
            NotDoneError: A field is out of its range, or the file cannot be written; then the
                settings stay as they were.
        """
        kept = checked(settings)
        self.repertoire.settings.save(to_stored(kept))
        self.settings = kept
        self.changed(About.SETTINGS)


PRIOR_VERSION = 0
"""Version of the priors, which no file keeps."""

SWITCHED_TO = "switched_to"
"""In the evidence of a set that only tells of a switch: the identity of what was gone back to,
``null`` for the priors."""

FOCUS = "focus"
"""In the evidence of a set that only tells of a look at how sharp memory is: the focus chosen."""


def in_use(repertoire: Repertoire) -> ParameterSet | None:
    """Return the fit in use, ``None`` when it is the priors."""
    return next((kept for kept in repertoire.parameters.all() if kept.active), None)


def active_parameters(repertoire: Repertoire) -> tuple[Parameters, int]:
    """Return the parameters in use and their version: the accepted fit, or the priors."""
    kept = in_use(repertoire)
    focus = last_look(repertoire).get(FOCUS, PRIOR.focus)
    if kept is None:
        return replace(PRIOR, focus=focus), PRIOR_VERSION
    fitted = Parameters.from_dict(json.loads(kept.numbers))
    return replace(fitted, focus=focus), kept.version


def last_look(repertoire: Repertoire) -> dict[str, Any]:
    """Return the evidence of the last look at how sharp memory is; empty if there was none."""
    looks = [one for one in repertoire.parameters.all() if FOCUS in json.loads(one.evidence)]
    if not looks:
        return {}
    last: dict[str, Any] = json.loads(max(looks, key=lambda one: one.made_at).evidence)
    return last


def in_force(repertoire: Repertoire) -> list[tuple[datetime, Parameters]]:
    """Return what was in use when: from which moment on, and what, oldest first.

    It begins with the priors, at the beginning of time. What another copy of the file used
    before it was merged counts as used here.
    """
    found = [(datetime.min.replace(tzinfo=UTC), PRIOR)]
    fits: dict[str | None, Parameters] = {None: PRIOR}
    for kept in sorted(repertoire.parameters.all(), key=lambda kept: kept.made_at):
        evidence = json.loads(kept.evidence)
        if evidence.get("taken"):
            fits[kept.uuid] = Parameters.from_dict(json.loads(kept.numbers))
            found.append((kept.made_at, fits[kept.uuid]))
        elif evidence.get(SWITCHED_TO, "") in fits:
            found.append((kept.made_at, fits[evidence[SWITCHED_TO]]))
    return found


_A_HANDFUL = 8


def _read_beliefs(session: Session) -> BeliefTable:
    """Return the beliefs of every tune; what the file lacks is replayed and kept."""
    current = session.repertoire.beliefs.version() == session.params_version
    stored = session.repertoire.beliefs.all() if current else {}
    beliefs, missing = read_table(list(session.tunes.values()), stored, session.params)
    met = session.last_met.keys() | session.last_practised.keys()
    again = _replay(session, [tune for tune in missing if tune.uuid in met])
    beliefs.update(again)
    if (again or not current) and not session.repertoire.readonly:
        _keep(session, again)
    return beliefs


def rebuild(session: Session) -> int:
    """Recompute every belief from the history and keep them; return how many tunes differed."""
    with session.repertoire.writing():
        before = session.repertoire.beliefs.all()
        again = _replay(session, list(session.tunes.values()))
        _keep(session, again)
    session.changed(About.BELIEFS)
    return _different(before, stored_beliefs(again))


def differing(session: Session) -> int:
    """Return how many kept beliefs are not what their history gives; nothing is written.

    Those of other parameters or another model are not counted: they are never used.
    """
    if session.repertoire.beliefs.version() != session.params_version:
        return 0
    kept = {
        uuid: blob for uuid, blob in session.repertoire.beliefs.all().items() if of_this_model(blob)
    }
    return _different(kept, stored_beliefs(_replay(session, list(session.tunes.values()))))


def refresh(session: Session, tune: Tune) -> None:
    """Bring one tune's belief in step after the tune itself changed."""
    again = _replay(session, [tune])
    _keep(session, again)
    session.beliefs.update(again)


def _keep(session: Session, beliefs: dict[str, TuneBelief]) -> None:
    session.repertoire.beliefs.save(
        stored_beliefs(beliefs), parameters_version=session.params_version
    )


def _different(before: dict[str, bytes], again: dict[str, bytes]) -> int:
    return sum(blob != before[uuid] for uuid, blob in again.items() if uuid in before)


def _replay(session: Session, tunes: list[Tune]) -> dict[str, TuneBelief]:
    if not tunes:
        return {}
    kept = session.repertoire
    if len(tunes) > _A_HANDFUL:
        # One walk through the whole history is quicker.
        return replayed(tunes, kept.checks.all(), kept.practices.all(), session.params)
    return replayed(
        tunes,
        (check for tune in tunes for check in kept.checks.all(tune.uuid)),
        (entry for tune in tunes for entry in kept.practices.all(tune.uuid)),
        session.params,
    )


_tunes = Memo(
    lambda session: {one.uuid: one for one in session.repertoire.tunes.all()}, About.TUNES
)
_sets = Memo(
    lambda session: {one.uuid: one for one in session.repertoire.sets.all()},
    About.TUNES | About.SETS,
)
_parameters = Memo(lambda session: active_parameters(session.repertoire), About.BELIEFS)
_beliefs = Memo(_read_beliefs, About.TUNES | About.BELIEFS)
_last_met = Memo(lambda session: session.repertoire.checks.last_by_tune(), About.CHECKS)
_last_practised = Memo(lambda session: session.repertoire.practices.last_by_tune(), About.PRACTICE)


def open_session(path: Path, clock: Clock, *, create: bool = True) -> Session:
    """Open (or create) the repertoire file at ``path``.

    Raises:
        RepertoireError: One line saying why the file cannot be used.
    """
    return Session(Repertoire.open(path, create=create, clock=clock), clock)
