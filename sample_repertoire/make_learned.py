"""Write learned.json, what the program learns of the player from the invented history.

Run it as a script, with tunememory installed, after ``make_history.py`` or a change of the memory
model. It fits the player's parameters to the history just as the program does while it is open,
so that the demo's chances do not change under the eyes of who tries it.
"""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tunememory.clock import Clock
from tunememory.demo import make_demo
from tunememory.forecast import own_parameters
from tunememory.session import open_session

WHEN = datetime(2026, 11, 24, 12, tzinfo=UTC)
"""Any day does; this one is that of the pictures in the README."""


def learned() -> list[dict[str, Any]]:
    """What a fit to the history and a look at it come to: numbers and evidence, oldest first."""
    clock = Clock(lambda: WHEN, UTC)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "saltpan.tunes"
        make_demo(path, clock, learned=False)
        with open_session(path, clock) as session:
            own_parameters.look(session)
            if not own_parameters.try_fit(session).taken:
                raise SystemExit("the fit foretold the latest checks no better: nothing written")
            return [
                {
                    "numbers": json.loads(made.numbers),
                    "evidence": json.loads(made.evidence),
                    "active": made.active,
                }
                for made in session.repertoire.parameters.all()
            ]


def main() -> None:
    """Write learned.json anew."""
    text = json.dumps(learned(), indent=1) + "\n"
    (Path(__file__).parent / "learned.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
