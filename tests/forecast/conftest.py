from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock
from tunememory.session import Session, open_session


@pytest.fixture
def saltpan(saltpan_unlearned: Path, tmp_path: Path) -> Iterator[Session]:
    """The Saltpan Hall repertoire, seven months of checks, nothing learned from them yet."""
    path = tmp_path / "own.tunes"
    shutil.copy(saltpan_unlearned, path)
    with open_session(path, fixed_clock(SALTPAN_NOW)) as session:
        yield session
