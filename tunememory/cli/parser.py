"""The commands and their options. Imports nothing but argparse, so that help is quick."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tunememory import __version__
from tunememory.cli.day_parser import day_commands, file_commands
from tunememory.cli.option_types import add_common, add_json, days, later, minutes, number, whole

if TYPE_CHECKING:
    from collections.abc import Callable


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


def _rounds(command: Callable[[str, str, str, str], argparse.ArgumentParser]) -> None:
    made = command("demo", "demo", "demo", "Try it on a throw-away copy of the Saltpan Hall tunes.")
    made.add_argument("--keep", metavar="FILE", help="make the copy here and keep it")
    made.add_argument("--no-screen", action="store_true", help="make the copy, print today's plan")

    made = command("round", "plain", "plain_round", "Ask a round.")
    made.add_argument("--plain", action="store_true", help="line by line, for any terminal")
    made.add_argument("--kind", choices=["first", "last", "loose"], default="first")
    made.add_argument("--minutes", type=minutes, metavar="M", help="how long")
    made.add_argument("--tuning", metavar="T", help="another tuning, as strings or by name")
    made.add_argument("--only", metavar="KIND", help="only reels, jigs …")

    made = command("check", "keep", "check", "Record how a tune came, away from the screen.")
    made.add_argument("name", metavar="NAME", help="the tune, any words of its name")
    made.add_argument("level", metavar="LEVEL", help="4 would kick it off … 1 would sit it out")
    made.add_argument("--strand", metavar="STRAND", help="only the key, A, B … or the name")
    made.add_argument("--at", metavar="TIME", help="when: 21:30, yesterday 21:30, 2026-11-24T21:30")


def _tunes(command: Callable[[str, str, str, str], argparse.ArgumentParser]) -> None:
    made = command("add", "keep", "add", "Add a tune; a name is enough.")
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

    made = command("import", "books", "import_books", "Take in tune books: ABC, MusicXML or MIDI.")
    made.add_argument("files", metavar="FILE", nargs="+")
    _standing(made, status=None)
    add_json(made)

    made = command("export", "books", "export", "Write the tunes out.")
    made.add_argument("file", metavar="FILE", help=".abc, .csv or .musicxml; - for the terminal")
    made.add_argument(
        "--as", dest="form", choices=["abc", "csv", "musicxml"], help="when the name does not say"
    )
    made.add_argument("--tune", metavar="NAME", help="the one tune of a MusicXML file")


def _tables(command: Callable[[str, str, str, str], argparse.ArgumentParser]) -> None:
    made = command("today", "tables", "today", "What to ask today.")
    made.add_argument("--minutes", type=minutes, metavar="M", help="how long the round may be")
    made.add_argument("--tuning", metavar="T", help="another tuning, as strings or by name")
    add_json(made)

    made = command("fading", "tables", "fading", "Which tunes are fading.")
    made.add_argument("--days", type=days, default=0, metavar="N", help="as it will be in N days")
    made.add_argument("--all", action="store_true", help="the safe ones too")
    made.add_argument(
        "--how-well",
        dest="run",
        action="store_const",
        const=later("guessing", "how_well"),
        help="how well we guess: what we said against what came",
    )
    add_json(made)

    made = command("forecast", "guessing", "forecast", "How many tunes the minutes keep in a year.")
    made.add_argument("--minutes", type=number, metavar="M", help="of asking on a day of practice")
    made.add_argument("--tunes", type=whole, metavar="N", help="if there were so many")
    made.add_argument(
        "--new-per-month", type=number, metavar="K", default=0.0, help="new tunes (default: 0)"
    )
    add_json(made)

    made = command(
        "show", "tables", "show", "Key, tuning and starts of a tune, by any of its words."
    )
    made.add_argument("words", metavar="WORDS", nargs="+")
    made.add_argument("--sound", metavar="FILE", help="write the starts of one tune as WAV")
    made.add_argument("--play", action="store_true", help="let the starts of one tune be heard")
    made.add_argument("--drone", action="store_true", help="with open strings sounding under them")
    made.add_argument(
        "--plaine-easie", action="store_true", help="each start in Plaine & Easie code as well"
    )
    add_json(made)

    made = command("find", "tables", "find", "Which tune begins like this? In any key.")
    made.add_argument(
        "notes", metavar="NOTES", nargs="+", help="4 to 12 notes: letters, steps or fingers"
    )
    made.add_argument("--kind", default="", help="only reels, jigs …")
    add_json(made)


def _upkeep(command: Callable[[str, str, str, str], argparse.ArgumentParser]) -> None:
    command("verify", "upkeep", "verify", "Check that the file is sound.")
    command("rebuild", "upkeep", "rebuild", "Work out the beliefs anew from the history.")
    made = command("fit", "guessing", "fit", "Learn from your checks how your memory works.")
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
