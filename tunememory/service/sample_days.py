"""The sample's sets, dates and last days, read from what comes with the program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import TYPE_CHECKING, Any

from tunememory.planning.date_words import first_from
from tunememory.planning.rule import parse_rule
from tunememory.tunes.dates import Date, DayOff
from tunememory.tunes.journal import Heard, Practice
from tunememory.tunes.sets import TuneSet
from tunememory.ways.registry import WAYS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tunememory.store.repertoire import Repertoire


@dataclass(frozen=True, slots=True)
class SampleDays:
    """Everything of the sample that is neither a tune nor a check."""

    sets: tuple[TuneSet, ...]
    dates: tuple[Date, ...]
    days_off: tuple[DayOff, ...]
    practices: tuple[Practice, ...]
    heard: tuple[Heard, ...]
    pick_ups: Mapping[date, str]

    def keep(self, repertoire: Repertoire) -> None:
        """Write all of it to a repertoire that has the sample's tunes."""
        for one in self.sets:
            repertoire.save_set(one)
        for dated in self.dates:
            repertoire.save_date(dated)
        for off in self.days_off:
            repertoire.save_day_off(off)
        repertoire.add_practices(self.practices)
        for heard in self.heard:
            repertoire.save_heard(heard)
        for day, line in self.pick_ups.items():
            repertoire.save_pick_up(day, line)


def read_days(
    year: Mapping[str, Any],
    journal: Mapping[str, Any],
    tunes: Mapping[int, str],
    ends_on: date,
    zone: tzinfo,
    identity: Callable[[str, int], str],
) -> SampleDays:
    """Read sets, dates and journal of the sample.

    Args:
        year: The sets and dates, as parsed.
        journal: The last days, as parsed.
        tunes: Identity of each tune by its number.
        ends_on: Last day of the history, from which days are counted back.
        zone: Zone of the local times.
        identity: Gives the identity of the n-th thing of a kind.

    Raises:
        KeyError: Something is missing, or a tune or set is not there.
        ValueError: A rule, time or way cannot be read.
    """
    began = ends_on - timedelta(days=year["began"])
    sets = tuple(
        TuneSet(identity("set", n), found["name"], tuple(tunes[t] for t in found["tunes"]))
        for n, found in enumerate(year["sets"], 1)
    )
    by_name = {one.name: one.uuid for one in sets}
    return SampleDays(
        sets=sets,
        dates=tuple(
            Date(
                uuid=identity("date", n),
                title=found["name"],
                first_day=_first_day(found, began, ends_on),
                kind=found["kind"],
                rule=found.get("rule", ""),
                tunes=tuple(tunes[t] for t in found["tunes"]),
                sets=tuple(by_name[name] for name in found["sets"]),
            )
            for n, found in enumerate(year["dates"], 1)
        ),
        days_off=tuple(
            DayOff(identity("day off", n), began, began, found["rule"], found["note"])
            for n, found in enumerate(journal["days_off"], 1)
        ),
        practices=tuple(
            _practice(found, identity("practice", n), tunes, ends_on, zone)
            for n, found in enumerate(journal["practised"], 1)
        ),
        heard=tuple(
            Heard(
                identity("heard", n),
                _back(found, ends_on),
                found.get("name", ""),
                found.get("from", ""),
                found.get("like", ""),
                found.get("note", ""),
            )
            for n, found in enumerate(journal["heard"], 1)
        ),
        pick_ups={_back(found, ends_on): found["line"] for found in journal["pick_ups"]},
    )


def _back(found: Mapping[str, Any], ends_on: date) -> date:
    return ends_on - timedelta(days=found["days_before_end"])


def _first_day(found: Mapping[str, Any], began: date, ends_on: date) -> date:
    """The first day of a rule, or the one day of a date."""
    if "rule" not in found:
        return ends_on + timedelta(days=found["days_after_end"])
    first = first_from(parse_rule(found["rule"]), began)
    if first is None:
        raise ValueError(f"{found['name']} falls on no day")
    return first


def _practice(
    found: Mapping[str, Any],
    uuid: str,
    tunes: Mapping[int, str],
    ends_on: date,
    zone: tzinfo,
) -> Practice:
    day = _back(found, ends_on)
    way = found.get("way", "")
    if way and way not in WAYS:
        raise ValueError(f"“{way}” is not a way")
    return Practice(
        uuid=uuid,
        at=datetime.combine(day, time.fromisoformat(found["time"]), tzinfo=zone).astimezone(UTC),
        day=day,
        minutes=float(found["minutes"]),
        tune=tunes[found["tune"]] if "tune" in found else "",
        way=way,
        words=found.get("words", ""),
        head_only=found.get("head_only", False),
    )
