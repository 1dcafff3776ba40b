from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock
from tunememory.demo import make_demo

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
