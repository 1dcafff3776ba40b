"""What to start, and the card for the case, by keys."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tunememory.dates.played import played_there
from tunememory.dates.tonight import one_for_each_key, tunes_in_key, what_to_start
from tunememory.library.adding import Draft
from tunememory.library.sets import save_set
from tunememory.session import About
from tunememory.store.records import Date
from tunememory.ui.widgets import LineList, RowList

SIZES = [(60, 20), (80, 24)]


def titles(app):
    rows = app.screen.query_one(RowList).rows
    return [row.starter.tune.title for row in rows if row.starter]


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_looks_as_drawn(repertoire, opened, same_picture, still_memory, size):
    async with opened(repertoire(), "tonight", size) as pilot:
        same_picture(pilot.app, f"tonight-{size[0]}x{size[1]}")
        await pilot.press("o")
        same_picture(pilot.app, f"tonight-one-{size[0]}x{size[1]}")
        await pilot.press("g")
        same_picture(pilot.app, f"tonight-key-{size[0]}x{size[1]}")


async def test_it_answers_what_the_desk_says(repertoire, opened):
    session = repertoire()
    async with opened(session, "tonight") as pilot:
        assert titles(pilot.app) == [one.tune.title for one in what_to_start(session)]
        await pilot.press("d")
        assert titles(pilot.app) == [
            one.tune.title for _, ones in tunes_in_key(session, "D") for one in ones
        ]
        await pilot.press("o")
        assert titles(pilot.app) == [one.tune.title for _, one in one_for_each_key(session) if one]
        await pilot.press("s")
        assert titles(pilot.app) == [one.tune.title for one in what_to_start(session)]


async def test_what_was_played_there_lately_comes_later(repertoire, opened, picture):
    session = repertoire()
    first = what_to_start(session)[0]
    on = session.day() - timedelta(days=2)
    session.repertoire.dates.save(Date("past-1", "Harbour jam", on, tunes=(first.tune.uuid,)))
    session.changed(About.SETS)
    played_there(session, "past-1", on, [first.tune.uuid])
    async with opened(session, "tonight", at="past-1") as pilot:
        assert titles(pilot.app)[0] != first.tune.title
        assert first.tune.title in titles(pilot.app)
        assert "lately" in picture(pilot.app)
        await pilot.press(*["down"] * titles(pilot.app).index(first.tune.title))
        await pilot.pause()
        assert "played there 2 days ago" in picture(pilot.app)


async def test_sharps_and_flats(repertoire, opened, picture):
    book = (Draft(("One",), "reel", "Bb", starts=(("A", "Bcd"),)),)
    async with opened(repertoire(book, history=False), "tonight") as pilot:
        await pilot.press("b")
        assert titles(pilot.app) == []
        await pilot.press("minus")
        assert titles(pilot.app) == ["One"]
        await pilot.press("a", "number_sign")
        assert titles(pilot.app) == ["One"]
        await pilot.press("number_sign")
        assert titles(pilot.app) == []
        await pilot.pause()
        assert "Nothing of yours is in A." in picture(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_to_start_says_so(repertoire, opened, same_picture, size):
    async with opened(repertoire(()), "tonight", size) as pilot:
        same_picture(pilot.app, f"tonight-empty-{size[0]}x{size[1]}")
        await pilot.press("enter", "o", "minus", "down")
        assert name(pilot.app) == "TonightScreen"


async def test_enter_opens_the_tune(repertoire, opened):
    async with opened(repertoire(), "tonight") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "TunePage"


@pytest.mark.parametrize("size", SIZES)
async def test_the_card_looks_as_drawn(repertoire, opened, same_picture, size):
    async with opened(repertoire(), "card", size) as pilot:
        same_picture(pilot.app, f"card-{size[0]}x{size[1]}")


async def test_the_card_is_one_key_from_today_and_of_anything(repertoire, opened, picture):
    session = repertoire()
    save_set(session, "Jigs", ["tune-0", "tune-3"])
    async with opened(session, "today") as pilot:
        await pilot.press("k")
        await pilot.pause()
        await pilot.press("o", *"jigs", "enter")
        await pilot.pause()
        said = "\n".join(
            text for row in pilot.app.screen.query_one(LineList).rows for text, _ in row
        )
        assert "Haste to the Wedding" in said
        assert "Miss McLeod" not in said
        await pilot.press("o", *["backspace"] * 4, *"nowhere", "enter")
        await pilot.pause()
        assert "is no date and no set" in " ".join(picture(pilot.app).split())


@pytest.mark.parametrize(("file", "begins"), [("my.html", "<!doctype html>"), ("my.txt", "My")])
async def test_the_card_is_written(repertoire, opened, paste, tmp_path, file, begins):
    path = tmp_path / file
    async with opened(repertoire(), "card") as pilot:
        await pilot.press("w", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert path.read_text(encoding="utf-8").startswith(begins)
        assert "The Boys of Bluehill" in path.read_text(encoding="utf-8")


async def test_a_card_of_no_known_ending_is_not_written(
    repertoire, opened, paste, picture, tmp_path
):
    path = tmp_path / "my.doc"
    async with opened(repertoire(), "card") as pilot:
        await pilot.press("w", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert not path.exists()
        assert "must end in .html or .txt" in picture(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_a_card_of_nothing_says_so(repertoire, opened, same_picture, size):
    async with opened(repertoire(()), "card", size) as pilot:
        same_picture(pilot.app, f"card-empty-{size[0]}x{size[1]}")
        await pilot.press("w", "down")
        assert name(pilot.app) == "CardScreen"


async def test_hostile_titles_are_only_shown(repertoire, opened, picture, nasty):
    book = tuple(Draft((title,), "reel", "D", starts=(("A", "dfa"),)) for title in nasty[:6])
    session = repertoire(book, history=False)
    for screen in ("tonight", "card"):
        async with opened(session, screen, (120, 40)) as pilot:
            text = picture(pilot.app)
            for shown in ("The [Humours] of Glen", "[/]", "[@click=app.quit]Quit[/]", "leftright"):
                assert shown in text
            assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(text)


async def test_the_card_is_printed_on_the_paper_chosen(
    repertoire, opened, paste, picture, tmp_path
):
    path = tmp_path / "card.html"
    async with opened(repertoire(), "card") as pilot:
        assert "My tunes · A6" in picture(pilot.app)
        await pilot.press("s", "s")
        await pilot.pause()
        assert "My tunes · A4" in picture(pilot.app)
        await pilot.press("w", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert "size: 210mm 297mm" in path.read_text(encoding="utf-8")
        await pilot.press("s")
        await pilot.pause()
        assert "My tunes · A6" in picture(pilot.app)
