from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tunememory.clock import Clock
from tunememory.library.adding import Draft, add_tune
from tunememory.music.tune import Status
from tunememory.session import Session, open_session


class Hands:
    """A clock that tests move."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 11, 24, 19, 0, tzinfo=UTC)

    def now(self) -> datetime:
        self.moment += timedelta(milliseconds=1)
        return self.moment

    def forward(self, **step: float) -> None:
        self.moment += timedelta(**step)


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def clock(hands: Hands) -> Clock:
    return Clock(hands.now, UTC)


@pytest.fixture
def session(tmp_path: Path, clock: Clock) -> Iterator[Session]:
    with open_session(tmp_path / "own.tunes", clock) as opened:
        yield opened


SCALES = ("D2 FA", "G2 Bd", "A2 ce", "E2 GB", "d2 fa", "B2 dg", "F2 Ad", "e2 ga")


@pytest.fixture
def kept(session: Session) -> Callable[..., list[str]]:
    """Adds ``count`` tunes with two parts and returns their identities."""

    def add(count: int, **facts: object) -> list[str]:
        made = []
        for number in range(count):
            begin = SCALES[number % len(SCALES)]
            more = {
                "titles": (f"Saltpan {number:02}",),
                "kind": "reel",
                "key": ("D", "G", "A", "Em")[number % 4],
                "metre": "C|",
                "status": Status.KEPT,
                "starts": (("A", f"{begin} {'AB'[number // 8 % 2]}2 d{number % 7 + 1}"),
                           ("B", f"f2 e{number % 5 + 1} d2 {begin}")),
                **facts,
            }  # fmt: skip
            made.append(add_tune(session, Draft(**more)).uuid)  # type: ignore[arg-type]
        return made

    return add
