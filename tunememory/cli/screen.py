"""The command without a name: the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.cli.opening import clock_of, screen_path_of

if TYPE_CHECKING:
    import argparse


def open_screen(options: argparse.Namespace) -> int:
    """Open the app on the repertoire."""
    from tunememory.ui.running import run_app  # noqa: PLC0415 - Textual loads only here

    return run_app(screen_path_of(options), clock_of(options))
