"""Which prompts a round asks, within the minutes given."""

from __future__ import annotations

from dataclasses import dataclass
from heapq import nsmallest
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates.weights import load
from tunememory.history import HOW, Pace
from tunememory.rounds.candidates import Candidates, Pick

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray


JOIN_SHARE = 0.2
"""Largest share of a round given to the joins of sets: the tunes themselves come first."""

LEAST_GAIN = 0.01
"""A tune whose chance on the day a check would raise by less is left to the ordinary plan (own
choice: more would leave tunes out that fade after all, on simulated players)."""

UNMET_DAYS = 100.0
"""A kept tune not met for this long is asked however sure it is: a few times a year."""

UNMET_SHARE = 0.25
"""Largest share of a round given to such tunes."""

LEAST_WORTH = 0.5
"""A prompt that wins fewer days callable is left out of a first round: it would only tire."""

LEAST_PROMPTS = 4
"""A first round has at least so many prompts, if there are as many to ask."""

RETURN_SHARE = 2 / 3
"""Share of a round for tunes not met since the player came back; the rest goes by worth."""


WAITING_DAYS = 14.0
"""Days without meeting any tune of a tuning after which a change is offered (own choice)."""

WANTED_DAYS = 3.0
"""The same where a date that is near wants some of its tunes: a check does most for a date when a
few days lie between (own choice)."""

WANTED_GAIN = 0.25
"""By how much, summed over its strands, a check must raise the chance of one of them on the day:
tuning the strings over costs minutes (own choice)."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """Tunes of a tuning the instrument is not in.

    Attributes:
        tuning: The tuning, as letters.
        tunes: How many wait; only those a date wants where one does.
        days: Since any of its tunes was met.
        date_in: Days until a date that wants them, ``None`` where none is near.
    """

    tuning: str
    tunes: int
    days: float
    date_in: int | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the player gives or overrules.

    Attributes:
        minutes: Length of the round, above 0.
        instrument: Tuning the instrument stands in, as letters.
        tuning: Another tuning asked for this time, or ``None``.
        kind: Only tunes of this kind, or ``None``.
        intake: At most this many tunes in learning are asked.
        returned: Model days at which the player came back from time away, or ``None``.
    """

    minutes: float
    instrument: str
    tuning: str | None = None
    kind: str | None = None
    intake: int = 3
    returned: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """A round to ask.

    Attributes:
        tuning: The one tuning of the round.
        picks: Prompts in the order of asking.
        waiting: Other tunings whose tunes have waited too long.
    """

    tuning: str
    picks: tuple[Pick, ...]
    waiting: tuple[Waiting, ...] = ()


def first_round(candidates: Candidates, wishes: Wishes, pace: Pace, now: float) -> Plan:
    """Plan the cold round before practice (a loose round is planned the same way).

    Args:
        candidates: The repertoire.
        wishes: Minutes and overrules.
        pace: Seconds a check takes this player.
        now: Days on the model's scale.
    """
    usable = _usable(candidates, wishes) & ~candidates.asked_today
    tuning = wishes.tuning or _tuning_of(candidates, usable, wishes.instrument)
    here = usable & np.array([t == tuning for t in candidates.tuning], dtype=bool)
    waiting = _waiting(candidates, usable, tuning, now)
    ranked = _ranked(candidates, here, pace)
    picks = _fill(candidates, _demanded(candidates, ranked, wishes, pace, now), wishes, pace)
    return Plan(tuning, tuple(mix_roots(candidates, picks)), waiting)


def last_round(
    candidates: Candidates, wishes: Wishes, pace: Pace, again: Sequence[Pick], tuning: str
) -> Plan:
    """Plan the round after practice.

    Args:
        candidates: The repertoire.
        wishes: Minutes and overrules.
        pace: Seconds a check takes this player.
        again: What to ask once more, most wanted first (see ``once_more``).
        tuning: Tuning of today's sitting.
    """
    usable = _usable(candidates, wishes)
    kept = [
        pick for pick in again if usable[pick.place] and candidates.askable[pick.place, pick.prompt]
    ]
    picks = _within(kept, wishes.minutes, pace)
    return Plan(tuning, tuple(mix_roots(candidates, picks)))


def once_more(
    candidates: Candidates,
    failed: Iterable[tuple[int, int]],
    worked_on: Iterable[int],
    asked_last: frozenset[int],
) -> list[Pick]:
    """Return what the last round should ask, most wanted first.

    What would not come in the first round, then what was learned or practised today, then the
    older of two similar tunes when the newer was met today: asking the first of two similar
    melodies once more restored the overnight gain the second had wiped out (Allen 2013,
    Psychology of Music, memory stabilization following music practice).

    Args:
        candidates: The repertoire.
        failed: ``(place, prompt)`` of today's checks with a level below 3, in order.
        worked_on: Places practised today or in learning and asked today.
        asked_last: Places already asked in a last round today.
    """
    picks: list[Pick] = []
    seen: set[int] = set(asked_last)

    def add(place: int, prompt: int) -> None:
        if place not in seen:
            seen.add(place)
            picks.append(Pick(place, prompt))

    for place, prompt in failed:
        add(place, prompt)
    fresh = list(worked_on)
    for place in fresh:
        add(place, HOW)
    for place in fresh:
        if candidates.new[place]:
            for twin in sorted(candidates.twins.get(place, frozenset())):
                if candidates.new[twin] and candidates.asked_today[twin]:
                    add(twin, HOW)
    return picks


def another(
    candidates: Candidates, tuning: str, taken: Sequence[int], kind: str | None
) -> list[int]:
    """Return places that could stand in for a prompt of a running round, in repertoire order."""
    usable = _usable(candidates, Wishes(1.0, tuning, kind=kind)) & ~candidates.asked_today
    out = set(taken)
    for place in taken:
        out |= candidates.clash.get(place, frozenset())
    return [
        int(place)
        for place in np.flatnonzero(usable)
        if candidates.tuning[place] == tuning and int(place) not in out
    ]


def _usable(candidates: Candidates, wishes: Wishes) -> NDArray[np.bool_]:
    usable = candidates.askable.any(axis=1) & ~candidates.put_off
    if wishes.kind is not None:
        usable &= np.array([kind == wishes.kind for kind in candidates.kind], dtype=bool)
    learning = np.flatnonzero(usable & candidates.learning)
    if len(learning) > wishes.intake:
        # The tunes longest in learning go on; the others wait their turn.
        by_age = sorted(learning, key=lambda place: (candidates.added[place], place))
        usable[by_age[wishes.intake :]] = False
    return usable


def _tuning_of(candidates: Candidates, usable: NDArray[np.bool_], instrument: str) -> str:
    """Return the tuning of the round: the instrument's if it has anything to ask, else the best.

    Args:
        candidates: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        instrument: Tuning the instrument stands in, as letters.
    """
    present = {candidates.tuning[place] for place in np.flatnonzero(usable)}
    if not present or instrument in present:
        return instrument
    return max(sorted(present), key=lambda tuning: _worth(candidates, usable, tuning))


def _waiting(
    candidates: Candidates, usable: NDArray[np.bool_], tuning: str, now: float
) -> tuple[Waiting, ...]:
    """Return the other tunings whose tunes have waited too long: for a date first.

    Args:
        candidates: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        tuning: The tuning of the round.
        now: Days on the model's scale.
    """
    waits: list[Waiting] = []
    wanted = _wanted(candidates)
    for other in sorted({candidates.tuning[place] for place in np.flatnonzero(usable)} - {tuning}):
        places = [p for p in np.flatnonzero(usable) if candidates.tuning[p] == other]
        met = candidates.last_met[places]
        since = float(now - np.nanmax(met)) if np.isfinite(met).any() else np.inf
        dated = [p for p in places if np.isfinite(wanted[p])]
        if dated and since >= WANTED_DAYS:
            waits.append(Waiting(other, len(dated), since, int(wanted[dated].min())))
        elif since >= WAITING_DAYS:
            tunes = sum(not candidates.is_join(int(p)) for p in places)
            waits.append(Waiting(other, tunes, since))
    return tuple(sorted(waits, key=_place))


def _wanted(candidates: Candidates) -> NDArray[np.float64]:
    """(T,) days until a date that is near wants a tune which a check would help there, else nan."""
    tunes = np.arange(len(candidates.uuids)) < len(candidates.uuids) - candidates.joins
    if candidates.date_days is None or candidates.date_gain is None:
        return np.full(len(tunes), np.nan)
    helps = np.nan_to_num(candidates.date_gain).max(axis=1) >= WANTED_GAIN
    return np.where(tunes & helps, candidates.date_days, np.nan)


def _place(waits: Waiting) -> tuple[bool, int, float, str]:
    """What is wanted soonest comes first, then what waited longest."""
    return waits.date_in is None, waits.date_in or 0, -waits.days, waits.tuning


def _worth(candidates: Candidates, usable: NDArray[np.bool_], tuning: str) -> float:
    values = [
        candidates.value[p].max() for p in np.flatnonzero(usable) if candidates.tuning[p] == tuning
    ]
    return float(sum(sorted(values, reverse=True)[:8]))


def _ranked(candidates: Candidates, here: NDArray[np.bool_], pace: Pace) -> list[Pick]:
    """One pick a tune, best value per second first."""
    places = np.flatnonzero(here)
    per_second = candidates.value[places] / np.array([pace.how, pace.what])
    per_second = np.where(candidates.askable[places], per_second, -np.inf)
    prompts = per_second.argmax(axis=1)
    best = per_second[np.arange(len(places)), prompts]
    order = np.argsort(-best, kind="stable")
    ranked = zip(places[order].tolist(), prompts[order].tolist(), strict=True)
    return [Pick(place, prompt) for place, prompt in ranked]


def _worthwhile(candidates: Candidates, ranked: list[Pick]) -> list[Pick]:
    worth = [pick for pick in ranked if candidates.value[pick.place, pick.prompt] >= LEAST_WORTH]
    return worth if len(worth) >= LEAST_PROMPTS else ranked[:LEAST_PROMPTS]


def _demanded(
    candidates: Candidates, ranked: list[Pick], wishes: Wishes, pace: Pace, now: float
) -> list[Pick]:
    """Bring forward what must be met, within its share of the round."""
    room = max(1, int(wishes.minutes * 60 / pace.how))
    worth = _worthwhile(candidates, ranked)
    if wishes.returned is not None:
        return _coming_back_first(candidates, ranked, wishes.returned, room)
    dated, held = _for_dates(candidates, ranked, room)
    of_dates = {pick.place for pick in held}
    others = [pick for pick in worth if pick.place not in of_dates]
    since = np.where(np.isfinite(candidates.last_met), now - candidates.last_met, np.inf)
    unmet = [
        pick
        for pick in ranked
        if since[pick.place] > UNMET_DAYS
        and pick.place not in of_dates
        and not candidates.learning[pick.place]
        and not candidates.is_join(pick.place)
    ]
    # At least one of them in every round, so that small repertoires are not left out either.
    longest = nsmallest(max(1, int(room * UNMET_SHARE)), unmet, key=lambda p: -since[p.place])
    first = dated + longest
    return first + _without(others, first) + _without(worth, first + others)


def brought_forward(
    gain: NDArray[np.float64],
    days: NDArray[np.float64],
    room: float,
    joins: NDArray[np.bool_] | None = None,
) -> NDArray[np.int64]:
    """Return the places of what a round takes first for dates, most gain first.

    A share of the round belongs to the date (``weights.load``): it goes to those of its tunes
    whose chance on the day a check raises most. So the weakest come oftener, and all that can
    fade are met again in the last days. The others have the rest of the round to themselves:
    what the date costs them is its share and no more.

    Args:
        gain: (N,) how much asking each raises its chance on the day; nan where not wanted.
        days: (N,) days until the date that wants each, nan for none.
        room: Prompts the round has room for.
        joins: (N,) which are joins of sets, ``None`` for none. One strand gains less than the
            several of a tune, yet a set is not ready without it: joins have places of their own.
    """
    near = days[np.isfinite(days)]
    share = max((load(int(before)) for before in np.unique(near)), default=0.0)
    places = round(share * room)
    named = np.isfinite(days) & (gain >= LEAST_GAIN)
    if joins is None:
        return _most(gain, named, places)
    own = min(max(1, int(places * JOIN_SHARE)), places)
    of_joins = _most(gain, named & joins, own)
    of_tunes = _most(gain, named & ~joins, places - len(of_joins))
    return np.concatenate([of_tunes, of_joins])


def _most(gain: NDArray[np.float64], which: NDArray[np.bool_], places: int) -> NDArray[np.int64]:
    """Rows of ``which`` with most gain, ``places`` at most."""
    order = np.argsort(-np.where(which, gain, -np.inf), kind="stable")[:places]
    return np.asarray(order[which[order]])


def _for_dates(
    candidates: Candidates, ranked: Sequence[Pick], room: float
) -> tuple[list[Pick], list[Pick]]:
    """Return the picks dates take first, and all they want: the rest of those comes last.

    Args:
        candidates: The repertoire.
        ranked: What may be asked, one pick a tune.
        room: Prompts the round has room for.
    """
    if candidates.date_days is None or candidates.date_gain is None:
        return [], []
    days = candidates.date_days
    held = [pick for pick in ranked if np.isfinite(days[pick.place])]
    gain = np.array([candidates.date_gain[pick.place, pick.prompt] for pick in held])
    joins = np.array([candidates.is_join(pick.place) for pick in held], dtype=bool)
    first = brought_forward(gain, days[[pick.place for pick in held]], room, joins)
    return [held[row] for row in first], held


def _coming_back_first(
    candidates: Candidates, ranked: list[Pick], returned: float, room: int
) -> list[Pick]:
    unmet = not_met_since(candidates.last_met, returned)
    surest = [
        pick
        for pick in sorted(ranked, key=lambda p: -candidates.chance[p.place])
        if unmet[pick.place]
    ]
    share = surest[: max(1, round(room * RETURN_SHARE))]
    known_again = [pick for pick in ranked if not unmet[pick.place]]
    return share + known_again + _without(surest, share)


def not_met_since(last_met: NDArray[np.float64], returned: float) -> NDArray[np.bool_]:
    """Return which tunes were met before the break but not since ``returned`` (model days)."""
    return np.isfinite(last_met) & (last_met < returned)


def _fill(candidates: Candidates, wanted: list[Pick], wishes: Wishes, pace: Pace) -> list[Pick]:
    """Take from ``wanted`` while the minutes last, leaving out the twin of a new tune."""
    blocked: set[int] = set()
    joins = max(1, int(wishes.minutes * 60 / pace.how * JOIN_SHARE))
    picks = _within(_allowed(candidates, wanted, joins, blocked), wishes.minutes, pace)
    return _with_twin(candidates, picks, wanted, blocked)


def _allowed(
    candidates: Candidates, wanted: Iterable[Pick], joins: int, blocked: set[int]
) -> Iterator[Pick]:
    """Give what may be asked beside what was given before, ``joins`` joins at most.

    Args:
        candidates: The repertoire.
        wanted: What is wanted, most wanted first.
        joins: How many joins there is room for.
        blocked: Places that may not be asked beside what was given; grows.
    """
    for pick in wanted:
        if pick.place in blocked:
            continue
        if candidates.is_join(pick.place):
            if not joins:
                continue
            joins -= 1
        yield pick
        blocked |= candidates.clash.get(pick.place, frozenset())
        for twin in candidates.twins.get(pick.place, frozenset()):
            # A similar tune on the same evening undoes the night's gain of a new one
            # (Duke & Davis 2006, J. Res. Music Educ. 54, 111-124; Allen 2013).
            if candidates.new[pick.place] or candidates.new[twin]:
                blocked.add(twin)


def _with_twin(
    candidates: Candidates, picks: list[Pick], wanted: list[Pick], blocked: set[int]
) -> list[Pick]:
    """Put a well-known twin beside its mate in place of the last pick, once a round at most."""
    chosen = {pick.place for pick in picks}
    if len(picks) < 4 or any(candidates.twins.get(p, frozenset()) & chosen for p in chosen):
        return picks
    for pick in picks[:2]:
        twins = candidates.twins.get(pick.place, frozenset()) - chosen - blocked
        beside = [other for other in wanted if other.place in twins] if twins else []
        if beside:
            return [*picks[:-1], min(beside, key=lambda other: other.place)]
    return picks


def _within(picks: Iterable[Pick], minutes: float, pace: Pace) -> list[Pick]:
    seconds = 0.0
    kept: list[Pick] = []
    for pick in picks:
        seconds += pace.of(pick.prompt)
        if kept and seconds > minutes * 60:
            break
        kept.append(pick)
    return kept


def _without(picks: Iterable[Pick], out: Sequence[Pick]) -> list[Pick]:
    places = {pick.place for pick in out}
    return [pick for pick in picks if pick.place not in places]


def mix_roots(candidates: Candidates, picks: Sequence[Pick]) -> list[Pick]:
    """Return ``picks`` so that neighbours have different roots where that is possible.

    Neighbours of one root would give the key away. Twins that are both in the round stay side
    by side, whatever their roots: there the question is where they part. The order given
    (worth first) is otherwise kept as far as it can be, so that a round stopped early has
    asked what matters most.
    """
    blocks = _twin_blocks(candidates, picks)
    mixed: list[Pick] = []
    while blocks:
        last_root = int(candidates.root[mixed[-1].place]) if mixed else None
        roots = [int(candidates.root[block[0].place]) for block in blocks]
        # A root that fills half of what is left must go now, or it would end in a row.
        commonest = max(set(roots), key=lambda root: (roots.count(root), -roots.index(root)))
        if commonest != last_root and 2 * roots.count(commonest) > len(blocks):
            chosen = roots.index(commonest)
        else:
            chosen = next((i for i, root in enumerate(roots) if root != last_root), 0)
        mixed.extend(blocks.pop(chosen))
    return mixed


def _twin_blocks(candidates: Candidates, picks: Sequence[Pick]) -> list[list[Pick]]:
    blocks: list[list[Pick]] = []
    used: set[int] = set()
    for pick in picks:
        if pick.place in used:
            continue
        block = [pick]
        used.add(pick.place)
        mates = candidates.twins.get(pick.place, frozenset())
        for other in picks:
            if other.place in mates and other.place not in used:
                block.append(other)
                used.add(other.place)
                break
        blocks.append(block)
    return blocks
