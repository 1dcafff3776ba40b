from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.making import MovingClock, a_tune
from tunememory.store.repertoire import Repertoire


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "mine.tunes"


@pytest.fixture
def time() -> MovingClock:
    return MovingClock()


@pytest.fixture
def repertoire(path: Path, time: MovingClock) -> Iterator[Repertoire]:
    with Repertoire.open(path, clock=time.clock()) as opened:
        yield opened


@pytest.fixture
def kept(repertoire: Repertoire) -> Repertoire:
    """A repertoire of tunes 1 and 2."""
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    return repertoire
