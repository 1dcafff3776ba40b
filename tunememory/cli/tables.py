"""The commands that print a table: today, fading, show, find."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.cli.as_json import print_json
from tunememory.cli.errors import UsageError
from tunememory.cli.opening import open_desk_of
from tunememory.cli.wording import (
    day_words,
    one_line,
    round_minutes,
    start_lines,
    starts_line,
    twin_line,
)
from tunememory.service.chance_words import in_ten
from tunememory.service.errors import ServiceError
from tunememory.service.views import State
from tunememory.tunes.check import Prompt, RoundKind
from tunememory.tunes.shown import first_notes

if TYPE_CHECKING:
    import argparse

    from tunememory.service.views import (
        Asked,
        Chance,
        FadingRow,
        FoundView,
        Planned,
        StartView,
        TuneView,
    )
    from tunememory.tunes.tune import Tune


def today(options: argparse.Namespace) -> int:
    """Print what the first round would ask now."""
    with open_desk_of(options) as desk:
        planned = desk.plan(RoundKind.FIRST, options.minutes, options.tuning)
        if options.json:
            print_json(_plan_json(planned))
            return 0
        print_plan(planned)
        if not desk.tunes:
            print("No tunes yet: tunememory add NAME, or tunememory import FILE.")
    return 0


def print_plan(planned: Planned) -> None:
    """Print a planned round."""
    minutes = round_minutes(planned.minutes) or "under a minute"
    print(f"{day_words(planned.day)}   tuning {planned.tuning}   {minutes}")
    if planned.note:
        print(planned.note)
    for asked in planned.asked:
        prompt = "What comes after?" if asked.after else asked.prompt.value
        print(f"  {prompt:<18} {_asked_words(asked)}  {in_ten(asked.chance)}")


def _asked_words(asked: Asked) -> str:
    """What is shown when it is asked, never the answer."""
    if asked.prompt is not Prompt.WHAT:
        return one_line(asked.of.title, asked.of.kind)
    return next((starts_line(start) for start in asked.starts if start.letters), "")


def fading(options: argparse.Namespace) -> int:
    """Print the tunes that are fading, lowest chance first."""
    with open_desk_of(options) as desk:
        found = desk.fading(options.days)
        shown = [
            row
            for row in found
            if options.all or row.chance.state not in {State.SAFE, State.NOT_ASKED}
        ]
        if options.json:
            print_json([_fading_json(row) for row in shown])
            return 0
        for row in shown:
            odds = f"{row.chance.state.value:<8} {in_ten(row.chance.chance):<15}"
            print("  " + one_line(odds, row.title, row.key, _strand_words(row.strand)))
        if not shown:
            print("Nothing is fading.")
    return 0


def show(options: argparse.Namespace) -> int:
    """Print key, tuning and starts of the tunes that ``words`` fit, or sound those of one."""
    if options.sound is not None or options.play or options.drone:
        if options.plaine_easie:
            raise UsageError("--plaine-easie prints a table; leave it out to hear a tune")
        from tunememory.cli.sounding import sound  # noqa: PLC0415 - a table needs none of it

        return sound(options)
    with open_desk_of(options) as desk:
        words = " ".join(options.words)
        codes = options.plaine_easie
        views = [desk.view(row.uuid) for row in desk.search(words)]
        if options.json:
            print_json([_view_json(view, desk.settings.usual.letters, codes) for view in views])
            return 0 if views else 1
        if not views:
            raise ServiceError(f"no tune with “{words}” in its name")
        for view in views:
            tune = view.tune
            tuning = (tune.tuning or desk.settings.usual).letters
            key = tune.key.name if tune.key else ""
            also = f"also {', '.join(tune.titles[1:])}" if tune.titles[1:] else ""
            print(one_line(tune.title, tune.kind, key, tuning, tune.status.value, also))
            for start in view.starts:
                print("\n".join(start_lines(start)))
                if codes and start.letters:
                    print("     " + (_code(tune, start) or "not to be had in Plaine & Easie code"))
            for twin in view.twins:
                print("  " + twin_line(twin))
    return 0


def _code(tune: Tune, start: StartView) -> str:
    """Plaine & Easie code of a start, empty where there can be none."""
    from tunememory.service.exporting import to_plaine_easie  # noqa: PLC0415 - seldom asked for

    try:
        return to_plaine_easie(tune, start.start)
    except ServiceError:
        return ""


def find(options: argparse.Namespace) -> int:
    """Print the tunes that begin with the notes given."""
    with open_desk_of(options) as desk:
        found = desk.find(" ".join(options.notes), options.kind)
        if options.json:
            print_json([_found_json(row) for row in found])
            return 0 if found else 1
        if not found:
            raise ServiceError("no tune begins like that")
        for row in found:
            tune = desk.tune(row.tune)
            key = tune.key.short if tune.key else ""
            near = "" if row.distance == 0 else "nearly"
            first = first_notes(tune, row.part)
            print("  " + one_line(row.title, tune.kind, key, f"{row.part} start", near, first))
    return 0


def _plan_json(planned: Planned) -> dict[str, object]:
    return {
        "day": planned.day.isoformat(),
        "tuning": planned.tuning,
        "minutes": round(planned.minutes, 2),
        "note": planned.note,
        "checks": [_asked_json(asked) for asked in planned.asked],
    }


def _asked_json(asked: Asked) -> dict[str, object]:
    return {
        "tune": asked.of.uuid,
        "title": asked.of.title,
        "prompt": asked.prompt.value,
        "strands": list(asked.strands),
        "chance": round(asked.chance, 4),
    }


def _fading_json(row: FadingRow) -> dict[str, object]:
    return {
        "tune": row.tune,
        "title": row.title,
        "key": row.key,
        "strand": row.strand,
        "chance": round(row.chance.chance, 4),
        "low": round(row.chance.low, 4),
        "high": round(row.chance.high, 4),
        "state": row.chance.state.value,
        "last_checked": _when(row.chance),
    }


def _view_json(view: TuneView, usual: str, codes: bool) -> dict[str, object]:
    tune = view.tune
    return {
        "tune": tune.uuid,
        "titles": list(tune.titles),
        "kind": tune.kind,
        "key": tune.key.name if tune.key else "",
        "tuning": tune.tuning.letters if tune.tuning else usual,
        "status": tune.status.value,
        "starts": [
            {
                "part": start.part,
                "letters": " ".join(start.letters),
                "fingers": " ".join(start.fingers),
                "bars_begin_at": [place + 1 for place in start.bars],
                "key": start.start.key.name if start.start.key else "",
                "doubt": start.doubt,
                **({"plaine_easie": _code(tune, start)} if codes else {}),
            }
            for start in view.starts
        ],
        "twins": [
            {
                "part": twin.part,
                "title": twin.title,
                "other_part": twin.other_part,
                "parts_at": twin.parts_at,
            }
            for twin in view.twins
        ],
        "chance": round(view.chance.chance, 4),
    }


def _found_json(row: FoundView) -> dict[str, object]:
    return {
        "tune": row.tune,
        "title": row.title,
        "part": row.part,
        "distance": round(row.distance, 4),
    }


def _when(chance: Chance) -> str | None:
    return None if chance.last_checked is None else chance.last_checked.isoformat()


def _strand_words(strand: str) -> str:
    return strand if strand in {"key", "name", ""} else f"{strand} start"
