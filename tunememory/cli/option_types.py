"""What options of several commands share. Imports nothing but argparse."""

from __future__ import annotations

from argparse import SUPPRESS, ArgumentTypeError
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

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
