"""What the player sees when something could not be done."""

from __future__ import annotations

import sys
import traceback
from datetime import UTC, datetime

from tunememory.errors import NotDoneError
from tunememory.paths import log_folder


class UsageError(Exception):
    """The command was given something it cannot use; the text is one clear line."""


def plain_error(error: Exception) -> int:
    """Say ``error`` in one line on standard error and return the exit code."""
    if isinstance(error, UsageError):
        print(f"tunememory: {error}", file=sys.stderr)
        return 2
    if isinstance(error, NotDoneError):
        print(f"tunememory: {error}", file=sys.stderr)
        return 1
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        print(f"tunememory: {where}{error.strerror or error}", file=sys.stderr)
        return 1
    print(f"tunememory: this went wrong on our side: {type(error).__name__}", file=sys.stderr)
    print(f"tunememory: {_report(error)}", file=sys.stderr)
    return 1


def _report(error: Exception) -> str:
    """Write the traceback to a file and say where; saying so must not fail either."""
    name = datetime.now(UTC).strftime("error-%Y%m%d-%H%M%S.txt")
    try:
        folder = log_folder()
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / name
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return "the details could not be written down"
    return f"the details are in {path}"
