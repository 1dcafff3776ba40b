from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tunememory.cli import main


@dataclass(frozen=True)
class Said:
    """What a command gave back."""

    code: int
    out: str
    err: str


@pytest.fixture
def own(tmp_path: Path) -> Path:
    return tmp_path / "own.tunes"


@pytest.fixture
def say(
    own: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Said]:
    """Runs a command on a repertoire of its own, the clock standing on a Tuesday evening."""
    monkeypatch.setenv("TUNEMEMORY_REPERTOIRE", str(own))
    monkeypatch.setenv("TUNEMEMORY_NOW", "2026-11-24T19:30+00:00")

    def run(*arguments: str, typed: str = "") -> Said:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        code = main(list(arguments))
        caught = capsys.readouterr()
        assert "Traceback" not in caught.err
        return Said(code, caught.out, caught.err)

    return run
