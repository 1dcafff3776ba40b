"""A slip in the name of the file makes nothing, and is told with what to do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Said
from tunememory.paths import REPERTOIRE_VARIABLE, default_path

Say = Callable[..., Said]

READING = (
    ("today",),
    ("today", "--json"),
    ("fading",),
    ("fading", "--how-well"),
    ("forecast",),
    ("show", "salt"),
    ("find", "DEFG"),
    ("twins",),
    ("tonight",),
    ("card",),
    ("ways", "salt"),
    ("journal",),
    ("pickup",),
    ("heard",),
    ("dates",),
    ("dates", "show", "gig"),
    ("sets",),
    ("dates", "off"),
    ("ics", "out", "-"),
    ("export", "-", "--as", "abc"),
    ("round",),
    ("round", "--plain"),
    ("pupil",),
    ("verify",),
    ("backup",),
)
"""Commands that put nothing in."""

OF_TUNES_THERE_ARE = (
    ("check", "salt", "4"),
    ("log", "salt"),
    ("sets", "add", "three", "salt", "pan"),
    ("rebuild",),
    ("fit",),
    ("merge", "other.tunes"),
    ("give", "salt", "--to", "other.tunes"),
)
"""Commands that write about what must be there already."""

MAKING = (
    ("add", "The Saltpan"),
    ("dates", "add", "2026-12-01", "--title", "session"),
)


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The player's data folder, not there yet."""
    folder = tmp_path / "data"
    monkeypatch.setattr("tunememory.paths.data_folder", lambda: folder)
    return folder


@pytest.mark.parametrize("command", READING + OF_TUNES_THERE_ARE, ids=" ".join)
def test_a_name_that_is_not_there_makes_nothing(
    say: Say, tmp_path: Path, command: tuple[str, ...]
) -> None:
    slip = tmp_path / "mistyped.tunes"
    said = say(*command, "--repertoire", str(slip))
    assert (said.code, said.out) == (1, "")
    assert said.err.count("\n") == 1
    assert f"{slip}: there is no such file; check its name, or begin it with" in said.err
    assert [*tmp_path.iterdir()] == []


@pytest.mark.parametrize("command", [("today",), ("fading",), ("show", "salt")], ids=" ".join)
def test_with_no_repertoire_yet_it_is_said_how_to_begin(
    say: Say, data: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    monkeypatch.delenv(REPERTOIRE_VARIABLE)
    said = say(*command)
    assert said.code == 1
    assert "there is no repertoire yet; begin it with: tunememory add NAME" in said.err
    assert not data.exists()


@pytest.mark.parametrize("command", MAKING, ids=" ".join)
def test_what_a_repertoire_may_begin_with_makes_it(
    say: Say, data: Path, own: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    assert say(*command).code == 0
    assert own.exists()
    monkeypatch.delenv(REPERTOIRE_VARIABLE)
    assert say(*command).code == 0
    assert default_path().exists()


def test_a_book_makes_it_too(say: Say, own: Path, tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:The Saltpan\nM:C|\nK:D\nDFAd fdAF|\n", encoding="utf-8")
    assert say("import", str(book)).code == 0
    assert own.exists()


def test_the_screen_begins_the_players_own_file_and_no_other(
    say: Say, own: Path, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []

    def run_app(path: Path, *_: object) -> int:
        opened.append(path)
        return 0

    monkeypatch.setattr("tunememory.ui.running.run_app", run_app)
    said = say()
    assert (said.code, opened) == (1, [])
    assert f"{own}: there is no such file" in said.err
    monkeypatch.delenv(REPERTOIRE_VARIABLE)
    assert say().code == 0
    assert opened == [default_path()]
