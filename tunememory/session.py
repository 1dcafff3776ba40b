"""The open file with its clock: what was read once and is kept in step."""

from __future__ import annotations

import json
from contextlib import contextmanager
from copy import copy
from dataclasses import replace
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any, Self, TypeVar, cast

from tunememory.clock import practice_day, to_days
from tunememory.errors import NotDoneError
from tunememory.music.tune import Status, Tune
from tunememory.recall.belief import of_this_model
from tunememory.recall.parameters import PRIOR, Parameters
from tunememory.recall.replay import Remembered, load, replayed, stored_beliefs
from tunememory.settings import Settings, checked, from_stored, to_stored
from tunememory.store.errors import RepertoireError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path
    from types import TracebackType

    from tunememory.clock import Clock
    from tunememory.recall.belief import TuneBelief
    from tunememory.store.beliefs import ParameterSet
    from tunememory.store.records import Date, DayOff, TuneSet
    from tunememory.store.repertoire import Repertoire


Made = TypeVar("Made")
Dated = TypeVar("Dated", "Date", "DayOff")

_OF_THE_HISTORY = frozenset(
    {"parameters", "last_met", "last_practised", "days_off", "practice days"}
)
"""What stays as it is when only a tune changes."""


class OpenFile:
    """The open repertoire, its tunes and beliefs read once and kept in step.

    Attributes:
        repertoire: The open file.
        clock: Where the time comes from.
        settings: The player's settings.
    """

    def __init__(self, repertoire: Repertoire, clock: Clock) -> None:
        self.repertoire = repertoire
        self.clock = clock
        self.settings: Settings = from_stored(repertoire.settings())
        self._kept: dict[str, object] = {}

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

    def as_at(self, moment: datetime) -> Self:
        """Return the same file as it would be found at ``moment``, to look at and not to write."""
        other = copy(self)
        other.clock = replace(self.clock, now=lambda: moment)
        other._kept = dict(self._kept)
        return other

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

    def kept(self, name: str, make: Callable[[], Made]) -> Made:
        """Return what is kept under ``name``, made now if it is not there."""
        if name not in self._kept:
            self._kept[name] = make()
        return cast("Made", self._kept[name])

    def kept_today(self, name: str, make: Callable[[], Made]) -> Made:
        """Return what is kept under ``name``, made anew when it has become another day."""
        day = self.day()
        on, made = self.kept(name, lambda: (day, make()))
        if on != day:
            self.forget(name)
            on, made = self.kept(name, lambda: (day, make()))
        return made

    @property
    def tunes(self) -> dict[str, Tune]:
        """Every tune by identity, in title order."""
        return self.kept("tunes", lambda: {tune.uuid: tune for tune in self.repertoire.tunes()})

    @property
    def params(self) -> Parameters:
        """The player's parameters, or the priors until they were fitted."""
        return self._parameters[0]

    @property
    def params_version(self) -> int:
        """Version of the parameters in use."""
        return self._parameters[1]

    @property
    def _parameters(self) -> tuple[Parameters, int]:

        return self.kept("parameters", lambda: active_parameters(self.repertoire))

    @property
    def remembered(self) -> Remembered:
        """Beliefs of every tune."""
        return self.kept("remembered", lambda: remembered_by(self))

    @property
    def last_met(self) -> dict[str, datetime]:
        """Last check of each tune that was ever asked."""
        return self.kept("last_met", self.repertoire.last_checked)

    @property
    def last_practised(self) -> dict[str, datetime]:
        """When each tune that was ever practised or played in company was so last."""
        return self.kept("last_practised", self.repertoire.last_practised)

    @property
    def sets(self) -> dict[str, TuneSet]:
        """Every set by identity."""
        return self.kept("sets", lambda: {one.uuid: one for one in self.repertoire.sets()})

    @property
    def dates(self) -> dict[str, Date]:
        """Every date by identity; one whose rule cannot be read stands on its first day."""
        return self.kept(
            "dates", lambda: {one.uuid: _with_rule(one) for one in self.repertoire.dates()}
        )

    @property
    def days_off(self) -> list[DayOff]:
        """Every stretch of days off; one whose rule cannot be read is its first days alone."""
        return self.kept("days_off", lambda: [*map(_with_rule, self.repertoire.days_off())])

    def tune(self, uuid: str) -> Tune:
        """Return one tune.

        Raises:
            ServiceError: It is not (or no longer) in the repertoire.
        """
        try:
            return self.tunes[uuid]
        except KeyError:
            raise NotDoneError("that tune is no longer in this repertoire") from None

    def active(self) -> Iterator[Tune]:
        """Tunes that are kept or in learning."""
        return (t for t in self.tunes.values() if t.status in {Status.KEPT, Status.LEARNING})

    @contextmanager
    def changing(self) -> Iterator[None]:
        """Make everything in the block one change of the file: all of it or none.

        When it fails, what is kept here of the file is read anew at the next use, so that nothing
        stays of what was not written.

        Raises:
            ServiceError: The file cannot be written; nothing was.
        """
        try:
            with self.repertoire.writing():
                yield
        except RepertoireError as error:
            self._kept.clear()
            raise NotDoneError(str(error)) from error
        except BaseException:
            self._kept.clear()
            raise

    def changed_elsewhere(self) -> bool:
        """Whether another window or program wrote to the file since it was last read here."""
        return self.repertoire.changed_elsewhere()

    def reload(self) -> None:
        """Read the file anew at the next use."""
        self.settings = from_stored(self.repertoire.settings())
        self._kept.clear()

    def tunes_changed(self) -> None:
        """Read the tunes anew at the next use, and all that is made of them."""
        for name in self._kept.keys() - _OF_THE_HISTORY:
            del self._kept[name]

    def sets_changed(self) -> None:
        """Read sets and dates anew at the next use, and all that is made of them."""
        self.forget("sets", "dates", "days_off", "joins", "join beliefs", "coming", "fixed")

    def forget(self, *names: str) -> None:
        """Make what is kept under ``names`` anew at the next use."""
        for name in names:
            self._kept.pop(name, None)

    def save_settings(self, settings: Settings) -> None:
        """Check and keep the settings.

        Raises:
            ServiceError: A field is out of its range.
        """
        self.settings = checked(settings)
        self.repertoire.save_settings(to_stored(settings))
        self.forget("fixed")


def _with_rule(dated: Dated) -> Dated:
    """Return a date or days off without a rule that cannot be read.

    A file that another program has written into must not keep the whole day from being shown.
    """
    if not dated.rule:
        return dated
    from tunememory.dates.recurrence import parse_rule  # noqa: PLC0415 - only where a date recurs

    try:
        next(parse_rule(dated.rule).days(dated.first_day, date.max), None)
    except ValueError:
        return replace(dated, rule="")
    return dated


PRIOR_VERSION = 0
"""Version of the priors, which no file keeps."""

SWITCHED_TO = "switched_to"
"""In the evidence of a set that only tells of a switch: the identity of what was gone back to,
``null`` for the priors."""

FOCUS = "focus"
"""In the evidence of a set that only tells how boldly to plan: the focus found."""


def in_use(repertoire: Repertoire) -> ParameterSet | None:
    """Return the fit in use, ``None`` when it is the priors."""
    return next((kept for kept in repertoire.parameters() if kept.active), None)


def active_parameters(repertoire: Repertoire) -> tuple[Parameters, int]:
    """Return the parameters in use and their version: the accepted fit, or the priors."""
    kept = in_use(repertoire)
    focus = last_look(repertoire).get(FOCUS, PRIOR.focus)
    if kept is None:
        return replace(PRIOR, focus=focus), PRIOR_VERSION
    fitted = Parameters.from_dict(json.loads(kept.numbers))
    return replace(fitted, focus=focus), kept.version


def last_look(repertoire: Repertoire) -> dict[str, Any]:
    """Return the evidence of the last look at how boldly to plan; empty if there was none."""
    looks = [one for one in repertoire.parameters() if FOCUS in json.loads(one.evidence)]
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
    for kept in sorted(repertoire.parameters(), key=lambda kept: kept.made_at):
        evidence = json.loads(kept.evidence)
        if evidence.get("taken"):
            fits[kept.uuid] = Parameters.from_dict(json.loads(kept.numbers))
            found.append((kept.made_at, fits[kept.uuid]))
        elif evidence.get(SWITCHED_TO, "") in fits:
            found.append((kept.made_at, fits[evidence[SWITCHED_TO]]))
    return found


_A_HANDFUL = 8


def remembered_by(desk: OpenFile) -> Remembered:
    """Return the beliefs of every tune; what the file lacks is replayed and kept."""
    current = desk.repertoire.beliefs_version() == desk.params_version
    stored = desk.repertoire.beliefs() if current else {}
    beliefs, missing = load(list(desk.tunes.values()), stored, desk.params)
    met = desk.last_met.keys() | desk.last_practised.keys()
    again = _replay(desk, [tune for tune in missing if tune.uuid in met])
    beliefs.update(again)
    if (again or not current) and not desk.repertoire.readonly:
        _keep(desk, again)
    return Remembered(desk.params, beliefs)


def rebuild(desk: OpenFile) -> int:
    """Recompute every belief from the history and keep them; return how many tunes differed."""
    with desk.repertoire.writing():
        before = desk.repertoire.beliefs()
        again = _replay(desk, list(desk.tunes.values()))
        _keep(desk, again)
    desk.forget("remembered")
    return _different(before, stored_beliefs(again))


def differing(desk: OpenFile) -> int:
    """Return how many kept beliefs are not what their history gives; nothing is written.

    Those of other parameters or another model are not counted: they are never used.
    """
    if desk.repertoire.beliefs_version() != desk.params_version:
        return 0
    kept = {uuid: blob for uuid, blob in desk.repertoire.beliefs().items() if of_this_model(blob)}
    return _different(kept, stored_beliefs(_replay(desk, list(desk.tunes.values()))))


def refresh(desk: OpenFile, tune: Tune) -> None:
    """Bring one tune's belief in step after the tune itself changed."""
    again = _replay(desk, [tune])
    _keep(desk, again)
    desk.remembered.put(tune.uuid, again[tune.uuid])


def _keep(desk: OpenFile, beliefs: dict[str, TuneBelief]) -> None:
    desk.repertoire.save_beliefs(stored_beliefs(beliefs), parameters_version=desk.params_version)


def _different(before: dict[str, bytes], again: dict[str, bytes]) -> int:
    return sum(blob != before[uuid] for uuid, blob in again.items() if uuid in before)


def _replay(desk: OpenFile, tunes: list[Tune]) -> dict[str, TuneBelief]:
    if not tunes:
        return {}
    kept = desk.repertoire
    if len(tunes) > _A_HANDFUL:
        # One walk through the whole history is quicker.
        return replayed(tunes, kept.checks(), kept.practices(), desk.params)
    return replayed(
        tunes,
        (check for tune in tunes for check in kept.checks(tune.uuid)),
        (entry for tune in tunes for entry in kept.practices(tune.uuid)),
        desk.params,
    )
