"""The first screen: what the day begins with."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from heapq import nsmallest
from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tunememory import __version__
from tunememory.errors import NotDoneError
from tunememory.history.days import checks_between
from tunememory.history.joins import joined_tunes
from tunememory.library.overview import ASKED_OF, drawn_now
from tunememory.practice import work_list
from tunememory.practice.sitting import Step, steps_of
from tunememory.recall.belief import MODEL
from tunememory.recall.chances import FADING, RUSTY, SAFE, opening_chances, strand_name, weakest
from tunememory.recall.check import RoundKind
from tunememory.recall.state import State
from tunememory.rounds import running
from tunememory.rounds.planning import chosen, moment, note_of
from tunememory.store.errors import RepertoireError
from tunememory.store.records import At
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

    from tunememory.clock import Clock
    from tunememory.recall.chances import Picture
    from tunememory.service.desk import Desk
    from tunememory.session import OpenFile


class Fades(NamedTuple):
    """A tune's weakest strand, with its chance now, 0 to 1."""

    title: str
    strand: str
    chance: float


class Coming(NamedTuple):
    """A date that comes.

    Attributes:
        title: What it is.
        on: Its next day.
        days: Days until then.
        wanted: How many tunes, those of its sets included.
        ready: How many are ready as it is.
    """

    title: str
    on: date
    days: int
    wanted: int
    ready: int


class TuneMark(NamedTuple):
    """A tune as the picture of the whole repertoire shows it.

    Attributes:
        root: Of its key, empty where there is none.
        chance: Of starting it now, 0 to 1, cut off after the fourth place.
        asked: Whether it was ever asked.
    """

    root: str
    chance: float
    asked: bool


class TodayView(NamedTuple):
    """The first screen.

    Attributes:
        day: Practice day.
        tuning: Of the first round.
        steps: First and last round.
        fading: What fades, the weakest first.
        tunes: Every kept or learning tune, in the order they came in.
        counts: How many tunes are in each state, by its name.
        note: The one line that goes with the plan, mostly empty.
        coming_back: The player was away for long.
        at: The step of the sitting the player has come to.
        closed: The day was closed.
        pick_up: The last pick-up line of an earlier day, empty for none.
        pick_up_day: Its day.
        practice: How many tunes the work-list holds.
        coming: The next dates, soonest first.
        practised: Something was practised today.
        head_only: Today's sitting is held without the instrument.
    """

    day: date
    tuning: str
    steps: tuple[Step, ...]
    fading: tuple[Fades, ...]
    tunes: tuple[TuneMark, ...]
    counts: tuple[tuple[str, int], ...]
    note: str
    coming_back: bool
    at: At = At.FIRST
    closed: bool = False
    pick_up: str = ""
    pick_up_day: date | None = None
    practice: int = 0
    coming: tuple[Coming, ...] = ()
    practised: bool = False
    head_only: bool = False


FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""

DATES_SHOWN = 3
"""Dates handed to the first screen."""

PLACES = 10_000
"""Parts of the whole to which the picture of all tunes is exact; the lines that part the states
fall on them, so cutting off moves no tune into another state."""


def today(desk: OpenFile) -> TodayView:
    """Return the first screen."""
    at = moment(desk)
    first = chosen(desk, at, RoundKind.FIRST)
    drawn = drawn_now(desk)
    tunes = _marks(desk, drawn)
    hidden = {uuid for pick in first.picks for uuid in joined_tunes(at.now.uuids[pick.place])}
    now = running.sitting_of(desk)
    earlier = desk.repertoire.last_pick_up(at.day)
    return TodayView(
        day=at.day,
        tuning=first.tuning,
        steps=steps_of(desk, at, first),
        fading=_fading(desk, drawn, hidden),
        tunes=tunes,
        counts=_counts(tunes),
        note=note_of(desk, first, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
        at=now.step,
        closed=now.closed_at is not None,
        pick_up=earlier[1] if earlier else "",
        pick_up_day=earlier[0] if earlier else None,
        practice=work_list.count(desk),
        coming=_coming(desk),
        practised=any(not entry.played_at for entry in at.practised),
        head_only=now.head_only,
    )


def _marks(desk: OpenFile, drawn: Picture) -> tuple[TuneMark, ...]:
    chances = np.floor(opening_chances(drawn) * PLACES) / PLACES
    askable = drawn.asked & (drawn.opening >= 0)
    return tuple(
        TuneMark(tune.key.root if tune.key else "", chance, asked)
        for tune, chance, asked in zip(
            desk.tunes.values(), chances.tolist(), askable.tolist(), strict=True
        )
        if tune.status in ASKED_OF
    )


def _counts(tunes: tuple[TuneMark, ...]) -> tuple[tuple[str, int], ...]:
    """How many tunes are in each state, those without any left out."""
    asked = [tune.chance for tune in tunes if tune.asked]
    spaces = np.searchsorted((RUSTY, FADING, SAFE), asked, side="right")
    lost, rusty, fading, safe = np.bincount(spaces, minlength=4).tolist()
    counts = {
        State.SAFE: safe,
        State.FADING: fading,
        State.RUSTY: rusty,
        State.LOST: lost,
        State.NOT_ASKED: len(tunes) - len(asked),
    }
    return tuple((state.value, number) for state, number in counts.items() if number)


def _fading(desk: OpenFile, drawn: Picture, hidden: Collection[str]) -> tuple[Fades, ...]:
    """The weakest strands of tunes that are safe no more, those the round will ask left out."""
    columns = weakest(drawn, names=False)
    found = []
    for place, tune in enumerate(desk.tunes.values()):
        column = columns[place]
        if column < 0 or not drawn.asked[place] or tune.status not in ASKED_OF:
            continue
        chance = float(drawn.chance[place, column])
        if chance < SAFE and tune.uuid not in hidden:
            found.append((chance, tune.title, tune.uuid, column))
    return tuple(
        Fades(title, strand_name(column), chance)
        for chance, title, _, column in nsmallest(FADING_SHOWN, found)
    )


def _coming(desk: OpenFile) -> tuple[Coming, ...]:
    if not desk.dates:
        return ()
    from tunememory.dates import overview  # noqa: PLC0415 - a player without dates loads none of it

    return tuple(
        Coming(view.title, view.on, view.days, view.wanted, view.ready)
        for view in overview.next_ones(desk, DATES_SHOWN)
        if view.on is not None and view.days is not None
    )


def made_as(clock: Clock) -> str:
    """Say what a first screen rests on beside the file: this program, its memory and the zone."""
    return f"{__version__} {MODEL} {clock.zone}"


def to_text(view: TodayView) -> str:
    """Return ``view`` as JSON; ``from_text`` gives the same view back."""
    roots, chances, asked = zip(*view.tunes, strict=True) if view.tunes else ((), (), ())
    names = sorted({*roots})
    held = view._asdict() | {
        "day": view.day.isoformat(),
        "tunes": [names, [*map(names.index, roots)], chances, [*map(int, asked)]],
        "pick_up_day": view.pick_up_day and view.pick_up_day.isoformat(),
        "coming": [(one.title, one.on.isoformat(), *one[2:]) for one in view.coming],
    }
    return json.dumps(held, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str) -> TodayView | None:
    """Return the view that ``to_text`` wrote, ``None`` for any other text."""
    try:
        held = json.loads(text, parse_constant=_refuse)
        if set(held) != set(TodayView._fields):
            return None
        return _view(**held)
    except (AttributeError, LookupError, TypeError, ValueError, RecursionError):
        return None


def _view(*, day: Any, tuning: Any, steps: Any, fading: Any, tunes: Any, counts: Any, note: Any,
          coming_back: Any, at: Any, closed: Any, pick_up: Any, pick_up_day: Any, practice: Any,
          coming: Any, practised: Any, head_only: Any) -> TodayView:  # fmt: skip
    return TodayView(
        day=date.fromisoformat(day),
        tuning=_words(tuning),
        steps=tuple(
            Step(RoundKind(kind), _number(minutes), _count(prompts), _truth(done), _count(asked))
            for kind, minutes, prompts, done, asked in steps
        ),
        fading=tuple(
            Fades(_words(title), _words(strand), _number(chance))
            for title, strand, chance in fading
        ),
        tunes=_marks_text(*tunes),
        counts=tuple((_words(state), _count(number)) for state, number in counts),
        note=_words(note),
        coming_back=_truth(coming_back),
        at=At(at),
        closed=_truth(closed),
        pick_up=_words(pick_up),
        pick_up_day=None if pick_up_day is None else date.fromisoformat(pick_up_day),
        practice=_count(practice),
        coming=tuple(
            Coming(_words(title), date.fromisoformat(on), _count(days), _count(wanted),
                   _count(ready))
            for title, on, days, wanted, ready in coming
        ),
        practised=_truth(practised),
        head_only=_truth(head_only),
    )  # fmt: skip


def _marks_text(names: Any, which: Any, chances: Any, asked: Any) -> tuple[TuneMark, ...]:
    """Tunes in columns: there may be thousands."""
    roots = dict(enumerate(map(_words, names)))
    if not {*map(type, chances)} <= {float} or not all(0 <= chance <= 1 for chance in chances):
        raise TypeError("no chances")
    return tuple(
        TuneMark(roots[place], chance, _ASKED[known])
        for place, chance, known in zip(which, chances, asked, strict=True)
    )


_ASKED = {0: False, 1: True}


def _refuse(constant: str) -> float:
    raise ValueError(f"{constant} is no number")


def _words(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError("no text")
    return clean_text(value)


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError("neither true nor false")
    return value


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError("no whole number")
    return value


def _number(value: Any) -> float:
    if not isinstance(value, float) or not isfinite(value):
        raise TypeError("no number")
    return value


DAYS_AHEAD = 3
"""Days prepared beside the present one: a player who misses two still finds the third."""


def prepare(desk: Desk) -> bool:
    """Keep in the file what the first screen says now and on the next days.

    Nothing is done where today and tomorrow are prepared already.

    Returns:
        Whether they are prepared. A file that cannot be written, or that another window is
        writing, is none: it costs the next start a little time and nothing else.
    """
    repertoire = desk.repertoire
    if repertoire.readonly:
        return False
    today = desk.day()
    form = made_as(desk.clock)
    try:
        if {today, today + timedelta(days=1)} <= repertoire.prepared_days(form).keys():
            return True
        if desk.changed_elsewhere():
            desk.reload()
        views = {day: to_text(desk.as_at(at).today()) for day, at in _moments(desk)}
        return repertoire.save_prepared_days(views, form)
    except (RepertoireError, NotDoneError):
        return False


def reading(desk: Desk) -> Iterator[Callable[[], object]]:
    """Return in small pieces the reading that the first screen and a round wait for."""
    yield lambda: desk.tunes
    yield lambda: desk.last_met
    yield lambda: desk.remembered
    yield desk.remembered.all


def _moments(desk: Desk) -> Iterator[tuple[date, datetime]]:
    """Yield the present day and the next ones, each with the moment its first screen is for.

    That of the present day is now. On the others the player is expected at the hour of this
    day's first round, or at this hour where there was none.
    """
    now, today = desk.now(), desk.day()
    yield today, now
    first = [c for c in checks_between(desk, today, today) if c.round_kind is RoundKind.FIRST]
    usual = (first[0].at if first else now).astimezone(desk.clock.zone)
    for ahead in range(1, DAYS_AHEAD + 1):
        # Counted by the clock on the wall, as practice days are.
        at = (usual + timedelta(days=ahead)).astimezone(UTC)
        yield desk.day_of(at), at
