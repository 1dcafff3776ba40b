from __future__ import annotations

import pytest

from tunememory.ui.library.import_book import (
    MOST_ENTRIES,
    Entry,
    begun_anew,
    completed,
    completions,
)
from tunememory.ui.widgets import expanded


@pytest.fixture
def folder(tmp_path):
    for name in ("Airs", "b.abc", "a.ABC", "z.png", ".secret.abc", "c\u202e.abc"):
        path = tmp_path / name
        path.mkdir() if name == "Airs" else path.touch()
    return tmp_path


def test_folders_then_books_then_others(folder):
    entries, why = completions(f"{folder}/")
    assert [entry.name for entry in entries] == ["Airs", "a.ABC", "b.abc", "z.png"]
    assert why == ""
    assert entries[0].text == f"{folder}/Airs/"


def test_letters_in_either_case_narrow(folder):
    assert [entry.name for entry in completions(f"{folder}/A")[0]] == ["Airs", "a.ABC"]


def test_a_dot_shows_what_is_hidden(folder):
    assert [entry.name for entry in completions(f"{folder}/.s")[0]] == [".secret.abc"]


def test_a_folder_that_cannot_be_read_says_why(folder):
    for typed in (f"{folder}/nothing/", f"{folder}/b.abc/"):
        entries, why = completions(typed)
        assert entries == []
        assert typed in why
        assert "\n" not in why


def test_a_crowded_folder_is_cut(tmp_path):
    for number in range(MOST_ENTRIES + 20):
        (tmp_path / f"{number:04}.abc").touch()
    assert len(completions(f"{tmp_path}/")[0]) == MOST_ENTRIES


def test_completing_stops_where_names_part():
    entries = [
        Entry("x/saltpan.abc", "saltpan.abc", False),
        Entry("x/Saltmarsh", "Saltmarsh", False),
    ]
    assert completed("x/s", entries) == "x/salt"
    assert completed("x/salt", entries) == "x/salt"
    assert completed("x/saltp", entries[:1]) == "x/saltpan.abc"
    assert completed("x/zz", []) == "x/zz"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("", ""),
        ("/home/player/", "/home/player/"),
        ("/home/player//books/saltpan.abc", "/books/saltpan.abc"),
        ("/home/player/~/saltpan.abc", "~/saltpan.abc"),
        ("/home/player/~saltpan.abc", "/home/player/~saltpan.abc"),
        ("/a//b/~/c", "~/c"),
    ],
)
def test_a_whole_path_after_the_folder_offered_replaces_it(typed, meant):
    assert begun_anew(typed) == meant


def test_home(monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path))
    assert expanded("~/x") == tmp_path / "x"
    assert str(expanded("~nobody-of-that-name/x")) == "~nobody-of-that-name/x"
