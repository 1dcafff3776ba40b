"""A round while it is asked: one prompt at a time, every rating on disk before the next."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory import history
from tunememory.dates import agenda
from tunememory.errors import NotDoneError
from tunememory.history import HOW, record, withdraw
from tunememory.music.strings import tuning_of
from tunememory.recall.belief import stack
from tunememory.recall.chances import weakest_chances
from tunememory.recall.check import Check, Level, RoundKind
from tunememory.recall.state import Rated
from tunememory.rounds.answer import Answer
from tunememory.rounds.candidates import Pick
from tunememory.rounds.choosing import another
from tunememory.rounds.planning import asked_of, moment
from tunememory.store.records import At, Round, Sitting, new_identity

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from tunememory.recall.belief import TuneBelief
    from tunememory.rounds.planning import Asked, Planned
    from tunememory.session import Session


_DAY, _WEEK = 1.0, 7.0


def rated(session: Session, strands: Iterable[str], was: TuneBelief, now: TuneBelief) -> Rated:
    """Return what a check of ``strands`` did that made the belief ``now`` of the one before.

    Of several strands the weakest counts.
    """
    moments = session.now_days() + np.array([[0.0], [_DAY], [_WEEK]])
    return Rated(*weakest_chances(stack([was, now, now]), strands, moments, session.params))


def rate_away(session: Session, uuid: str, levels: dict[str, Level], at: datetime) -> Rated:
    """Record a check made away from the screen, and return what it did as of this moment.

    Raises:
        NotDoneError: As for ``recording.check_away``.
    """
    session.tune(uuid)
    was = session.beliefs.of(uuid)
    history.record_check_away(session, uuid, levels, at)
    return rated(session, levels, was, session.beliefs.of(uuid))


def sitting_of(session: Session) -> Sitting:
    """Return today's sitting; one not begun stands at the first round, in the head on an eve."""
    day = session.day()
    return session.repertoire.sittings.on(day) or Sitting(day, head_only=agenda.is_eve(session))


def after_round(session: Session, kind: RoundKind) -> None:
    """Go on from a round that was asked to its end, inside the change that ends it."""
    kept = sitting_of(session)
    step = kept.step
    if kind is RoundKind.FIRST and step is At.FIRST:
        step = At.PRACTICE
    elif kind is RoundKind.LAST and step in {At.PRACTICE, At.LAST}:
        step = At.OVER
    if step is not kept.step:
        session.repertoire.sittings.save(replace(kept, step=step))


@dataclass(frozen=True, slots=True)
class RoundSummary:
    """How a round went, in titles."""

    asked: int
    came: tuple[str, ...]
    would_not_come: tuple[str, ...]


class RoundRun:
    """A running round.

    Attributes:
        kind: First, last or loose.
        planned: What it was planned as.
    """

    def __init__(self, session: Session, planned: Planned, uuid: str) -> None:
        self.kind: RoundKind = planned.kind
        self.planned = planned
        self._session = session
        self._uuid = uuid
        self._open: Answer | None = None
        self._only_kind: str | None = None
        self._waiting: list[Asked] = list(planned.asked)
        self._answered: list[tuple[Answer, Check]] = []
        # The same file on the same day gives the same surprises.
        self._random = random.Random(f"{planned.day.isoformat()} {len(session.tunes)}")  # noqa: S311

    @classmethod
    def begin(cls, session: Session, planned: Planned) -> RoundRun:
        """Begin ``planned`` and write down that it was begun.

        Raises:
            NotDoneError: The file cannot be written.
        """
        uuid = new_identity()
        row = Round(
            uuid=uuid,
            kind=planned.kind,
            day=planned.day,
            begun_at=session.now(),
            minutes=planned.minutes,
            tuning=tuning_of(planned.tuning),
        )
        session.repertoire.rounds.begin(row)
        return cls(session, planned, uuid)

    @property
    def current(self) -> Asked | None:
        """The prompt that is asked now, ``None`` when the round is over."""
        return self._waiting[0] if self._waiting else None

    @property
    def answer(self) -> Answer | None:
        """How far the present prompt is answered, ``None`` when the round is over."""
        asked = self.current
        if asked is None:
            return None
        if self._open is None or self._open.asked is not asked:
            self._open = Answer(asked)
        return self._open

    @property
    def done(self) -> int:
        """Prompts answered."""
        return len(self._answered)

    @property
    def left(self) -> int:
        """Prompts still to come, the present one included."""
        return len(self._waiting)

    def rate(self) -> Rated:
        """Write the levels of the present answer to disk and move on.

        Raises:
            NotDoneError: The round is over, a level is missing, or the file cannot be written;
                the same prompt stays, its levels open again.
        """
        answer = self.answer
        if answer is None or not answer.rated:
            raise NotDoneError("give a level from 1 to 4" if answer else "the round is over")
        asked = answer.asked
        check = Check(
            uuid=new_identity(),
            tune=asked.of.uuid,
            at=self._session.now(),
            day=self._session.day(),
            round_kind=self.kind,
            prompt=asked.prompt,
            levels=tuple(answer.rated.items()),
            seconds=answer.seconds,
            hints=answer.hints,
            wrong_key=answer.wrong_key,
            strayed_into=answer.strayed_into[0],
            round_uuid=self._uuid,
        )
        was = self._belief(asked)
        try:
            record(self._session, check)
        except NotDoneError:
            answer.again()
            raise
        self._waiting.pop(0)
        self._answered.append((answer, check))
        strands = (history.STRAND,) if asked.after else asked.strands
        return rated(self._session, strands, was, self._belief(asked))

    def skip(self) -> None:
        """Ask the present tune later in this round."""
        if len(self._waiting) > 1:
            self._waiting.append(self._waiting.pop(0))

    def not_today(self) -> None:
        """Leave the present tune out of today's rounds."""
        asked = self._asked()
        self._session.repertoire.rounds.put_off(asked.of.uuid, self._session.day())
        self._waiting.pop(0)
        if self.kind is not RoundKind.LAST:
            self._take_another(chance=False)

    def only_kind(self, kind: str) -> None:
        """From here on ask only tunes of ``kind``; the number of prompts stays if it can."""
        number = len(self._waiting)
        self._only_kind = kind
        self._waiting = [asked for asked in self._waiting if asked.tune.kind == kind]
        while len(self._waiting) < number and self._take_another(chance=False):
            pass

    def surprise(self) -> None:
        """Ask another tune, drawn by chance, in place of the present one."""
        if self._take_another(chance=True):
            self._waiting.pop(1)

    def undo(self) -> bool:
        """Take back the last rating; ``False`` when there is none.

        That prompt is asked again, its answer shown and all but its levels as it was.
        """
        if not self._answered:
            return False
        answer, check = self._answered[-1]
        withdraw(self._session, check)
        self._answered.pop()
        answer.again()
        self._open = answer
        self._waiting.insert(0, answer.asked)
        return True

    def stop(self) -> RoundSummary:
        """End the round, at any moment; everything rated is kept.

        One that is left before its end is not marked as ended: what is left can be asked later.
        """
        if self._waiting:
            return self.summary()
        with self._session.repertoire.writing():
            self._session.repertoire.rounds.end(self._uuid, self._session.now())
            if self._answered:
                after_round(self._session, self.kind)
        return self.summary()

    def summary(self) -> RoundSummary:
        """Return how the round went so far."""
        came: list[str] = []
        would_not: list[str] = []
        for answer, check in self._answered:
            asked = answer.asked
            easy = all(level >= Level.FIND for _, level in check.levels)
            title = f"{asked.after.title} → {asked.tune.title}" if asked.after else asked.tune.title
            (came if easy else would_not).append(title)
        return RoundSummary(len(self._answered), tuple(came), tuple(would_not))

    def _asked(self) -> Asked:
        if self.current is None:
            raise NotDoneError("the round is over")
        return self.current

    def _take_another(self, *, chance: bool) -> bool:
        """Put one more tune into the round: first in line by chance, else last by worth."""
        candidates = moment(self._session).candidates
        taken = [place for place, uuid in enumerate(candidates.uuids) if uuid in self._taken()]
        places = another(candidates, self.planned.tuning, taken, self._only_kind)
        if not places:
            return False
        if chance:
            place = self._random.choice(places)
        else:
            place = max(places, key=lambda p: (float(candidates.value[p].max()), -p))
        prompt = int(candidates.value[place].argmax()) if candidates.value[place].any() else HOW
        asked = asked_of(self._session, candidates, Pick(place, prompt))
        self._waiting.insert(0 if chance else len(self._waiting), asked)
        return True

    def _taken(self) -> set[str]:
        waiting = {_row(asked) for asked in self._waiting}
        return waiting | {_row(answer.asked) for answer, _ in self._answered}

    def _belief(self, asked: Asked) -> TuneBelief:
        if asked.after:
            return history.join_belief(self._session, (asked.after.uuid, asked.tune.uuid))
        return self._session.beliefs.of(asked.tune.uuid)


def _row(asked: Asked) -> str:
    """Identity of what is asked, as the planner has it."""
    if asked.after:
        return history.row_of((asked.after.uuid, asked.tune.uuid))
    return asked.tune.uuid
