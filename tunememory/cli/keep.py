"""The commands that write: add and check."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.cli.errors import UsageError
from tunememory.cli.naming import one_tune
from tunememory.cli.opening import moment_of, open_desk_of
from tunememory.cli.wording import one_line, start_lines, twin_line
from tunememory.service.chance_words import rated_words
from tunememory.service.changes import same_title
from tunememory.service.errors import ServiceError
from tunememory.service.views import Draft
from tunememory.tunes.check import NAME, NAME_WORDS, START_WORDS, Level, Prompt, prompt_strands
from tunememory.tunes.tune import Status, declared_by

if TYPE_CHECKING:
    import argparse


def add(options: argparse.Namespace) -> int:
    """Add a tune."""
    name = " ".join(options.name)
    draft = Draft(
        titles=(name, *options.also),
        kind=options.kind,
        key=options.key,
        metre=options.metre,
        tuning=options.tuning,
        status=Status(options.status),
        declared=declared_by(options.known),
        source=options.source,
        note=options.note,
        starts=tuple(
            (part, text) for part in "ABCDEF" if (text := getattr(options, f"part_{part}"))
        ),
    )
    with open_desk_of(options, create=True) as desk:
        before = same_title(desk, name)
        tune = desk.add(draft)
        view = desk.view(tune.uuid)
        print(one_line("added", tune.title, tune.kind, tune.key.name if tune.key else ""))
        for start in view.starts:
            print("\n".join(start_lines(start)))
        if before:
            print(f"  you had a tune called {before[0].title} already; both are kept")
        for twin in view.twins:
            print("  " + twin_line(twin))
    return 0


def check(options: argparse.Namespace) -> int:
    """Record a check made away from the screen."""
    level = _level(options.level)
    with open_desk_of(options) as desk:
        tune = one_tune(desk, options.name)
        at = moment_of(options.at, desk.clock) if options.at else desk.now()
        strands = prompt_strands(tune, Prompt.HOW)
        if options.strand:
            strand = options.strand.strip()
            strands = (strand.lower() if strand.lower() in {"key", NAME} else strand.upper(),)
        if not strands:
            raise ServiceError(f"{tune.title} is only wanted: set it to learning or kept first")
        rated = desk.rate_away(tune.uuid, dict.fromkeys(strands, level), at)
        words = NAME_WORDS if strands == (NAME,) else START_WORDS
        print(one_line("noted", tune.title, words[level], ", ".join(strands)))
        print(f"  {rated_words(rated)}")
    return 0


def _level(text: str) -> Level:
    try:
        return Level(int(text))
    except ValueError:
        words = ", ".join(f"{level.value} {START_WORDS[level]}" for level in reversed(Level))
        raise UsageError(f"“{text}” is not a level: {words}") from None
