"""Hearing the starts of a tune, or writing them into a sound file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.errors import UsageError
from tunememory.cli.naming import one_tune
from tunememory.cli.opening import open_desk_of
from tunememory.service import exporting, sounding
from tunememory.service.errors import ServiceError

if TYPE_CHECKING:
    import argparse


def sound(options: argparse.Namespace) -> int:
    """Write the starts of the one tune named into a WAV file, or play them, or both.

    Raises:
        UsageError: The options do not fit together.
        ServiceError: There is nothing to hear, or nothing to hear it with.
    """
    if options.sound is None and not options.play:
        raise UsageError("--drone goes with --sound FILE.wav or --play")
    if options.json:
        raise UsageError("--json prints a table; leave it out to hear a tune")
    with open_desk_of(options) as desk:
        tune = one_tune(desk, " ".join(options.words))
        heard = desk.sound(tune, drone=True if options.drone else None)
        parts = ", ".join(start.part for start in heard.starts)
        if options.sound is not None:
            exporting.write_file(Path(options.sound).expanduser(), heard.wav())
            print(f"wrote {tune.title} ({parts}) to {options.sound}")
        if not options.play:
            return 0
        print(f"{tune.title} ({parts})", flush=True)
        caution = desk.sound_caution()
        if caution:
            print(caution, flush=True)
    why = sounding.play(heard)
    if why:
        raise ServiceError(why)
    return 0
