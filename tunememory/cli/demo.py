"""The command demo: the app on a throw-away copy of the Saltpan Hall tunes."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.opening import clock_of
from tunememory.cli.tables import print_plan
from tunememory.service.demo import make_demo
from tunememory.service.desk import open_desk
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    import argparse


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
        with open_desk(path, clock) as desk:
            print_plan(desk.plan(RoundKind.FIRST))
        return 0
    from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

    return run_app(path, clock)
