"""The commands of the practice day and of files, and their options."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tunememory.cli.option_types import add_common, add_json, days, later, minutes, weeks

if TYPE_CHECKING:
    from collections.abc import Callable

    Command = Callable[[str, str, str, str], argparse.ArgumentParser]
    Action = argparse._SubParsersAction[argparse.ArgumentParser]


def day_commands(command: Command) -> None:
    """Add the commands about practice, journal, dates, sets, tonight and the card."""
    made = command("log", "days", "log", "Write down that you practised a tune.")
    made.add_argument("name", metavar="TUNE", help="any words of its name")
    made.add_argument("--way", default="", metavar="W",
                      help="scale, moves, sing …; own words go with --words")  # fmt: skip
    made.add_argument("--minutes", type=minutes, default=0.0, metavar="M", help="how long")
    made.add_argument("--head", action=argparse.BooleanOptionalAction,
                      help="in the head or not; else as today's sitting is held")  # fmt: skip
    made.add_argument("--words", default="", metavar="TEXT", help="what exactly")
    made.add_argument("--at", metavar="TIME", help="when it ended: 21:30, yesterday 21:30")

    made = command("ways", "helping", "ways", "Ways of working on a tune, and what each brings.")
    made.add_argument("name", metavar="TUNE", help="any words of its name")
    made.add_argument("way", metavar="WAY", nargs="?", default="", help="scale, moves, sing …")
    made.add_argument("--write", metavar="FILE", help="what it brings, as .html to print or .txt")
    add_json(made)

    made = command("pickup", "days", "pickup", "Where to pick up: write the line, or read it.")
    made.add_argument("line", metavar="LINE", nargs="*", help="the line to the next time")

    made = command("journal", "days", "journal", "What was done, by day.")
    made.add_argument("--days", type=days, default=0, metavar="N",
                      help="so many days (14; all when written out)")  # fmt: skip
    made.add_argument("--search", metavar="WORDS", help="only days on which these were written")
    made.add_argument("--export", metavar="FILE", help="write it out, as .md or .csv")
    add_json(made)

    made = command("heard", "days", "heard", "Write down a tune you heard tonight, or list them.")
    made.add_argument("name", metavar="NAME", nargs="*", help="its name, if it has one yet")
    made.add_argument("--from", dest="from_whom", default="", metavar="WHO", help="who played it")
    made.add_argument("--like", default="", metavar="TEXT", help="what it was like")
    made.add_argument("--note", default="", metavar="TEXT", help="where the recording is …")
    add_json(made)

    made = command("tonight", "helping", "tonight", "What shall I start? What have I in A?")
    made.add_argument("--key", default="", metavar="A", help="all you have in this key")
    made.add_argument("--kind", default="", metavar="KIND", help="only reels, jigs …")
    made.add_argument("--tuning", default="", metavar="T", help="another tuning")
    add_json(made)

    made = command("card", "helping", "card", "A card for the case: names with their starts.")
    made.add_argument("--for", dest="what", default="", metavar="WHAT",
                      help="a date, a set, a status or a state, by its name")  # fmt: skip
    made.add_argument("--html", metavar="FILE", help="write a page for the printer")
    made.add_argument("--paper", choices=["A6", "A5", "A4"], default="A6",
                      help="its size (A6); A4 in two columns")  # fmt: skip

    made = command("twins", "helping", "twins", "Your tunes that begin alike.")
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

    made = _action(actions, "remove", "remove_date", "Take a date out.")
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

    made = _action(actions, "remove", "remove_set", "Take a set apart; its tunes stay.")
    made.add_argument("name", metavar="NAME", help="any words of its name")


def _action(actions: Action, name: str, function: str, text: str) -> argparse.ArgumentParser:
    made = actions.add_parser(name, help=text, description=text)
    add_common(made, top=False)
    made.set_defaults(run=later("dates", function))
    return made
