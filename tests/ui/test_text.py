"""Nothing in a string may reach the terminal or the markup reader."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.app import App
from textual.content import Content

from tunememory.ui.text import bare, cell, inked, joined, lines, plain, say, width_of

NASTY = [
    "[/]",
    "[@click=app.quit]Click me[/]",
    "The [Humours] of Glen",
    "\x1b]0;title\x07\x1b[2J",
    "c1 \x9b31m",
    "left \u202eright\u202c",
    "nul\x00",
]


@pytest.mark.parametrize("text", NASTY)
def test_no_control_character_and_no_markup_survives(text: str) -> None:
    content = plain(text)
    assert not content.spans
    assert all(unicodedata.category(sign) != "Cc" for sign in content.plain)
    assert not set("\u202e\u202c") & set(content.plain)


def test_brackets_are_shown_as_they_are() -> None:
    assert plain("The [Humours] of Glen [/]").plain == "The [Humours] of Glen [/]"
    assert joined("a", ("[b]", "bold"), Content("c")).plain == "a[b]c"
    assert inked([[("[x]", "fading"), (" ", "")], [("y", "strong")]]).plain == "[x] \ny"


def test_line_ends_in_a_title_do_not_break_the_line() -> None:
    assert bare("one\r\ntwo\nthree\tfour") == "one two three four"
    assert lines(plain("a\nb"), plain("c")).plain == "a b\nc"


@given(st.text(), st.integers(0, 60), st.sampled_from(["left", "right", "center"]))
def test_a_cell_is_exactly_as_wide_as_asked(text: str, width: int, align: str) -> None:
    shown = cell(text, width, align)  # type: ignore[arg-type]
    assert width_of(shown) == width
    assert all(unicodedata.category(sign) != "Cc" for sign in shown)


def test_a_cut_is_seen() -> None:
    assert cell("The Humours of Glen", 12) == "The Humours…"
    assert cell("鯨の歌", 4) == "鯨… "
    assert cell("short", 8, "right") == "   short"


async def test_what_is_said_is_not_read_as_markup() -> None:
    class Bare(App[int]):
        pass

    app = Bare()
    async with app.run_test(notifications=True) as pilot:
        say(app, "[/] \x1b[2J[@click=app.quit]x[/]", "error")
        await pilot.pause()
        (notice,) = app._notifications
        assert notice.markup is False
        assert notice.message == "[/] [2J[@click=app.quit]x[/]"
