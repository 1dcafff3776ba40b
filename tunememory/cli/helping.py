"""The commands that help on the spot: tonight, ways, card, twins."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.as_json import print_view
from tunememory.cli.naming import one_tune
from tunememory.cli.opening import open_desk_of
from tunememory.cli.wording import one_line
from tunememory.service import carding
from tunememory.service.chance_words import in_ten
from tunememory.service.errors import ServiceError
from tunememory.service.exporting import write_file
from tunememory.service.practising import way_named
from tunememory.service.twins import pairs
from tunememory.tunes.parting import parting

if TYPE_CHECKING:
    import argparse

    from tunememory.service.day_views import StarterView
    from tunememory.service.desk import Desk

_DAYS_SHOWN = 5
"""Last days on which a way was done that are listed."""


def tonight(options: argparse.Namespace) -> int:
    """Print what to start and one sure starter a key, or all there is in one key."""
    with open_desk_of(options) as desk:
        if options.key:
            groups = desk.what_have_i_in(options.key, options.kind, options.tuning)
            if options.json:
                print_view({tuning: list(found) for tuning, found in groups})
                return 0
            for tuning, found in groups:
                print(tuning)
                for one in found:
                    print("  " + _starter(one))
            if not groups:
                print(f"No {options.kind or 'tune'} on that root.")
            return 0
        start = desk.what_to_start("", options.kind, options.tuning)
        keys = desk.one_a_key(options.tuning, options.kind)
        if options.json:
            print_view({"start": start, "keys": dict(keys)})
            return 0
        for one in start:
            print("  " + _starter(one))
        if not start:
            print(f"No {options.kind or 'tune'} to start in this tuning.")
        for key, sure in keys:
            print(f"{key:<3} {_starter(sure) if sure else 'no sure starter'}")
    return 0


def ways(options: argparse.Namespace) -> int:
    """Print every way of working on a tune and when it was done, or what one brings."""
    with open_desk_of(options) as desk:
        tune = one_tune(desk, options.name)
        if options.way:
            return _one_way(desk, tune.uuid, options)
        found = desk.ways(tune.uuid)
        if options.write:
            ids = ", ".join(way.id for way in found)
            raise ServiceError(f"name the way to write after the tune: {ids}")
        if options.json:
            print_view(found)
            return 0
        for way in found:
            done = ", ".join(day.isoformat() for day in way.done[-_DAYS_SHOWN:])
            said = "next" if way.next else "" if way.possible else "not here"
            print("  " + one_line(f"{way.id:<11}{way.name:<26}", done, said).rstrip())
    return 0


def _one_way(desk: Desk, tune: str, options: argparse.Namespace) -> int:
    way = way_named(options.way) or options.way
    if options.write:
        path = Path(options.write).expanduser()
        desk.write_way(path, tune, way)
        print(f"wrote it to {path}")
        return 0
    made = desk.material(tune, way)
    if options.json:
        print_view({"way": made.way, "heading": made.heading, "lines": made.lines,
                    "caution": made.caution})  # fmt: skip
        return 0
    for line in filter(None, (made.heading, made.caution, *made.lines)):
        print(line)
    return 0


def card(options: argparse.Namespace) -> int:
    """Print a card, or write it as a page for the printer."""
    with open_desk_of(options) as desk:
        made = carding.card_for(desk, options.what)
        if options.html:
            write_file(Path(options.html).expanduser(), carding.html_of(made, options.paper))
            print(f"wrote the card to {options.html}")
        else:
            sys.stdout.write(carding.text_of(made))
    return 0


def twins(options: argparse.Namespace) -> int:
    """Print the tunes that begin alike, nearest first."""
    with open_desk_of(options) as desk:
        desk.catch_up()
        found = pairs(desk)
        if options.json:
            print_view(found)
            return 0
        for pair in found:
            where = parting(pair.parts_at) if pair.parts_at else "perhaps the same tune"
            print(f"  {pair.title} {pair.part} and {pair.other_title} {pair.other_part}: {where}")
        if not found:
            print("No two of your tunes begin alike.")
    return 0


def _starter(one: StarterView) -> str:
    here = f"played here {one.played_here.isoformat()}" if one.played_here else ""
    return one_line(one.title, one.kind, one.key, in_ten(one.chance), one.first, here)
