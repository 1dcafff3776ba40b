"""The commands that print a table: today, fading, show, find, twins."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli import UsageError
from tunememory.cli.opening import moment_of, one_tune, open_session_of
from tunememory.cli.output import one_line, print_json, start_lines, starts_line, twin_line
from tunememory.errors import NotDoneError
from tunememory.library import exporting
from tunememory.library.adding import Draft, add_tune, same_title
from tunememory.library.overview import fading_tunes, tune_view
from tunememory.library.searching import tunes_beginning, tunes_named
from tunememory.library.starts import play, sound_caution, sound_of
from tunememory.library.twins import compare_new_starts, pairs
from tunememory.music.forms import first_notes
from tunememory.music.likeness import parting
from tunememory.music.tune import Status, declared_by
from tunememory.recall.check import (
    NAME,
    NAME_WORDS,
    NAMED,
    START_WORDS,
    Level,
    Prompt,
    RoundKind,
    prompt_strands,
    strand_words,
)
from tunememory.recall.state import State, in_ten, rated_words
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import rate_away
from tunememory.words import minutes_words, weekday_words

if TYPE_CHECKING:
    import argparse

    from tunememory.library.overview import FadingRow, TuneView
    from tunememory.library.starts import StartView
    from tunememory.library.twins import Twin
    from tunememory.music.finding import Found
    from tunememory.music.tune import Tune
    from tunememory.rounds.planning import Asked, Planned


def today(options: argparse.Namespace) -> int:
    """Print what the first round would ask now."""
    with open_session_of(options) as session:
        planned = plan_round(session, RoundKind.FIRST, options.minutes, options.tuning)
        if options.json:
            print_json(_plan_json(planned))
            return 0
        print_plan(planned)
        if not session.tunes:
            print("No tunes yet: tunememory add NAME, or tunememory import FILE.")
    return 0


def print_plan(planned: Planned) -> None:
    """Print a planned round."""
    minutes = minutes_words(planned.minutes) or "under a minute"
    print(f"{weekday_words(planned.day)}   tuning {planned.tuning}   {minutes}")
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
    with open_session_of(options) as session:
        found = fading_tunes(session, options.days)
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
            facts = (row.tune.title, row.tune.key_short, strand_words(row.strand))
            print("  " + one_line(odds, *facts))
        if not shown:
            print("Nothing is fading.")
    return 0


def show(options: argparse.Namespace) -> int:
    """Print key, tuning and starts of the tunes that ``words`` fit, or sound those of one."""
    if options.sound is not None or options.play or options.drone:
        if options.plaine_easie:
            raise UsageError("--plaine-easie prints a table; leave it out to hear a tune")
        return sound(options)
    with open_session_of(options) as session:
        words = " ".join(options.words)
        codes = options.plaine_easie
        views = [tune_view(session, row.tune.uuid) for row in tunes_named(session, words)]
        if options.json:
            print_json([_view_json(view, session.settings.usual.letters, codes) for view in views])
            return 0 if views else 1
        if not views:
            raise NotDoneError(f"no tune with “{words}” in its name")
        for view in views:
            tune = view.tune
            tuning = (tune.tuning or session.settings.usual).letters
            also = f"also {', '.join(tune.titles[1:])}" if tune.titles[1:] else ""
            print(one_line(tune.title, tune.kind, tune.key_name, tuning, tune.status.value, also))
            for start in view.starts:
                print("\n".join(start_lines(start)))
                if codes and start.letters:
                    print("     " + (_code(tune, start) or "not to be had in Plaine & Easie code"))
            for twin in view.twins:
                print("  " + twin_line(twin))
    return 0


def _code(tune: Tune, start: StartView) -> str:
    """Plaine & Easie code of a start, empty where there can be none."""
    from tunememory.library.exporting import to_plaine_easie  # noqa: PLC0415 - seldom asked for

    try:
        return to_plaine_easie(tune, start.start)
    except NotDoneError:
        return ""


def find(options: argparse.Namespace) -> int:
    """Print the tunes that begin with the notes given."""
    with open_session_of(options) as session:
        found = tunes_beginning(session, " ".join(options.notes), options.kind)
        if options.json:
            print_json([_found_json(session.tune(one.tune), one) for one in found])
            return 0 if found else 1
        if not found:
            raise NotDoneError("no tune begins like that")
        for one in found:
            tune = session.tune(one.tune)
            near = "" if one.distance == 0 else "nearly"
            facts = (tune.title, tune.kind, tune.key_short, f"{one.part} start", near)
            print("  " + one_line(*facts, first_notes(tune, one.part)))
    return 0


def _plan_json(planned: Planned) -> dict[str, object]:
    return {
        "day": planned.day,
        "tuning": planned.tuning,
        "minutes": round(planned.minutes, 2),
        "note": planned.note,
        "checks": [_asked_json(asked) for asked in planned.asked],
    }


def _asked_json(asked: Asked) -> dict[str, object]:
    return {
        "tune": asked.of.uuid,
        "title": asked.of.title,
        "prompt": asked.prompt,
        "strands": asked.strands,
        "chance": asked.chance,
    }


def _fading_json(row: FadingRow) -> dict[str, object]:
    return {
        "tune": row.tune.uuid,
        "title": row.tune.title,
        "key": row.tune.key_short,
        "strand": row.strand,
        "chance": row.chance.chance,
        "low": row.chance.low,
        "high": row.chance.high,
        "state": row.chance.state,
        "last_checked": row.chance.last_checked,
    }


def _view_json(view: TuneView, usual: str, codes: bool) -> dict[str, object]:
    tune = view.tune
    return {
        "tune": tune.uuid,
        "titles": tune.titles,
        "kind": tune.kind,
        "key": tune.key_name,
        "tuning": tune.tuning.letters if tune.tuning else usual,
        "status": tune.status,
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
        "chance": view.chance.chance,
    }


def _pair_json(tune: Tune, twin: Twin) -> dict[str, object]:
    return {
        "title": tune.title,
        "part": twin.part,
        "other_title": twin.title,
        "other_part": twin.other_part,
        "parts_at": twin.parts_at,
        "distance": twin.distance,
    }


def _found_json(tune: Tune, found: Found) -> dict[str, object]:
    return {
        "tune": tune.uuid,
        "title": tune.title,
        "part": found.part,
        "distance": found.distance,
    }


def sound(options: argparse.Namespace) -> int:
    """Write the starts of the one tune named into a WAV file, or play them, or both.

    Raises:
        UsageError: The options do not fit together.
        NotDoneError: There is nothing to hear, or nothing to hear it with.
    """
    if options.sound is None and not options.play:
        raise UsageError("--drone goes with --sound FILE.wav or --play")
    if options.json:
        raise UsageError("--json prints a table; leave it out to hear a tune")
    with open_session_of(options) as session:
        tune = one_tune(session, " ".join(options.words))
        heard = sound_of(tune, session.settings, drone=True if options.drone else None)
        parts = ", ".join(start.part for start in heard.starts)
        if options.sound is not None:
            exporting.write_file(Path(options.sound).expanduser(), heard.wav())
            print(f"wrote {tune.title} ({parts}) to {options.sound}")
        if not options.play:
            return 0
        print(f"{tune.title} ({parts})", flush=True)
        caution = sound_caution(session)
        if caution:
            print(caution, flush=True)
    why = play(heard)
    if why:
        raise NotDoneError(why)
    return 0


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
    with open_session_of(options, create=True) as session:
        before = same_title(session, name)
        tune = add_tune(session, draft)
        view = tune_view(session, tune.uuid)
        print(one_line("added", tune.title, tune.kind, tune.key_name))
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
    with open_session_of(options) as session:
        tune = one_tune(session, options.name)
        at = moment_of(options.at, session.clock) if options.at else session.now()
        strands = prompt_strands(tune, Prompt.HOW)
        if options.strand:
            strand = options.strand.strip()
            strands = (strand.lower() if strand.lower() in NAMED else strand.upper(),)
        if not strands:
            raise NotDoneError(f"{tune.title} is only wanted: set it to learning or kept first")
        rated = rate_away(session, tune.uuid, dict.fromkeys(strands, level), at)
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


def twins(options: argparse.Namespace) -> int:
    """Print the tunes that begin alike, nearest first."""
    with open_session_of(options) as session:
        compare_new_starts(session)
        found = pairs(session)
        if options.json:
            print_json([_pair_json(tune, twin) for tune, twin in found])
            return 0
        for tune, twin in found:
            where = parting(twin.parts_at) if twin.parts_at else "perhaps the same tune"
            print(f"  {tune.title} {twin.part} and {twin.title} {twin.other_part}: {where}")
        if not found:
            print("No two of your tunes begin alike.")
    return 0
