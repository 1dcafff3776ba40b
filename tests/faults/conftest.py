import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest

from tests.store.making import a_check, a_tune
from tunememory.store.repertoire import Repertoire

NOBODY = 65534
"""A user with no rights of its own (Linux Standard Base: "nobody")."""


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that other users can enter, which pytest's own is not."""
    folder = Path(tempfile.mkdtemp(prefix="tunes-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.fixture
def path(folder: Path) -> Path:
    """A repertoire of two tunes and a check."""
    path = folder / "mine.tunes"
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1), a_tune(2)])
        repertoire.checks.record(a_check(1), b"belief")
    return path


@pytest.fixture
def ordinary_user() -> Callable[[], AbstractContextManager[None]]:
    """Give up the rights of the administrator, for whom no file is read-only."""

    @contextmanager
    def without_rights() -> Iterator[None]:
        if os.geteuid() != 0:
            yield
            return
        os.seteuid(NOBODY)
        try:
            yield
        finally:
            os.seteuid(0)

    return without_rights
