from __future__ import annotations

from pathlib import Path

import pytest


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
