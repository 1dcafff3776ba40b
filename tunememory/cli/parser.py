"""The commands and their options. Imports nothing but argparse, so that help is quick."""

from __future__ import annotations

import argparse
from argparse import SUPPRESS, ArgumentTypeError
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING

from tunememory import __version__

if TYPE_CHECKING:
    from collections.abc import Callable

    Command = Callable[[str, str, str, str], argparse.ArgumentParser]
    Action = argparse._SubParsersAction[argparse.ArgumentParser]


MOST_MINUTES = 600
MOST_DAYS = 36_500


def minutes(text: str) -> float:
    """Return minutes above 0; anything else ends in a usage line that says the range."""
    with suppress(ValueError):
        given = float(text)
        if 0 < given <= MOST_MINUTES:
            return given
    raise ArgumentTypeError(f"give minutes above 0 and up to {MOST_MINUTES}, not {text!r}")


def number(text: str) -> float:
    """Return a number of which the range is judged later."""
    with suppress(ValueError):
        return float(text)
    raise ArgumentTypeError(f"give a number, not {text!r}")


def whole(text: str) -> int:
    """Return a whole number of which the range is judged later."""
    with suppress(ValueError):
        return int(text)
    raise ArgumentTypeError(f"give a whole number, not {text!r}")


def days(text: str) -> int:
    """Return a number of days, none or more; anything else ends in a usage line."""
    return _counted(text, "days")


def weeks(text: str) -> int:
    """Return a number of weeks, none or more; anything else ends in a usage line."""
    return _counted(text, "weeks")


def _counted(text: str, what: str) -> int:
    with suppress(ValueError):
        given = int(text)
        if 0 <= given <= MOST_DAYS:
            return given
    raise ArgumentTypeError(f"give {what} as a whole number from 0 to {MOST_DAYS}, not {text!r}")


def add_json(parser: argparse.ArgumentParser) -> None:
    """Let a command that prints a table print JSON."""
    parser.add_argument("--json", action="store_true", help="for other programs")


def add_common(parser: argparse.ArgumentParser, *, top: bool) -> None:
    """Let a command be told the file and the time."""
    # Given before or after the command; the later one counts.
    default = None if top else SUPPRESS
    parser.add_argument(
        "--repertoire", metavar="FILE", default=default, help="another repertoire file"
    )
    parser.add_argument("--now", metavar="TIME", default=default, help="set the clock")


def later(module: str, function: str) -> Callable[[argparse.Namespace], int]:
    """Return what runs a command, importing its module only then."""

    def run(options: argparse.Namespace) -> int:
        made: Callable[[argparse.Namespace], int] = getattr(
            import_module(f"tunememory.cli.{module}"), function
        )
        return made(options)

    return run


def day_commands(command: Command) -> None:
    """Add the commands about practice, journal, dates, sets, tonight and the card."""
    made = command("log", "practice", "log", "Write down that you practised a tune.")
    made.add_argument("name", metavar="TUNE", help="any words of its name")
    made.add_argument("--way", default="", metavar="W",
                      help="scale, moves, sing …; own words go with --words")  # fmt: skip
    made.add_argument("--minutes", type=minutes, default=0.0, metavar="M", help="how long")
    made.add_argument("--head", action=argparse.BooleanOptionalAction,
                      help="in the head or not; else as today's sitting is held")  # fmt: skip
    made.add_argument("--words", default="", metavar="TEXT", help="what exactly")
    made.add_argument("--at", metavar="TIME", help="when it ended: 21:30, yesterday 21:30")

    made = command("ways", "practice", "ways", "Ways of working on a tune, and what each brings.")
    made.add_argument("name", metavar="TUNE", help="any words of its name")
    made.add_argument("way", metavar="WAY", nargs="?", default="", help="scale, moves, sing …")
    made.add_argument("--write", metavar="FILE", help="what it brings, as .html to print or .txt")
    add_json(made)

    made = command("pickup", "practice", "pickup", "Where to pick up: write the line, or read it.")
    made.add_argument("line", metavar="LINE", nargs="*", help="the line to the next time")

    made = command("journal", "practice", "journal", "What was done, by day.")
    made.add_argument("--days", type=days, default=0, metavar="N",
                      help="so many days (14; all when written out)")  # fmt: skip
    made.add_argument("--search", metavar="WORDS", help="only days on which these were written")
    made.add_argument("--export", metavar="FILE", help="write it out, as .md or .csv")
    add_json(made)

    made = command(
        "heard", "practice", "heard", "Write down a tune you heard tonight, or list them."
    )
    made.add_argument("name", metavar="NAME", nargs="*", help="its name, if it has one yet")
    made.add_argument("--from", dest="from_whom", default="", metavar="WHO", help="who played it")
    made.add_argument("--like", default="", metavar="TEXT", help="what it was like")
    made.add_argument("--note", default="", metavar="TEXT", help="where the recording is …")
    add_json(made)

    made = command("tonight", "dates", "tonight", "What shall I start? What have I in A?")
    made.add_argument("--key", default="", metavar="A", help="all you have in this key")
    made.add_argument("--kind", default="", metavar="KIND", help="only reels, jigs …")
    made.add_argument("--tuning", default="", metavar="T", help="another tuning")
    add_json(made)

    made = command("card", "dates", "card", "A card for the case: names with their starts.")
    made.add_argument("--for", dest="what", default="", metavar="WHAT",
                      help="a date, a set, a status or a state, by its name")  # fmt: skip
    made.add_argument("--html", metavar="FILE", help="write a page for the printer")
    made.add_argument("--paper", choices=["A6", "A5", "A4"], default="A6",
                      help="its size (A6); A4 in two columns")  # fmt: skip

    made = command("twins", "tunes", "twins", "Your tunes that begin alike.")
    add_json(made)

    _dates(command("dates", "dates", "dates", "Dates to be ready for, and how ready."))
    _sets(command("sets", "dates", "sets", "Tunes played in a row."))

    made = command("ics", "dates", "calendar", "Dates from and to a calendar (iCalendar).")
    made.add_argument("direction", choices=["in", "out"])
    made.add_argument("file", metavar="FILE", help="- writes to the terminal")


def file_commands(command: Command) -> None:
    """Add the commands about whole files."""
    made = command("backup", "files", "backup", "Copy the file as it stands.")
    made.add_argument("file", metavar="FILE", nargs="?", help="where to; else among the backups")

    made = command("restore", "files", "restore", "Bring a copy back; what was there is kept.")
    made.add_argument("file", metavar="FILE", nargs="?", help="the copy; else they are listed")

    made = command("merge", "files", "merge", "Take in what another copy of the file has.")
    made.add_argument("file", metavar="FILE")

    made = command("give", "files", "give", "Give tunes with their starts to another file.")
    made.add_argument("names", metavar="TUNE", nargs="+", help="any words of a name, quoted")
    made.add_argument("--to", dest="other", metavar="FILE", required=True)
    made.add_argument("--new", action="store_true", help="make the other file")

    made = command("share", "files", "share", "Which tunes all of several files can start.")
    made.add_argument("files", metavar="FILE", nargs="+")
    made.add_argument("--who", action="store_true", help="a table of who has which tune")
    add_json(made)

    made = command("pupil", "files", "pupil", "One pupil's tunes: given, can start, to mend.")
    made.add_argument("--slip", metavar="FILE",
                      help="write a slip for the pupil, .html to print or .txt")  # fmt: skip
    add_json(made)


def _dates(parser: argparse.ArgumentParser) -> None:
    add_json(parser)
    actions = parser.add_subparsers(metavar="ACTION", title="actions")

    made = _action(actions, "add", "add_date", "Add a date.")
    made.add_argument("when", metavar="WHEN", help="2026-12-05, Thursday, every Thursday …")
    made.add_argument("--title", default="", help="what you call it")
    made.add_argument("--kind", default="", help="session, dance, lesson, gig, festival …")
    made.add_argument("--place", default="", help="where, in words")
    made.add_argument("--tune", action="append", default=[], metavar="NAME", help="wanted there")
    made.add_argument("--set", action="append", default=[], metavar="NAME", help="wanted there")
    made.add_argument("--season", type=weeks, default=0, metavar="WEEKS",
                      help="its tunes wake so many weeks before and rest after")  # fmt: skip

    made = _action(actions, "edit", "edit_date", "Change a date; what is not given stays.")
    made.add_argument("name", metavar="NAME", help="any words of its name")
    made.add_argument("--when", metavar="WHEN", help="2026-12-05, every Thursday …")
    made.add_argument("--title", help="another name")
    made.add_argument("--kind", help="session, dance, lesson, gig, festival …")
    made.add_argument("--place", help="where, in words")
    made.add_argument("--tune", action="append", default=[], metavar="NAME", help="wanted too")
    made.add_argument("--no-tune", action="append", default=[], metavar="NAME",
                      help="wanted no more")  # fmt: skip
    made.add_argument("--set", action="append", default=[], metavar="NAME", help="wanted too")
    made.add_argument("--no-set", action="append", default=[], metavar="NAME",
                      help="wanted no more")  # fmt: skip
    made.add_argument("--season", type=weeks, metavar="WEEKS", help="0 for none")

    made = _action(actions, "show", "show_date", "How ready each tune is for a date.")
    made.add_argument("name", metavar="NAME", help="any words of its name")
    add_json(made)

    made = _action(actions, "remove", "drop_date", "Take a date out.")
    made.add_argument("name", metavar="NAME", help="any words of its name")

    made = _action(actions, "played", "played", "Say what was played at a date.")
    made.add_argument("name", metavar="NAME", help="any words of its name")
    made.add_argument("tunes", metavar="TUNE", nargs="*", help="which; none for all of its tunes")
    made.add_argument("--on", metavar="DAY", help="else the last time it was")

    made = _action(actions, "off", "day_off", "Take days off, or list them.")
    made.add_argument("when", metavar="WHEN", nargs="?", help="a day, 1 May to 9 May, every Sunday")
    made.add_argument("--note", default="", help="why")
    made.add_argument("--take-back", action="store_true", help="ask on these days after all")
    add_json(made)


def _sets(parser: argparse.ArgumentParser) -> None:
    add_json(parser)
    actions = parser.add_subparsers(metavar="ACTION", title="actions")

    made = _action(actions, "add", "add_set", "Put tunes in a row.")
    made.add_argument("name", metavar="NAME", help="what you call it")
    made.add_argument("tunes", metavar="TUNE", nargs="+", help="in order")

    made = _action(actions, "edit", "edit_set", "Change a set: its name, or its tunes anew.")
    made.add_argument("name", metavar="NAME", help="any words of its name")
    made.add_argument("tunes", metavar="TUNE", nargs="*", help="all of them, in order")
    made.add_argument("--rename", metavar="NEW", help="another name; empty: by its tunes")

    made = _action(actions, "show", "show_set", "How a set stands: its tunes and joins.")
    made.add_argument("name", metavar="NAME", help="any words of its name")
    add_json(made)

    made = _action(actions, "remove", "drop_set", "Take a set apart; its tunes stay.")
    made.add_argument("name", metavar="NAME", help="any words of its name")


def _action(actions: Action, name: str, function: str, text: str) -> argparse.ArgumentParser:
    made = actions.add_parser(name, help=text, description=text)
    add_common(made, top=False)
    made.set_defaults(run=later("dates", function))
    return made


def make_parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="tunememory",
        description="Keeps your tunes callable: name, key and first notes, a few minutes a day. "
        "Without a command it opens on the screen.",
    )
    add_common(parser, top=True)
    parser.add_argument("--version", action="version", version=f"tunememory {__version__}")
    parser.set_defaults(run=later("screen", "open_screen"))
    commands = parser.add_subparsers(metavar="COMMAND", title="commands")

    def command(name: str, where: str, function: str, text: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=text, description=text)
        add_common(made, top=False)
        made.set_defaults(run=later(where, function))
        return made

    _rounds(command)
    _tunes(command)
    _tables(command)
    day_commands(command)
    _upkeep(command)
    file_commands(command)
    return parser


def _rounds(command: Command) -> None:
    made = command(
        "demo", "screen", "demo", "Try it on a throw-away copy of the Saltpan Hall tunes."
    )
    made.add_argument("--keep", metavar="FILE", help="make the copy here and keep it")
    made.add_argument("--no-screen", action="store_true", help="make the copy, print today's plan")

    made = command("round", "rounds", "plain_round", "Ask a round.")
    made.add_argument("--plain", action="store_true", help="line by line, for any terminal")
    made.add_argument("--kind", choices=["first", "last", "loose"], default="first")
    made.add_argument("--minutes", type=minutes, metavar="M", help="how long")
    made.add_argument("--tuning", metavar="T", help="another tuning, as strings or by name")
    made.add_argument("--only", metavar="KIND", help="only reels, jigs …")

    made = command("check", "tunes", "check", "Record how a tune came, away from the screen.")
    made.add_argument("name", metavar="NAME", help="the tune, any words of its name")
    made.add_argument("level", metavar="LEVEL", help="4 would kick it off … 1 would sit it out")
    made.add_argument("--strand", metavar="STRAND", help="only the key, A, B … or the name")
    made.add_argument("--at", metavar="TIME", help="when: 21:30, yesterday 21:30, 2026-11-24T21:30")


def _tunes(command: Command) -> None:
    made = command("add", "tunes", "add", "Add a tune; a name is enough.")
    made.add_argument("name", metavar="NAME", nargs="+", help="its name")
    made.add_argument("--also", metavar="NAME", action="append", default=[], help="another name")
    made.add_argument("--key", default="", help="D, Em, Amix …")
    made.add_argument("--kind", default="", help="reel, jig, waltz …")
    made.add_argument("--metre", default="", help="6/8, C| …")
    made.add_argument("--tuning", default="", help="strings low first (AEAE) or a name (cross A)")
    _standing(made, status="kept")
    made.add_argument("--source", default="", help="where you have it from")
    made.add_argument("--note", default="", help="anything else")
    for part in "ABCDEF":
        made.add_argument(
            f"--{part.lower()}",
            metavar="NOTES",
            dest=f"part_{part}",
            help=f"start of the {part} part",
        )

    made = command("import", "files", "import_books", "Take in tune books: ABC, MusicXML or MIDI.")
    made.add_argument("files", metavar="FILE", nargs="+")
    _standing(made, status=None)
    add_json(made)

    made = command("export", "files", "export", "Write the tunes out.")
    made.add_argument("file", metavar="FILE", help=".abc, .csv or .musicxml; - for the terminal")
    made.add_argument(
        "--as", dest="form", choices=["abc", "csv", "musicxml"], help="when the name does not say"
    )
    made.add_argument("--tune", metavar="NAME", help="the one tune of a MusicXML file")


def _tables(command: Command) -> None:
    made = command("today", "tunes", "today", "What to ask today.")
    made.add_argument("--minutes", type=minutes, metavar="M", help="how long the round may be")
    made.add_argument("--tuning", metavar="T", help="another tuning, as strings or by name")
    add_json(made)

    made = command("fading", "tunes", "fading", "Which tunes are fading.")
    made.add_argument("--days", type=days, default=0, metavar="N", help="as it will be in N days")
    made.add_argument("--all", action="store_true", help="the safe ones too")
    made.add_argument(
        "--how-well",
        dest="run",
        action="store_const",
        const=later("forecast", "how_well"),
        help="how well we guess: what we said against what came",
    )
    add_json(made)

    made = command("forecast", "forecast", "forecast", "How many tunes the minutes keep in a year.")
    made.add_argument("--minutes", type=number, metavar="M", help="of asking on a day of practice")
    made.add_argument("--tunes", type=whole, metavar="N", help="if there were so many")
    made.add_argument(
        "--new-per-month", type=number, metavar="K", default=0.0, help="new tunes (default: 0)"
    )
    add_json(made)

    made = command(
        "show", "tunes", "show", "Key, tuning and starts of a tune, by any of its words."
    )
    made.add_argument("words", metavar="WORDS", nargs="+")
    made.add_argument("--sound", metavar="FILE", help="write the starts of one tune as WAV")
    made.add_argument("--play", action="store_true", help="let the starts of one tune be heard")
    made.add_argument("--drone", action="store_true", help="with open strings sounding under them")
    made.add_argument(
        "--plaine-easie", action="store_true", help="each start in Plaine & Easie code as well"
    )
    add_json(made)

    made = command("find", "tunes", "find", "Which tune begins like this? In any key.")
    made.add_argument(
        "notes", metavar="NOTES", nargs="+", help="4 to 12 notes: letters, steps or fingers"
    )
    made.add_argument("--kind", default="", help="only reels, jigs …")
    add_json(made)


def _upkeep(command: Command) -> None:
    command("verify", "files", "verify", "Check that the file is sound.")
    command("rebuild", "files", "rebuild", "Work out the beliefs anew from the history.")
    made = command("fit", "forecast", "fit", "Learn from your checks how your memory works.")
    made.add_argument("--undo", action="store_true", help="go back to the starting values")
    made.add_argument(
        "--if-due", action="store_true", help="only with 300 new checks since the last try"
    )
    add_json(made)


def _standing(parser: argparse.ArgumentParser, *, status: str | None) -> None:
    usual = status or "kept; wanted for a book of more than 60 tunes"
    parser.add_argument(
        "--status",
        choices=["wanted", "learning", "kept", "resting"],
        default=status,
        help=f"wanted tunes are not asked until you learn them (default: {usual})",
    )
    parser.add_argument(
        "--known",
        choices=["just met", "half of it", "have it", "old friend"],
        default="have it",
        help="how well you have it now (default: have it)",
    )
