"""The clock, the zone and the practice day. The only place that asks the system for the time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


DAY_ENDS_AT_HOUR = 4
"""Local hour at which a practice day ends, when the player has not chosen another."""

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
"""Zero of the day scale on which the memory model counts elapsed time."""

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Clock:
    """A source of the present moment and the player's zone.

    Attributes:
        now: Gives an aware moment; never called by domain code.
        zone: Zone in which practice days are counted.
    """

    now: Callable[[], datetime]
    zone: tzinfo

    def day(self, ends_at_hour: int = DAY_ENDS_AT_HOUR) -> date:
        """Practice day of this moment."""
        return practice_day(self.now(), self.zone, ends_at_hour)


def system_clock() -> Clock:
    """Return the running system clock in the local zone."""
    return Clock(lambda: datetime.now(UTC), _local_zone())


def fixed_clock(moment: datetime) -> Clock:
    """Return a clock that stands at ``moment``; its zone is the moment's, or local if naive."""
    zone = moment.tzinfo or _local_zone()
    aware = moment if moment.tzinfo else moment.replace(tzinfo=zone)
    return Clock(lambda: aware.astimezone(UTC), zone)


def practice_day(moment: datetime, zone: tzinfo, ends_at_hour: int = DAY_ENDS_AT_HOUR) -> date:
    """Return the practice day that holds an aware ``moment``.

    Wall-clock subtraction in the zone keeps the cut at the same local hour across clock changes.
    """
    return (moment.astimezone(zone) - timedelta(hours=ends_at_hour)).date()


def to_days(moment: datetime) -> float:
    """Days since ``EPOCH`` of an aware moment: the time scale of the memory model."""
    return (moment - EPOCH) / _DAY


def _local_zone() -> tzinfo:
    import os  # noqa: PLC0415 - only the running program needs the system's zone
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError  # noqa: PLC0415

    name = os.environ.get("TZ", "").lstrip(":")
    if name:
        try:
            return ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            pass
    link = "/etc/localtime"
    try:
        target = os.path.realpath(link)
        if "zoneinfo/" in target:
            return ZoneInfo(target.split("zoneinfo/", 1)[1])
    except (ZoneInfoNotFoundError, ValueError, OSError):
        pass
    return datetime.now(UTC).astimezone().tzinfo or UTC
