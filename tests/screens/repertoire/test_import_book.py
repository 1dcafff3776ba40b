"""Bringing in a tune book: choosing by typing, a bar, breaking off, the report."""

from __future__ import annotations

import threading

import pytest
from textual import events

from tunememory.library.importing import ImportReport, Refused, import_file
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Status
from tunememory.ui.widgets import LineList, RowList

# Two tunes of O'Neill's Music of Ireland (1903), their first bars only.
BOOK = """X:1
T:Saddle the Pony
M:6/8
L:1/8
K:G
GBA G2B|def gdB:|

X:2
T:The [Humours] of Glen
M:6/8
L:1/8
K:D
A|dfe dcB|AFD DEF:|
"""


@pytest.fixture
def shelf(tmp_path):
    """A folder with a few books and other things in it."""
    folder = tmp_path / "shelf"
    (folder / "airs").mkdir(parents=True)
    (folder / ".hidden").mkdir()
    (folder / "saltpan.abc").write_text(BOOK)
    (folder / "saltmarsh.abc").write_text(BOOK)
    (folder / "picture.png").write_bytes(b"\x89PNG\r\n\x00\xff\xfe" * 9)
    (folder / "[b]bold.abc").write_text(BOOK)
    (folder / "bad\x1b[2Jname.abc").write_text(BOOK)
    return folder


def said(pilot):
    return str(pilot.app.screen.query_one("#said").render())


def names(pilot):
    return [row.name for row in pilot.app.screen.query_one(RowList).rows]


def report(pilot):
    return ["".join(text for text, _ in line) for line in pilot.app.screen.query_one(LineList).rows]


async def test_folders_come_first_then_books_then_the_rest(repertoire, opened, shelf, picture):
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        assert names(pilot) == [
            "airs",
            "[b]bold.abc",
            "saltmarsh.abc",
            "saltpan.abc",
            "picture.png",
        ]
        assert "airs/" in picture(pilot.app)


async def test_tab_completes_as_far_as_it_is_clear(repertoire, opened, shelf):
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        field = pilot.app.screen.query_one("PathInput")
        await pilot.press("s", "tab")
        assert field.value == f"{shelf}/salt"
        await pilot.press("p", "tab")
        assert field.value == f"{shelf}/saltpan.abc"


async def test_letters_and_tab_in_one_go_complete_the_letters(
    repertoire, opened, shelf, wait_until
):
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        field = pilot.app.screen.query_one("PathInput")
        for letter in "saltp":
            pilot.app.post_message(events.Key(letter, letter))
        pilot.app.post_message(events.Key("tab", "\t"))
        await wait_until(lambda: field.value == f"{shelf}/saltpan.abc")


async def test_a_pasted_path_replaces_the_folder_offered(repertoire, opened, shelf, tmp_path):
    async with opened(repertoire(()), "import", folder=tmp_path) as pilot:
        field = pilot.app.screen.query_one("PathInput")
        field.post_message(events.Paste(f"{shelf}/saltpan.abc"))
        await pilot.pause()
        assert field.value == f"{shelf}/saltpan.abc"
        assert names(pilot) == ["saltpan.abc"]


async def test_enter_goes_into_a_folder(repertoire, opened, shelf):
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        await pilot.press("enter")
        assert pilot.app.screen.query_one("PathInput").value == f"{shelf}/airs/"
        assert "Nothing here is called that." in said(pilot)


async def test_a_book_comes_in_and_a_second_time_adds_nothing(
    repertoire, opened, shelf, wait_until
):
    session = repertoire(())
    for taken in ("2 tunes taken", "0 tunes taken, 2 unchanged"):
        async with opened(session, "import", folder=shelf) as pilot:
            await pilot.press(*"saltp", "enter", "enter")
            await wait_until(lambda pilot=pilot, taken=taken: taken in said(pilot))
            assert ("They came in as kept." in said(pilot)) == taken.startswith("2")
        assert [row.tune.title for row in tune_rows(session)] == [
            "The [Humours] of Glen",
            "Saddle the Pony",
        ]


@pytest.mark.parametrize(
    ("keys", "status", "words"),
    [
        ((), Status.KEPT, "came in as kept"),
        (("left",), Status.WANTED, "came in as wanted"),
        (("right", "right"), Status.LEARNING, "came in as in learning"),
    ],
)
async def test_what_the_tunes_are_is_asked_once(
    repertoire, opened, shelf, wait_until, picture, keys, status, words
):
    session = repertoire(())
    async with opened(session, "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter")
        assert "● by its size  ○ kept  ○ in learning  ○ wanted" in picture(pilot.app)
        assert tune_rows(session) == ()
        await pilot.press(*keys, "enter")
        await wait_until(lambda: words in said(pilot))
    assert {row.tune.status for row in tune_rows(session)} == {status}


async def test_escape_goes_back_to_choosing_a_book(repertoire, opened, shelf, picture):
    session = repertoire(())
    async with opened(session, "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter", "escape")
        assert "by its size" not in picture(pilot.app)
        assert pilot.app.focused is pilot.app.screen.query_one("PathInput")
        assert names(pilot) == ["saltpan.abc"]
        await pilot.press("escape")
    assert tune_rows(session) == ()


async def test_a_reason_that_many_share_is_said_once(
    repertoire, opened, shelf, wait_until, monkeypatch
):
    same = "you have a tune of this name already; both are kept"
    made = ImportReport(3, doubtful=(("One", same), ("Two", "no key is given"), ("Three", same)))
    monkeypatch.setattr("tunememory.ui.library.import_book.import_file", lambda *_: made)
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter", "enter")
        await wait_until(lambda: report(pilot))
        assert report(pilot)[1:] == [
            f"2 tunes: {same}", "    One", "    Three", "Two", "    no key is given",
        ]  # fmt: skip


async def test_what_is_no_book_is_said_in_one_line(repertoire, opened, shelf, wait_until):
    session = repertoire(())
    async with opened(session, "import", folder=shelf) as pilot:
        await pilot.press(*"pic", "enter", "enter")
        await wait_until(
            lambda: (
                "ABC tune books" not in said(pilot)
                and "Bringing" not in said(pilot)
                and "to you?" not in said(pilot)
            )
        )
        assert pilot.app.is_running
    assert tune_rows(session) == ()


async def test_a_file_that_is_not_there(repertoire, opened, shelf):
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        await pilot.press(*"nothing.abc", "enter")
        await pilot.pause()
        assert "There is no such file." in said(pilot)


async def test_a_folder_that_is_not_there(repertoire, opened, shelf):
    async with opened(repertoire(()), "import", folder=shelf / "gone") as pilot:
        assert "no such file or directory" in said(pilot)
        await pilot.press("enter")
        assert pilot.app.is_running


async def test_escape_breaks_off_and_keeps_nothing(
    repertoire, opened, shelf, wait_until, monkeypatch, picture
):
    session = repertoire(())
    escaped = threading.Event()
    taking = import_file

    def slowly(own, path, progress, status):
        def told(done, total):
            progress(done, total)
            escaped.wait(5)

        return taking(own, path, told, status)

    monkeypatch.setattr("tunememory.ui.library.import_book.import_file", slowly)
    async with opened(session, "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter", "enter")
        await wait_until(lambda: "1 of 2 tunes" in picture(pilot.app))
        await pilot.press("escape")
        escaped.set()
        await wait_until(lambda: "Broken off. Nothing of the book was kept." in said(pilot))
        assert pilot.app.focused is pilot.app.screen.query_one("PathInput")
    assert tune_rows(session) == ()


async def test_a_report_names_lines_and_reasons(
    repertoire, opened, shelf, wait_until, monkeypatch, same_picture, still_memory
):
    made = ImportReport(
        12, 3, 1,
        (("Saddle the Pony", "line 12: the second bar has 7 eighths where 8 are expected"),
         ("[@click=app.quit]Humours[/]", "line 30: no key is given, so sharps may be missing")),
        (Refused("saltpan.abc", 44, "no notes and no title: there is nothing to keep"),),
    )  # fmt: skip
    monkeypatch.setattr("tunememory.ui.library.import_book.import_file", lambda *_: made)
    for size in ((60, 20), (80, 24)):
        async with opened(repertoire(()), "import", size, folder=shelf) as pilot:
            await pilot.press(*"saltp", "enter", "enter")
            await wait_until(lambda pilot=pilot: "12 tunes taken" in said(pilot))
            await pilot.pause()
            same_picture(pilot.app, f"import-report-{size[0]}x{size[1]}")


async def test_ten_thousand_refusals_can_be_scrolled(
    repertoire, opened, shelf, wait_until, monkeypatch, picture
):
    refused = tuple(Refused("b.abc", n, "no key and no notes") for n in range(1, 10_001))
    monkeypatch.setattr(
        "tunememory.ui.library.import_book.import_file", lambda *_: ImportReport(refused=refused)
    )
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter", "enter")
        await wait_until(lambda: len(report(pilot)) > 10_000)
        await pilot.press("end")
        await pilot.pause()
        shown = picture(pilot.app)
        assert "line 10000" in shown.replace("\N{NO-BREAK SPACE}", "")
        lines = pilot.app.screen.query_one(LineList)
        assert lines.cursor == len(lines.rows) - lines.size.height


async def test_an_accident_is_one_line(repertoire, opened, shelf, wait_until, monkeypatch):
    def broken(*_):
        raise RuntimeError("[/] what\x1b[2J")

    monkeypatch.setattr("tunememory.ui.library.import_book.import_file", broken)
    async with opened(repertoire(()), "import", folder=shelf) as pilot:
        await pilot.press(*"saltp", "enter", "enter")
        await wait_until(lambda: "could not be brought in" in said(pilot))
        assert "\x1b" not in said(pilot)


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_choosing_looks_as_drawn(
    repertoire, opened, shelf, same_picture, still_memory, size, frozen_cursor, monkeypatch
):
    monkeypatch.chdir(shelf)
    async with opened(repertoire(()), "import", size) as pilot:
        # The path of the test folder is another one each time.
        pilot.app.screen.query_one("PathInput").value = "./"
        await pilot.pause()
        await pilot.press("down", "down")
        same_picture(pilot.app, f"import-{size[0]}x{size[1]}")
        await pilot.press("enter")
        same_picture(pilot.app, f"import-asks-{size[0]}x{size[1]}")
