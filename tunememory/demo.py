"""The Saltpan Hall repertoire as a file of its own, its history ending yesterday."""

from __future__ import annotations

import csv
import json
import tomllib
import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from importlib import resources
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tunememory.clock import practice_day
from tunememory.dates.recurrence import parse_rule
from tunememory.dates.words import first_from
from tunememory.errors import NotDoneError
from tunememory.library.importing import tune_read
from tunememory.library.twins import compare_new_starts
from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import Refusal
from tunememory.music.tune import Declared, Status, Tune
from tunememory.music.ways.registry import WAYS
from tunememory.recall.check import Check, Level, Practice, Prompt, RoundKind
from tunememory.session import open_session
from tunememory.store.records import Date, DayOff, Heard, ParameterSet, Round, TuneSet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from tunememory.clock import Clock
    from tunememory.store.repertoire import Repertoire


TUNE_BOOK = "saltpan_hall.abc"
HISTORY = "history.csv"
DATES_AND_SETS = "dates_and_sets.toml"
JOURNAL = "journal.toml"
LEARNED = "learned.json"

IDENTITIES = uuid.UUID("5a17ba11-0000-4000-8000-5a17be11f00d")
"""Namespace of the identities of the sample's tunes, rounds and checks (RFC 9562 version 5)."""


def sample_folder() -> Path:
    """Return the folder of the sample repertoire.

    An installed program has it inside the package, a checkout beside the package.

    Raises:
        NotDoneError: It is in neither place.
    """
    package = Path(str(resources.files("tunememory")))
    for folder in (package / "sample_repertoire", package.parent / "sample_repertoire"):
        if (folder / TUNE_BOOK).is_file():
            return folder
    raise NotDoneError("the sample repertoire is missing: install tunememory again")


def identity(what: str, number: int) -> str:
    """Return the identity of a tune, round or check of the sample by its number.

    >>> identity("tune", 1)
    '43e9cccd-66f1-5d76-8ed8-0404300e0fac'
    """
    return str(uuid.uuid5(IDENTITIES, f"{what} {number}"))


def read_tunes(book: str, came_in: Mapping[str, int], began: int, ends_on: date) -> dict[int, Tune]:
    """Read the sample's tune book.

    Args:
        book: ABC with one number (``X:``) and our own directives for each tune.
        came_in: Days before the last day on which a tune came in, by number as text.
        began: The same for every other tune: the first day of the history.
        ends_on: Last day of the history.

    Returns:
        Tunes by number, in the order of the book.

    Raises:
        ValueError: A tune cannot be read without doubt; the text names its line.
    """
    tunes = {}
    for read in read_book(book.encode()).tunes:
        if isinstance(read, Refusal) or read.doubts:
            why = read.why if isinstance(read, Refusal) else read.doubts[0]
            raise ValueError(f"line {read.line}: {why}")
        number = int(read.reference)
        added = ends_on - timedelta(days=came_in.get(str(number), began))
        tunes[number] = tune_read(read, Status.KEPT, Declared.KNOWN, added)
    return tunes


COLUMNS = (
    "days_before_end",
    "time",
    "round_kind",
    "round",
    "tune",
    "prompt",
    "levels",
    "seconds",
    "hints",
    "wrong_key",
    "strayed_into",
)

_PROMPTS = {"how": Prompt.HOW, "what": Prompt.WHAT}
_MINUTES = {RoundKind.FIRST: 4.0, RoundKind.LAST: 2.0, RoundKind.LOOSE: 2.0}


def read_history(
    text: str, ends_on: date, zone: tzinfo, tune_ids: Mapping[int, str]
) -> list[Check]:
    """Read an invented history and move it so that it ends on a given day.

    Args:
        text: CSV with the header ``COLUMNS``: days before the last day, local time, kind of
            round, running number of the round (empty away from the screen), number of the tune,
            ``how`` or ``what``, levels as ``"key:3 A:4"``, seconds (may be empty), hints,
            ``1`` for the wrong key, and the number of the tune it strayed into (may be empty).
        ends_on: Practice day of the last checks.
        zone: Zone of the local times.
        tune_ids: Identity of each tune by its number.

    Returns:
        Checks in the order of the rows. The same text always gives the same identities.

    Raises:
        ValueError: A row cannot be read; the text names the line.
    """
    rows = csv.reader(text.splitlines())
    if next(rows, None) != list(COLUMNS):
        raise ValueError(f"line 1: the columns must be {','.join(COLUMNS)}")
    checks = []
    for line, row in enumerate(rows, start=2):
        try:
            checks.append(_check(row, line - 1, ends_on, zone, tune_ids))
        except (ValueError, KeyError) as error:
            raise ValueError(f"line {line}: {','.join(row)} cannot be read ({error})") from error
    return checks


def _check(
    row: list[str], number: int, ends_on: date, zone: tzinfo, tune_ids: Mapping[int, str]
) -> Check:
    days, clock, kind, run, tune, prompt, levels, seconds, hints, wrong_key, strayed = row
    day = ends_on - timedelta(days=int(days))
    at = datetime.combine(day, time.fromisoformat(clock), tzinfo=zone).astimezone(UTC)
    pairs = (pair.split(":") for pair in levels.split())
    return Check(
        uuid=identity("check", number),
        tune=tune_ids[int(tune)],
        at=at,
        day=practice_day(at, zone),
        round_kind=RoundKind(kind),
        prompt=_PROMPTS[prompt],
        levels=tuple((strand, Level(int(level))) for strand, level in pairs),
        seconds=float(seconds) if seconds else None,
        hints=int(hints),
        wrong_key=bool(int(wrong_key)),
        strayed_into=tune_ids[int(strayed)] if strayed else "",
        round_uuid=identity("round", int(run)) if run else "",
    )


def rounds_of(checks: Iterable[Check], tunes: Mapping[str, Tune]) -> list[Round]:
    """Return the rounds that ``checks`` were made in, oldest first.

    Args:
        checks: In order, those of a round together; those made in no round are passed over.
        tunes: The tunes by identity; a round was in the tuning of its first tune.
    """
    rounds = []
    for round_uuid, made in groupby(checks, key=lambda check: check.round_uuid):
        if not round_uuid:
            continue
        inside = list(made)
        first = inside[0]
        rounds.append(
            Round(
                uuid=round_uuid,
                kind=first.round_kind,
                day=first.day,
                begun_at=first.at - timedelta(seconds=first.seconds or 0.0),
                minutes=_MINUTES[first.round_kind],
                tuning=tunes[first.tune].tuning,
                ended_at=inside[-1].at,
            )
        )
    return rounds


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
            repertoire.sets.save(one)
        for dated in self.dates:
            repertoire.dates.save(dated)
        for off in self.days_off:
            repertoire.days_off.save(off)
        repertoire.practices.add(self.practices)
        for heard in self.heard:
            repertoire.heard.save(heard)
        for day, line in self.pick_ups.items():
            repertoire.pick_ups.save(day, line)


def read_days(
    year: Mapping[str, Any],
    journal: Mapping[str, Any],
    tunes: Mapping[int, str],
    ends_on: date,
    zone: tzinfo,
) -> SampleDays:
    """Read sets, dates and journal of the sample.

    Args:
        year: The sets and dates, as parsed.
        journal: The last days, as parsed.
        tunes: Identity of each tune by its number.
        ends_on: Last day of the history, from which days are counted back.
        zone: Zone of the local times.

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


def read_learned(text: str, at: datetime) -> list[ParameterSet]:
    """Read what was learned of the player from the history.

    Args:
        text: JSON as ``make_learned.py`` writes it.
        at: When it was learned, aware, UTC: each a second after the one before.

    Raises:
        ValueError, KeyError: It is not such a text.
    """
    return [
        ParameterSet(
            uuid=identity("learned", number),
            made_at=at + timedelta(seconds=number),
            numbers=json.dumps(made["numbers"]),
            evidence=json.dumps(made["evidence"]),
            active=made["active"],
        )
        for number, made in enumerate(json.loads(text))
    ]


def load_sample(
    repertoire: Repertoire, yesterday: date, zone: tzinfo, *, learned: bool = True
) -> None:
    """Fill an empty repertoire with the sample, its history ending on ``yesterday``.

    Beliefs are left to be worked out from the history.

    Args:
        repertoire: The open file.
        yesterday: Last practice day of the history.
        zone: Zone of its local times.
        learned: Whether what was learned of the player comes in too.

    Raises:
        NotDoneError: The sample that came with the program is missing or damaged.
        RepertoireError: The file cannot be written; nothing was.
    """
    folder = sample_folder()
    try:
        book, history, year, journal, fitted = (
            (folder / name).read_text(encoding="utf-8")
            for name in (TUNE_BOOK, HISTORY, DATES_AND_SETS, JOURNAL, LEARNED)
        )
        dates = tomllib.loads(year)
        tunes = read_tunes(book, dates["came_in"], dates["began"], yesterday)
        ids = {number: tune.uuid for number, tune in tunes.items()}
        checks = read_history(history, yesterday, zone, ids)
        days = read_days(dates, tomllib.loads(journal), ids, yesterday, zone)
        sets = read_learned(fitted, checks[-1].at) if learned else []
    except (OSError, ValueError, KeyError) as error:
        raise NotDoneError(f"the sample repertoire is damaged: {error}") from error
    by_identity = {tune.uuid: tune for tune in tunes.values()}
    with repertoire.writing():
        repertoire.tunes.add(tunes.values())
        for begun in rounds_of(checks, by_identity):
            repertoire.rounds.begin(begun)
        repertoire.checks.add(checks)
        days.keep(repertoire)
        for made in sets:
            repertoire.parameters.add(made)


def make_demo(path: Path, clock: Clock, *, learned: bool = True) -> None:
    """Make the sample repertoire at ``path``, where no file may be yet.

    Args:
        path: The new file.
        clock: Its history ends on the day before this clock's.
        learned: Whether what was learned of the player comes in too.

    Raises:
        NotDoneError: The file is there already or cannot be written.
    """
    if path.exists():
        raise NotDoneError(f"{path} is there already: name a new file")
    with open_session(path, clock) as session:
        yesterday = session.day() - timedelta(days=1)
        load_sample(session.repertoire, yesterday, clock.zone, learned=learned)
        session.reload()
        # Reading the beliefs replays the history and keeps the result.
        session.beliefs.all()
        compare_new_starts(session)
