from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import Clock, fixed_clock
from tunememory.demo import make_demo
from tunememory.library.adding import Draft, add_tune
from tunememory.music.tune import Status
from tunememory.session import Session, open_session

# A busy machine fails nothing: no example has a deadline. Fixtures made once a test hold for all
# its examples, and no test here minds.
settings.register_profile(
    "tunememory", deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
settings.load_profile("tunememory")


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the developer's own repertoire, logs and settings out of every test."""
    home: Path = tmp_path_factory.getbasetemp() / "home"
    for name in ("HOME", "USERPROFILE", "LOCALAPPDATA", "APPDATA"):
        monkeypatch.setenv(name, str(home))
    for name in ("DATA", "STATE", "CONFIG", "CACHE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(home / name.lower()))
    for name in ("TUNEMEMORY_REPERTOIRE", "TUNEMEMORY_NOW", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture(scope="session")
def saltpan_unlearned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Saltpan Hall repertoire with its history, nothing learned from it; to be copied."""
    path = tmp_path_factory.mktemp("saltpan") / "sample.tunes"
    make_demo(path, fixed_clock(SALTPAN_NOW), learned=False)
    return path


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
