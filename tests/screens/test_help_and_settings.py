"""Help, settings and the palette, by keys and by pictures.

The pictures show what a real file gives: the instrument stands in its usual tuning.
"""

import pytest
from textual.command import CommandPalette

from tunememory.music.key import Key
from tunememory.music.strings import STANDARD
from tunememory.music.typed_starts import Form, form_of, read_start
from tunememory.ui.help import TYPED_STARTS, HelpScreen
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.settings import SettingsScreen

SIZES = [(60, 20), (80, 24)]


@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_help_of_today(open_book, app_on, same_picture, wait_until, width, height) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(width, height)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("question_mark")
        await wait_until(lambda: isinstance(app.screen, HelpScreen))
        await pilot.pause()
        same_picture(app, f"help-{width}x{height}")
        await pilot.press(*["pagedown"] * 8)
        await pilot.pause()
        same_picture(app, f"help-end-{width}x{height}")
        await pilot.press("escape")
        await wait_until(lambda: app.screen.HEAD == "Today")


@pytest.mark.parametrize(
    ("typed", "form"), [(typed, form) for (typed, _), form in zip(TYPED_STARTS, Form, strict=True)]
)
def test_what_the_help_says_can_be_typed_is_read_so(typed, form) -> None:
    assert form_of(typed, "abc") is form
    start = read_start(typed, part="A", key=Key("D"), metre="", tuning=STANDARD)
    assert bool(start.notes) == (form is not Form.UPDOWN)


async def test_help_of_the_round_names_every_key_even_if_not_possible_now(
    open_book, app_on, wait_until, picture
) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(80, 80)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await pilot.press("f1")
        await wait_until(lambda: isinstance(app.screen, HelpScreen))
        await pilot.pause()
        shown = picture(app)
        for words in (
            "I have it", "Would kick it off", "another key",
            "turned into another tune", "Take the last level back", "within 3 seconds",
            "Rest about five minutes", "my.tunes",
        ):  # fmt: skip
            assert words in " ".join(shown.split()), words


@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_settings(open_book, app_on, same_picture, wait_until, width, height) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(width, height)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("comma")
        await wait_until(lambda: isinstance(app.screen, SettingsScreen))
        await pilot.pause()
        same_picture(app, f"settings-{width}x{height}")


async def test_settings_are_changed_and_kept_by_keys(open_book, app_on, wait_until) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("comma", "right", "right", "down", "left")
        assert session.settings.minutes_first == 6.0
        assert session.settings.minutes_last == 1.0
        await pilot.press("down", "down", "enter", "ctrl+u", *"GDAD", "enter")
        await wait_until(lambda: session.settings.standing_tuning == "GDAD")
        assert not app.screen.has_class("-typing")
        await pilot.press(*["down"] * 5, "right")
        assert session.settings.theme == "paper"
        assert app.theme == "paper"
        await pilot.press("escape")
        await wait_until(lambda: app.screen.HEAD == "Today")


async def test_a_setting_that_cannot_be_is_refused_beside_it(
    open_book, app_on, wait_until, picture
) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("comma", "down", "down", "down", "enter", "ctrl+u", *"[q]", "enter")
        await wait_until(lambda: "[q]" in picture(app).splitlines()[-6])
        assert session.settings.standing_tuning == ""
        assert app.screen.has_class("-typing")
        await pilot.press("escape", "down", "down", "down", "left", "left", "left")
        assert not app.screen.has_class("-typing")
        assert session.settings.intake >= 1


async def test_the_palette_offers_what_the_screen_can_do(
    open_book, app_on, picture, wait_until
) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test(size=(80, 24)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("ctrl+p")
        await wait_until(lambda: isinstance(app.screen, CommandPalette))
        await wait_until(lambda: "Begin the marked step of the day" in picture(app))
        shown = picture(app)
        assert "Go to My tunes" in shown
        for unwanted in ("Screenshot", "Maximize", "Theme", "Keys"):
            assert unwanted not in shown
        await pilot.press(*"loose")
        await wait_until(lambda: "Begin the marked step of the day" not in picture(app))
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))


async def test_the_palette_says_in_our_words_that_nothing_is_found(
    open_book, app_on, picture, wait_until
) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(80, 24)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("ctrl+p", *"zzqq")
        await wait_until(lambda: "Nothing is called that." in picture(app))
        assert "No matches" not in picture(app)


async def test_the_palette_of_a_round_does_not_lead_out_of_it(
    open_book, app_on, picture, wait_until
) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(80, 40)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await pilot.press("ctrl+p")
        await wait_until(lambda: "I have it" in picture(app))
        assert "Go to" not in picture(app)
