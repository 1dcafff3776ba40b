"""Find: one line, by name or by notes, and what is not found can be kept."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tunememory.history import record_check_away
from tunememory.library.adding import Draft
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Declared, Status
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level
from tunememory.ui.widgets import RowList


def found(app):
    return [(row.title, row.why) for row in app.screen.query_one(RowList).rows]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_answers_look_as_drawn(
    repertoire, opened, same_picture, still_memory, size, frozen_cursor
):
    name = f"{size[0]}x{size[1]}"
    async with opened(repertoire(), "find", size) as pilot:
        same_picture(pilot.app, f"find-{name}")
        await pilot.press(*"flow")
        same_picture(pilot.app, f"find-by-name-{name}")
        await pilot.press(*["backspace"] * 4, *"d c B G G")
        same_picture(pilot.app, f"find-by-notes-{name}")


async def test_a_few_letters_of_any_word_find_and_enter_opens(repertoire, opened, picture):
    async with opened(repertoire(), "find") as pilot:
        await pilot.press(*"was", "enter")
        await pilot.pause()
        assert picture(pilot.app).splitlines()[0].strip().startswith("The Irish Washerwoman")


@pytest.mark.parametrize(
    "typed",
    ["dcBGG", "d c B G G", "edcAA", "fingers: A3 AL2 A1 D3 D3", "steps: 5 4 3 1 1"],
    ids=["letters", "plain letters", "another key", "fingers", "steps"],
)
async def test_notes_find_in_any_key_and_form_and_name_the_part(repertoire, opened, typed):
    async with opened(repertoire(), "find") as pilot:
        pilot.app.screen.query_one("LineInput").value = typed
        await pilot.pause()
        assert ("The Irish Washerwoman", "A start, exactly") in found(pilot.app)


TWINS = (
    Draft(("Salt Road",), "reel", "G", "C|", tuning="GDGD",
          starts=(("A", "D|G2BG dGBG|A2"), ("B", "g2bg dgbg"))),
    Draft(("Estuary Road",), "reel", "D", "C|", starts=(("A", "A|d2fd afdf|e2"),)),
    Draft(("Hall Lane",), "reel", "Ador", "C|"),
)  # fmt: skip


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_key_first_notes_and_twin_are_told_without_opening(
    repertoire, opened, picture, same_picture, size, frozen_cursor
):
    session = repertoire(TWINS, history=False)
    async with opened(session, "find", size) as pilot:
        await pilot.press(*"road")
        same_picture(pilot.app, f"find-told-{size[0]}x{size[1]}")
        assert "A start: A | d f d a f d f" in picture(pilot.app)
        assert "Don't mix with Salt Road: they part at note" in picture(pilot.app)
        await pilot.press("down")
        shown = picture(pilot.app)
        # When it was met is told where there is room for it.
        met = " · not met yet" if size[0] >= 80 else ""
        assert f"G major · GDGD{met} · A start: D | G B G d G B G" in shown
        assert "Don't mix with Estuary Road: they part at note" in shown
        await pilot.press(*["backspace"] * 4, *"lane")
        shown = picture(pilot.app)
        assert f"A dorian · GDAE{met} · no start written down" in shown
        assert "mix" not in shown


async def test_when_a_tune_found_was_met_last_is_told(repertoire, opened, picture):
    session = repertoire(TWINS, history=False)
    road = next(tune.uuid for tune in session.tunes.values() if tune.title == "Salt Road")
    record_check_away(session, road, {"A": Level.FIND}, session.now() - timedelta(days=6))
    async with opened(session, "find") as pilot:
        await pilot.press(*"salt")
        assert "met 6 days ago · A start" in picture(pilot.app)
        log_practice(session, road, "scale", 5.0)
        await pilot.press(*["backspace"] * 4, *"salt")
        assert "met today · A start" in picture(pilot.app)


async def test_of_a_part_found_its_own_first_notes_are_told(repertoire, opened, picture):
    async with opened(repertoire(TWINS, history=False), "find") as pilot:
        await pilot.press(*"gbgdg")
        assert ("Salt Road", "B start, exactly") in found(pilot.app)
        assert "B start: g b g d g b g" in picture(pilot.app)


async def test_an_offer_has_nothing_told_of_it(repertoire, opened, picture):
    async with opened(repertoire(TWINS, history=False), "find") as pilot:
        await pilot.press(*"road")
        assert "Don't mix" in picture(pilot.app)
        await pilot.press(*"zz")
        assert "Put in a new tune" in picture(pilot.app)
        assert "Don't mix" not in picture(pilot.app)


async def test_one_wrong_note_is_forgiven_and_said(repertoire, opened):
    async with opened(repertoire(), "find") as pilot:
        await pilot.press(*"d c B A G D G G")
        assert ("The Irish Washerwoman", "A start, 1 note off") in found(pilot.app)


async def test_sharps_may_be_written_after_the_letter(repertoire, opened, picture):
    session = repertoire((Draft(("One",), key="D", starts=(("A", "fgfe dfad"),)),), history=False)
    async with opened(session, "find") as pilot:
        await pilot.press(*"f# g f# e d")
        assert ("One", "A start, exactly") in found(pilot.app)


async def test_three_notes_are_too_few(repertoire, opened, picture):
    async with opened(repertoire(), "find") as pilot:
        await pilot.press(*"d c B")
        assert found(pilot.app) == []
        assert "1 more to look by notes" in picture(pilot.app)


async def test_notes_not_found_can_be_kept_with_no_name(repertoire, opened):
    session = repertoire((Draft(("One",), starts=(("A", "GGGG GGGG"),)),), history=False)
    async with opened(session, "find") as pilot:
        await pilot.press(*"d f a f d b g e")
        assert found(pilot.app)[-1][0] == "Keep these notes as a tune with no name yet"
        await pilot.press("end", *["down"] * 20, "enter")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "EditScreen"
        await pilot.press("ctrl+s")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "FindScreen"
    tune = next(tune for tune in session.tunes.values() if not tune.titles)
    assert tune.status is Status.WANTED
    assert tune.declared is Declared.NEW
    assert tune.starts[0].written == "d f a f d b g e"


async def test_a_name_not_found_can_be_put_in(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "find") as pilot:
        await pilot.press(*"Zzyzx Hill", "enter")
        await pilot.pause()
        await pilot.press("ctrl+s")
        await pilot.pause()
    assert [row.tune.title for row in tune_rows(session)] == ["Zzyzx Hill"]


async def test_anything_at_all_can_be_typed(repertoire, opened, nasty):
    async with opened(repertoire(), "find", (60, 20)) as pilot:
        for text in (
            *nasty,
            "|:",
            "((((",
            "1",
            "-1",
            "b" * 500,
            "steps:",
            "fingers: Z9",
            "~",
            "A B C",
        ):
            pilot.app.screen.query_one("LineInput").value = text
            await pilot.pause()
            assert pilot.app.is_running
