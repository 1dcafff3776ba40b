"""The tune list with many tunes against the same list with fifty.

Run it: ``python -m tests.benchmarks.list_speed [TUNES]``. It prints figures and gates nothing. A
row costs a fixed amount to paint and to move to, so both ratios should be near 1; narrowing reads
every title.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from tests.benchmarks.timing import best
from tunememory.clock import fixed_clock
from tunememory.library.adding import Draft, add_tunes, tune_of
from tunememory.session import open_session
from tunememory.ui.app import TuneApp
from tunememory.ui.library.tunes import Shown, choose

NOW = datetime(2026, 11, 24, 19, tzinfo=UTC)
FEW = 50


async def cost(number: int) -> dict[str, float]:
    """Seconds to paint 20 rows, move by one, and narrow by two words, with so many tunes."""
    with (
        tempfile.TemporaryDirectory() as folder,
        open_session(Path(folder) / "list.tunes", fixed_clock(NOW)) as session,
    ):
        add_tunes(
            session,
            [
                tune_of(
                    Draft((f"Tune {n} of the Saltpan", f"Other {n}"), "reel", "D"),
                    uuid=f"{n:08}",
                    added=NOW.date(),
                    settings=session.settings,
                    old=None,
                )
                for n in range(number)
            ],
        )
        app = TuneApp(lambda: session)
        async with app.run_test(size=(80, 24)) as pilot:
            while app.session is None:
                await pilot.pause(0.01)
            app.open_screen("tunes")
            await pilot.pause()
            tunes = app.screen.tunes
            figures = {
                "paint 20 rows": best(lambda: [tunes.render_line(y) for y in range(20)], 20),
                "move by one": best(lambda: tunes.action_move(1), 20),
                "narrow": best(lambda: choose(tunes.rows, Shown("salt other")), 20),
            }
            await app.workers.wait_for_complete()
            return figures


async def main(number: int = 5_000) -> None:
    few, many = await cost(FEW), await cost(number)
    print(f"{'':14} {FEW:>9} {number:>9}")
    for name, seconds in many.items():
        then = few[name]
        print(f"{name:14} {1000 * then:7.2f}ms {1000 * seconds:7.2f}ms {seconds / then:7.1f}x")


if __name__ == "__main__":
    asyncio.run(main(*map(int, sys.argv[1:])))
