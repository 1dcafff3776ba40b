"""The command without a name: the screen."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.opening import clock_of, screen_path_of
from tunememory.cli.tunes import print_plan
from tunememory.demo import make_demo
from tunememory.recall.check import RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.session import open_session

if TYPE_CHECKING:
    import argparse


def open_screen(options: argparse.Namespace) -> int:
    """Open the app on the repertoire."""
    from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

    return run_app(screen_path_of(options), clock_of(options))


def demo(options: argparse.Namespace) -> int:
    """Make the copy, say where it is, and open it."""
    if options.keep:
        return _show(Path(options.keep).expanduser(), options, "The copy you keep")
    folder = Path(tempfile.mkdtemp(prefix="saltpan-hall-"))
    try:
        return _show(folder / "saltpan-hall.tunes", options, "A throw-away copy")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _show(path: Path, options: argparse.Namespace, what: str) -> int:
    clock = clock_of(options)
    make_demo(path, clock)
    print(f"{what} of the Saltpan Hall tunes: {path}")
    if options.no_screen:
        with open_session(path, clock) as session:
            print_plan(plan_round(session, RoundKind.FIRST))
        return 0
    from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

    return run_app(path, clock)
