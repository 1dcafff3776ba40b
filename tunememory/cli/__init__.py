"""The command line. One thin function a command; exit codes 0 done, 1 not done, 2 wrong usage."""

from __future__ import annotations

import os
import sys
from io import TextIOWrapper
from typing import TYPE_CHECKING

from tunememory.cli.parser import make_parser
from tunememory.errors import NotDoneError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence


class UsageError(NotDoneError):
    """The command was given something it cannot use; the text is one clear line."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    _say_what_can_be_said()
    parser = make_parser()
    try:
        options = parser.parse_args(argv)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    return _run(options)


def _say_what_can_be_said() -> None:
    """Print a question mark for a letter the terminal's code page lacks, rather than end there."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")


def _run(options: argparse.Namespace) -> int:
    try:
        code: int = options.run(options)
        sys.stdout.flush()
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # The reader went away (``| head``); what is left must not be written at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _say_what_went_wrong(error)
    return code


def _say_what_went_wrong(error: Exception) -> int:
    """Say it in one line on standard error and return the exit code."""
    match error:
        case NotDoneError():
            said = str(error)
        case OSError():
            where = f"{error.filename}: " if error.filename else ""
            said = f"{where}{error.strerror or error}"
        case _:
            said = f"this went wrong on our side: {type(error).__name__}\n"
            said += f"tunememory: {_report(error)}"
    print(f"tunememory: {said}", file=sys.stderr)
    return 2 if isinstance(error, UsageError) else 1


def _report(error: Exception) -> str:
    """Write the traceback to a file and say where; saying so must not fail either."""
    import traceback  # noqa: PLC0415 - only after a fault

    from tunememory.clock import system_clock  # noqa: PLC0415 - only after a fault
    from tunememory.paths import log_folder  # noqa: PLC0415 - only after a fault

    try:
        folder = log_folder()
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / system_clock().now().strftime("error-%Y%m%d-%H%M%S.txt")
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return "the details could not be written down"
    return f"the details are in {path}"
