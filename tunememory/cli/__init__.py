"""The command line. One thin function a command; exit codes 0 done, 1 not done, 2 wrong usage."""

from __future__ import annotations

import os
import sys
from io import TextIOWrapper
from typing import TYPE_CHECKING

from tunememory.cli.parser import make_parser

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence


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
    from tunememory.cli.errors import plain_error  # noqa: PLC0415 - help needs none of it

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
        return plain_error(error)
    return code
