"""Reading what a day's plan rests on while the screen already shows it."""

from __future__ import annotations

import asyncio
from importlib import import_module
from typing import TYPE_CHECKING

from tunememory.ui.screen import told

if TYPE_CHECKING:
    from tunememory.service.desk import Desk


BREATH = 0.01
"""Seconds between two pieces, in which keys that came meanwhile are answered."""


async def warm(desk: Desk) -> None:
    """Load what working out a day needs and read the file for it, a piece at a time.

    What goes wrong is left for the first use to meet, where it can be told.
    """
    # Most of this is reading files of the program, which leaves the screen free.
    await asyncio.to_thread(import_module, "tunememory.practice.today")
    try:
        for piece in desk.reading():
            await asyncio.sleep(BREATH)
            piece()
    except Exception as error:
        if not told(error):
            raise
    await asyncio.sleep(BREATH)
