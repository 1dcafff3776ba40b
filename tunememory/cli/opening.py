"""From options to an open session."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, TypeVar

from tunememory.cli import UsageError
from tunememory.clock import Clock, fixed_clock, system_clock
from tunememory.errors import NotDoneError
from tunememory.library.adding import same_title
from tunememory.library.searching import tunes_named
from tunememory.paths import NOW_VARIABLE, default_path, repertoire_path
from tunememory.text import clean_text, fold

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence
    from pathlib import Path

    from tunememory.music.tune import Tune
    from tunememory.session import Session


def clock_of(options: argparse.Namespace) -> Clock:
    """Return the clock asked for with ``--now`` or its variable, else the system's.

    Raises:
        UsageError: The moment cannot be read.
    """
    text = options.now or os.environ.get(NOW_VARIABLE)
    if not text:
        return system_clock()
    moment = _iso(text)
    if moment is None:
        raise UsageError(f"“{text}” is not a time: write for example 2026-11-24T19:30")
    return fixed_clock(moment)


def open_session_of(options: argparse.Namespace, *, create: bool = False) -> Session:
    """Open the repertoire the options name.

    Args:
        options: Of the command.
        create: Make the file where there is none; only for commands that put in what a
            repertoire may begin with.

    Raises:
        NotDoneError: It cannot be used.
        UsageError: The clock cannot be read.
    """
    from tunememory.session import open_session  # noqa: PLC0415 - help needs none of it

    return open_session(path_of(options, create=create), clock_of(options), create=create)


def screen_path_of(options: argparse.Namespace) -> Path:
    """Return the repertoire to open on the screen, which begins the player's own by itself.

    Raises:
        NotDoneError: Another one is named, and there is no such file.
    """
    own = repertoire_path(options.repertoire) == default_path()
    return path_of(options, create=own)


def path_of(options: argparse.Namespace, *, create: bool) -> Path:
    """Return the repertoire file the options name; a slip in its name must make nothing.

    Raises:
        NotDoneError: It is not there, and is not to be made.
        UsageError: Its folder is not there.
    """
    path = repertoire_path(options.repertoire)
    own = path == default_path()
    if not own and not path.parent.is_dir():
        raise UsageError(f"{clean_text(str(path.parent))}: there is no such folder")
    if not create and not path.exists():
        if own:
            raise NotDoneError(
                "there is no repertoire yet; begin it with: tunememory add NAME, or import FILE"
            )
        raise NotDoneError(
            f"{clean_text(str(path), limit=500)}: there is no such file; check its name, "
            "or begin it with the command add or import"
        )
    return path


def moment_of(text: str, clock: Clock) -> datetime:
    """Read the moment a check was made: ``2026-11-24T21:30``, ``2026-11-24`` (noon), ``21:30``
    (the last time it was that o'clock) or ``yesterday 21:30``.

    Raises:
        UsageError: It cannot be read.
    """  # noqa: D205 - the forms belong in one sentence
    now = clock.now().astimezone(clock.zone)
    words = text.split()
    if len(words) == 2 and words[0] == "yesterday" and (hour := _hour(words[1])):
        return datetime.combine(now.date() - timedelta(days=1), hour, now.tzinfo).astimezone(UTC)
    if (hour := _hour(text)) is not None:
        moment = datetime.combine(now.date(), hour, now.tzinfo)
        return (moment if moment <= now else moment - timedelta(days=1)).astimezone(UTC)
    try:
        return datetime.combine(date.fromisoformat(text), time(12), now.tzinfo).astimezone(UTC)
    except ValueError:
        pass
    read = _iso(text)
    if read is None:
        raise UsageError(
            f"“{text}” is not a time: write 21:30, yesterday 21:30 or 2026-11-24T21:30"
        )
    return (read if read.tzinfo else read.replace(tzinfo=clock.zone)).astimezone(UTC)


def _iso(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError:
        return None


def _hour(text: str) -> time | None:
    try:
        return (
            time.fromisoformat(text)
            if ":" in text and "T" not in text and "-" not in text
            else None
        )
    except ValueError:
        return None


Made = TypeVar("Made")

_NAMED = 5


def one_tune(session: Session, words: str) -> Tune:
    """Return the tune that ``words`` name: a whole title, or the only one that fits.

    Raises:
        NotDoneError: None fits, or several do (they are named).
    """
    whole = same_title(session, words)
    if len(whole) == 1:
        return whole[0]
    found = list(whole) or [row.tune for row in tunes_named(session, words)]
    if not found:
        raise NotDoneError(f"no tune called “{words}”: see tunememory show, or add it")
    if len(found) > 1:
        names = "; ".join(_named(tune) for tune in found[:_NAMED])
        more = " …" if len(found) > _NAMED else ""
        raise NotDoneError(f"“{words}” could be several tunes: {names}{more}")
    return found[0]


def _named(tune: Tune) -> str:
    return f"{tune.title} ({tune.facts})" if tune.facts else tune.title


def one_named(words: str, named: Sequence[tuple[str, Made]], what: str) -> Made:
    """Return the one thing that ``words`` name: by its whole name, or the only one that fits.

    Args:
        words: The beginnings of any words of its name.
        named: Name and thing.
        what: What it is, for the player.

    Raises:
        NotDoneError: None fits, or several do (they are named).
    """
    wanted = fold(words)
    whole = [pair for pair in named if fold(pair[0]) == wanted]
    found = whole or [pair for pair in named if _begins(f" {fold(pair[0])}", wanted)]
    if not found:
        raise NotDoneError(f"no {what} called “{clean_text(words)}”")
    if len(found) > 1:
        names = "; ".join(name for name, _ in found[:_NAMED])
        raise NotDoneError(f"“{clean_text(words)}” could be: {names}")
    return found[0][1]


def _begins(name: str, wanted: str) -> bool:
    return bool(wanted) and all(f" {word}" in name for word in wanted.split())
