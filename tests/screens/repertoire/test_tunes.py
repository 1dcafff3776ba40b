"""My tunes: the list, typed for, sorted, narrowed, at home in 60x20."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from rich.cells import cell_len
from textual import events

from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tune
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Status
from tunememory.recall.check import Level
from tunememory.session import open_session

SIZES = [(60, 20), (80, 24), (120, 40)]


def titles(app):
    return [row.tune.title for row in app.screen.tunes.rows]


@pytest.mark.parametrize("size", SIZES)
async def test_list_looks_as_drawn(repertoire, opened, same_picture, still_memory, size):
    async with opened(repertoire(), "tunes", size) as pilot:
        same_picture(pilot.app, f"tunes-{size[0]}x{size[1]}")


async def test_typing_narrows_by_any_word_of_any_title(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("slash", *"phil")
        assert titles(pilot.app) == ["Haste to the Wedding"]
        await pilot.press(*["backspace"] * 4, *"WED has")
        assert titles(pilot.app) == ["Haste to the Wedding"]
        await pilot.press("x")
        assert titles(pilot.app) == []


async def test_letters_inside_a_word_do_not_count(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("slash", *"edding")
        assert titles(pilot.app) == []


async def test_enter_while_typing_opens_the_tune_under_the_cursor(repertoire, opened, picture):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("slash", *"the", "down", "down", "enter")
        await pilot.pause()
        assert "The Boys of Bluehill" not in picture(pilot.app).splitlines()[0]
        assert type(pilot.app.screen).__name__ == "TunePage"


async def test_letters_and_enter_in_one_go_open_what_the_letters_mean(
    repertoire, opened, picture, wait_until
):
    async with opened(repertoire(), "tunes") as pilot:
        pilot.app.post_message(events.Key("slash", "/"))
        for letter in "miss":
            pilot.app.post_message(events.Key(letter, letter))
        pilot.app.post_message(events.Key("enter", "\r"))
        await wait_until(lambda: type(pilot.app.screen).__name__ == "TunePage")
        await pilot.pause()
        assert "Miss McLeod's Reel" in picture(pilot.app).splitlines()[0]


async def test_escape_shows_all_again_and_then_leaves(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        screen = pilot.app.screen
        await pilot.press("slash", *"miss", "escape")
        assert len(titles(pilot.app)) == 10
        assert pilot.app.screen is screen
        assert pilot.app.focused is screen.tunes
        await pilot.press("escape")
        await pilot.pause()
        assert pilot.app.screen is not screen


async def test_sorting_goes_through_the_columns_and_unknown_comes_last(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("s")
        keys = [row.tune.key_short for row in pilot.app.screen.tunes.rows]
        assert keys == [*sorted(keys[:-1]), ""]
        await pilot.press("r")
        turned = [row.tune.key_short for row in pilot.app.screen.tunes.rows]
        assert turned == [*sorted(keys[:-1], reverse=True), ""]
        await pilot.press("s", "s")
        rows = pilot.app.screen.tunes.rows
        chances = [row.chance.chance for row in rows if row.tune.status is not Status.WANTED]
        assert chances == sorted(chances)
        assert chances[0] < chances[-1]


async def test_the_cursor_stays_on_its_tune_when_the_order_changes(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("down", "down", "down")
        here = pilot.app.screen.tunes.current
        await pilot.press("s")
        assert pilot.app.screen.tunes.current == here
        await pilot.press("r", "s")
        assert pilot.app.screen.tunes.current == here


async def test_states_and_statuses_narrow(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("l")
        assert titles(pilot.app) == ["Off to California"]
        await pilot.press("l")
        assert titles(pilot.app) == ["Drowsy Maggie"]
        await pilot.press("escape", "f", "f")
        assert titles(pilot.app) == ["Miss McLeod's Reel"]


async def test_a_resting_tune_has_no_state_to_be_narrowed_to(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        for _ in range(5):
            await pilot.press("f")
            assert "The Blackbird" not in titles(pilot.app)


async def test_page_home_and_end(repertoire, opened):
    book = tuple(Draft((f"Tune {number:03}",)) for number in range(200))
    async with opened(repertoire(book, history=False), "tunes") as pilot:
        tunes = pilot.app.screen.tunes
        await pilot.press("end")
        assert tunes.current.tune.title == "Tune 199"
        await pilot.press("pageup")
        assert tunes.cursor < 199
        assert tunes.scroll_offset.y <= tunes.cursor < tunes.scroll_offset.y + tunes.size.height
        await pilot.press("home", "up")
        assert tunes.current.tune.title == "Tune 000"


async def test_an_empty_repertoire_says_what_to_do(repertoire, opened, same_picture, still_memory):
    async with opened(repertoire(()), "tunes", (60, 20)) as pilot:
        same_picture(pilot.app, "tunes-empty-60x20")
        await pilot.press("enter", "s", "f", "down", "e")
        assert type(pilot.app.screen).__name__ == "TunesScreen"


async def test_nothing_found_says_so(repertoire, opened, picture):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.press("slash", *"zz")
        assert "No tune here has “zz” in a title." in picture(pilot.app)


async def test_hostile_titles_are_shown_and_do_nothing(repertoire, opened, picture, nasty):
    book = tuple(Draft((title,)) for title in nasty)
    async with opened(repertoire(book, history=False), "tunes", (120, 40)) as pilot:
        text = picture(pilot.app)
        for shown in ("The [Humours] of Glen", "[/]", "[@click=app.quit]Quit[/]", "leftright"):
            assert shown in text
        assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(text)
        for line in range(3, 12):
            await pilot.click("RowList", offset=(4, line - 3))
        assert pilot.app.is_running
        assert all(len(line) <= 120 for line in text.splitlines())


async def test_wide_letters_keep_the_columns_in_line(repertoire, opened, picture):
    book = (Draft(("鯨の歌" * 30,), "reel", "D"), Draft(("Plain",), "jig", "G"))
    async with opened(repertoire(book, history=False), "tunes") as pilot:
        lines = picture(pilot.app).splitlines()
        wide = next(line for line in lines if "鯨" in line)
        plain = next(line for line in lines if "Plain" in line)
        assert cell_len(wide[: wide.index("reel")]) == plain.index("jig")


async def test_a_second_click_opens(repertoire, opened):
    async with opened(repertoire(), "tunes") as pilot:
        await pilot.click("RowList", offset=(5, 2))
        assert pilot.app.screen.tunes.cursor == 2
        assert type(pilot.app.screen).__name__ == "TunesScreen"
        await pilot.click("RowList", offset=(5, 2), times=2)
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "TunePage"


async def test_a_change_in_another_window_is_seen_on_coming_back(repertoire, opened):
    session = repertoire()
    async with opened(session, "tunes") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        with open_session(session.path, session.clock) as other:
            add_tune(other, Draft(("Another Window's Tune",)))
        await pilot.press("escape")
        await pilot.pause()
        assert "Another Window's Tune" in titles(pilot.app)


async def test_levels_given_elsewhere_move_the_note(repertoire, opened, picture):
    session = repertoire((Draft(("One",), "reel", "D", starts=(("A", "d2 fa"),)),), history=False)
    uuid = tune_rows(session)[0].tune.uuid
    async with opened(session, "tunes") as pilot:
        before = next(line for line in picture(pilot.app).splitlines() if "One" in line)
        assert "○" in before
        assert "not asked" in before
        record_check_away(
            session,
            uuid,
            {"key": Level.SIT_OUT, "A": Level.SIT_OUT},
            datetime(2026, 11, 24, 7, tzinfo=UTC),
        )
        pilot.app.screen.refill()
        await pilot.pause()
        after = next(line for line in picture(pilot.app).splitlines() if "One" in line)
        assert "●" in after
        assert after != before


async def test_wanted_has_no_note_on_the_staff(repertoire, opened, picture):
    book = (Draft(("Wanted One",), status=Status.WANTED),)
    async with opened(repertoire(book, history=False), "tunes") as pilot:
        line = next(line for line in picture(pilot.app).splitlines() if "Wanted One" in line)
        assert "●" not in line
        assert "○" not in line
        assert "wanted" in line
