"""Which prompts a round asks, within the minutes given."""

from __future__ import annotations

from dataclasses import dataclass, replace
from heapq import nsmallest
from typing import TYPE_CHECKING

import numpy as np

from tunememory.history.days import HOW, Pace
from tunememory.rounds.candidates import JOIN_SHARE, Pick, Standing
from tunememory.rounds.date_share import for_dates
from tunememory.rounds.tunings import Waiting, choose_tuning, waiting_tunings

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray


def mix_roots(standing: Standing, picks: Sequence[Pick]) -> list[Pick]:
    """Return ``picks`` so that neighbours have different roots where that is possible.

    Neighbours of one root would give the key away. Twins that are both in the round stay side
    by side, whatever their roots: there the question is where they part. The order given
    (worth first) is otherwise kept as far as it can be, so that a round stopped early has
    asked what matters most.
    """
    blocks = _twin_blocks(standing, picks)
    mixed: list[Pick] = []
    while blocks:
        last_root = int(standing.root[mixed[-1].place]) if mixed else None
        roots = [int(standing.root[block[0].place]) for block in blocks]
        # A root that fills half of what is left must go now, or it would end in a row.
        commonest = max(set(roots), key=lambda root: (roots.count(root), -roots.index(root)))
        if commonest != last_root and 2 * roots.count(commonest) > len(blocks):
            chosen = roots.index(commonest)
        else:
            chosen = next((i for i, root in enumerate(roots) if root != last_root), 0)
        mixed.extend(blocks.pop(chosen))
    return mixed


def _twin_blocks(standing: Standing, picks: Sequence[Pick]) -> list[list[Pick]]:
    blocks: list[list[Pick]] = []
    used: set[int] = set()
    for pick in picks:
        if pick.place in used:
            continue
        block = [pick]
        used.add(pick.place)
        mates = standing.twins.get(pick.place, frozenset())
        for other in picks:
            if other.place in mates and other.place not in used:
                block.append(other)
                used.add(other.place)
                break
        blocks.append(block)
    return blocks


def not_met_since(last_met: NDArray[np.float64], returned: float) -> NDArray[np.bool_]:
    """Return which tunes were met before the break but not since ``returned`` (model days)."""
    return np.isfinite(last_met) & (last_met < returned)


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


def first_round(standing: Standing, wishes: Wishes, pace: Pace, now: float) -> Plan:
    """Plan the cold round before practice (a loose round is planned the same way).

    Args:
        standing: The repertoire.
        wishes: Minutes and overrules.
        pace: Seconds a check takes this player.
        now: Days on the model's scale.
    """
    usable = _usable(standing, wishes) & ~standing.asked_today
    tuning = wishes.tuning or choose_tuning(standing, usable, wishes.instrument)
    here = usable & np.array([t == tuning for t in standing.tuning], dtype=bool)
    waiting = waiting_tunings(standing, usable, tuning, now)
    ranked = _ranked(standing, here, pace)
    picks = _fill(standing, _demanded(standing, ranked, wishes, pace, now), wishes, pace)
    return Plan(tuning, tuple(mix_roots(standing, picks)), waiting)


def last_round(
    standing: Standing, wishes: Wishes, pace: Pace, again: Sequence[Pick], tuning: str
) -> Plan:
    """Plan the round after practice.

    Args:
        standing: The repertoire.
        wishes: Minutes and overrules.
        pace: Seconds a check takes this player.
        again: What to ask once more, most wanted first (see ``once_more``).
        tuning: Tuning of today's sitting.
    """
    usable = _usable(standing, wishes)
    kept = [
        pick for pick in again if usable[pick.place] and standing.askable[pick.place, pick.prompt]
    ]
    picks = _within(kept, wishes.minutes, pace)
    return Plan(tuning, tuple(mix_roots(standing, picks)))


def once_more(
    standing: Standing,
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
        standing: The repertoire.
        failed: ``(place, prompt)`` of today's checks with a level below 3, in order.
        worked_on: Places practised today or in learning and asked today.
        asked_last: Places already asked in a last round today.
    """
    picks: list[Pick] = []
    seen: set[int] = set(asked_last)

    def add(place: int, prompt: int, why: str) -> None:
        if place not in seen:
            seen.add(place)
            picks.append(Pick(place, prompt, why))

    for place, prompt in failed:
        add(place, prompt, "would not come in the first round")
    fresh = list(worked_on)
    for place in fresh:
        add(place, HOW, "worked on today")
    for place in fresh:
        if standing.new[place]:
            for twin in sorted(standing.twins.get(place, frozenset())):
                if standing.new[twin] and standing.asked_today[twin]:
                    add(twin, HOW, "begins like the new one")
    return picks


def another(standing: Standing, tuning: str, taken: Sequence[int], kind: str | None) -> list[int]:
    """Return places that could stand in for a prompt of a running round, in repertoire order."""
    usable = _usable(standing, Wishes(1.0, tuning, kind=kind)) & ~standing.asked_today
    out = set(taken)
    for place in taken:
        out |= standing.clash.get(place, frozenset())
    return [
        int(place)
        for place in np.flatnonzero(usable)
        if standing.tuning[place] == tuning and int(place) not in out
    ]


def _usable(standing: Standing, wishes: Wishes) -> NDArray[np.bool_]:
    usable = standing.askable.any(axis=1) & ~standing.put_off
    if wishes.kind is not None:
        usable &= np.array([kind == wishes.kind for kind in standing.kind], dtype=bool)
    learning = np.flatnonzero(usable & standing.learning)
    if len(learning) > wishes.intake:
        # The tunes longest in learning go on; the others wait their turn.
        by_age = sorted(learning, key=lambda place: (standing.added[place], place))
        usable[by_age[wishes.intake :]] = False
    return usable


def _ranked(standing: Standing, here: NDArray[np.bool_], pace: Pace) -> list[Pick]:
    """One pick a tune, best value per second first."""
    places = np.flatnonzero(here)
    per_second = standing.value[places] / np.array([pace.how, pace.what])
    per_second = np.where(standing.askable[places], per_second, -np.inf)
    prompts = per_second.argmax(axis=1)
    best = per_second[np.arange(len(places)), prompts]
    order = np.argsort(-best, kind="stable")
    why = _reasons(standing)
    ranked = zip(places[order].tolist(), prompts[order].tolist(), strict=True)
    return [Pick(place, prompt, why[place]) for place, prompt in ranked]


def _worthwhile(standing: Standing, ranked: list[Pick]) -> list[Pick]:
    worth = [pick for pick in ranked if standing.value[pick.place, pick.prompt] >= LEAST_WORTH]
    return worth if len(worth) >= LEAST_PROMPTS else ranked[:LEAST_PROMPTS]


def _reasons(standing: Standing) -> list[str]:
    """Why each place would be asked."""
    tunes = len(standing.uuids) - standing.joins
    met = np.isfinite(standing.last_met[:tunes]).tolist()
    facts = zip(standing.learning[:tunes].tolist(), met, strict=True)
    of_tunes = [
        "in learning" if learning else "worth most now" if known else "not asked yet"
        for learning, known in facts
    ]
    return of_tunes + ["the join of a set"] * standing.joins


def _demanded(
    standing: Standing, ranked: list[Pick], wishes: Wishes, pace: Pace, now: float
) -> list[Pick]:
    """Bring forward what must be met, within its share of the round."""
    room = max(1, int(wishes.minutes * 60 / pace.how))
    worth = _worthwhile(standing, ranked)
    if wishes.returned is not None:
        return _coming_back_first(standing, ranked, wishes.returned, room)
    dated, held = for_dates(standing, ranked, room)
    of_dates = {pick.place for pick in held}
    others = [pick for pick in worth if pick.place not in of_dates]
    since = np.where(np.isfinite(standing.last_met), now - standing.last_met, np.inf)
    unmet = [
        pick
        for pick in ranked
        if since[pick.place] > UNMET_DAYS
        and pick.place not in of_dates
        and not standing.learning[pick.place]
        and not standing.is_join(pick.place)
    ]
    # At least one of them in every round, so that small repertoires are not left out either.
    longest = nsmallest(max(1, int(room * UNMET_SHARE)), unmet, key=lambda p: -since[p.place])
    forward = [replace(pick, why=_unmet_reason(since[pick.place])) for pick in longest]
    first = dated + forward
    return first + _without(others, first) + _without(worth, first + others)


def _unmet_reason(since: float) -> str:
    return "not met for months" if np.isfinite(since) else "not asked yet"


def _coming_back_first(
    standing: Standing, ranked: list[Pick], returned: float, room: int
) -> list[Pick]:
    unmet = not_met_since(standing.last_met, returned)
    surest = [
        replace(pick, why="an old friend, after time away")
        for pick in sorted(ranked, key=lambda p: -standing.chance[p.place])
        if unmet[pick.place]
    ]
    share = surest[: max(1, round(room * RETURN_SHARE))]
    known_again = [pick for pick in ranked if not unmet[pick.place]]
    return share + known_again + _without(surest, share)


def _fill(standing: Standing, wanted: list[Pick], wishes: Wishes, pace: Pace) -> list[Pick]:
    """Take from ``wanted`` while the minutes last, leaving out the twin of a new tune."""
    blocked: set[int] = set()
    joins = max(1, int(wishes.minutes * 60 / pace.how * JOIN_SHARE))
    picks = _within(_allowed(standing, wanted, joins, blocked), wishes.minutes, pace)
    return _with_twin(standing, picks, wanted, blocked)


def _allowed(
    standing: Standing, wanted: Iterable[Pick], joins: int, blocked: set[int]
) -> Iterator[Pick]:
    """Give what may be asked beside what was given before, ``joins`` joins at most.

    Args:
        standing: The repertoire.
        wanted: What is wanted, most wanted first.
        joins: How many joins there is room for.
        blocked: Places that may not be asked beside what was given; grows.
    """
    for pick in wanted:
        if pick.place in blocked:
            continue
        if standing.is_join(pick.place):
            if not joins:
                continue
            joins -= 1
        yield pick
        blocked |= standing.clash.get(pick.place, frozenset())
        for twin in standing.twins.get(pick.place, frozenset()):
            # A similar tune on the same evening undoes the night's gain of a new one
            # (Duke & Davis 2006, J. Res. Music Educ. 54, 111-124; Allen 2013).
            if standing.new[pick.place] or standing.new[twin]:
                blocked.add(twin)


def _with_twin(
    standing: Standing, picks: list[Pick], wanted: list[Pick], blocked: set[int]
) -> list[Pick]:
    """Put a well-known twin beside its mate in place of the last pick, once a round at most."""
    chosen = {pick.place for pick in picks}
    if len(picks) < 4 or any(standing.twins.get(p, frozenset()) & chosen for p in chosen):
        return picks
    for pick in picks[:2]:
        twins = standing.twins.get(pick.place, frozenset()) - chosen - blocked
        beside = [other for other in wanted if other.place in twins] if twins else []
        if beside:
            mate = min(beside, key=lambda other: other.place)
            why = "begins like the one before: where do they part?"
            return [*picks[:-1], replace(mate, why=why)]
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
