"""Output that cannot carry every letter: an old terminal, a pipe in another encoding."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Say = Callable[..., Any]


@pytest.fixture
def piped(say: Say, own: Path) -> Callable[..., str]:
    """Runs a command whose output is in an encoding; returns what was written there."""
    assert say("add", "Bean Ph\u00e1id\u00edn", "--key", "Ador", "--a", "A2 ^cA").code == 0

    def run(encoding: str, *arguments: str) -> str:
        command = [sys.executable, "-m", "tunememory", "--repertoire", str(own), *arguments]
        ran = subprocess.run(
            command,
            env={**os.environ, "PYTHONIOENCODING": encoding},
            capture_output=True,
            check=False,
        )
        assert (ran.returncode, ran.stderr) == (0, b"")
        return ran.stdout.decode(encoding)

    return run


def test_a_letter_the_code_page_lacks_is_a_question_mark(piped: Callable[..., str]) -> None:
    assert piped("cp1252", "show", "phaidin").startswith("Bean Ph\u00e1id\u00edn")
    assert piped("ascii", "show", "phaidin").startswith("Bean Ph?id?n")
    assert "Bean Ph?id?n" in piped("ascii", "card")


def test_json_keeps_every_letter(piped: Callable[..., str]) -> None:
    for encoding in ("ascii", "cp1252", "utf-8"):
        (found,) = json.loads(piped(encoding, "show", "phaidin", "--json"))
        assert found["titles"] == ["Bean Ph\u00e1id\u00edn"]
