"""Hearing starts in a round, on a real file, with a player that only notes things."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from tests.screens.seen import asked, loose_round, round_on
from tunememory.clock import fixed_clock
from tunememory.library.adding import Draft, add_tune
from tunememory.library.starts import CAUTION, sound_caution, sound_of
from tunememory.music.sound.player import NO_DEVICE, NO_PLAYER, NO_ROOM, NOT_MADE
from tunememory.recall.check import Prompt
from tunememory.rounds.planning import Asked
from tunememory.session import open_session
from tunememory.ui.round.screen import RoundScreen

# Titles and keys: O'Neill's Music of Ireland (1903); the starts are shortened freely.
TUNES = (
    Draft(("Haste to the Wedding",), "jig", "D", "6/8", starts=(("A", "AFA"), ("B", "dfa agf"))),
    Draft(("Miss McLeod's Reel",), "reel", "G", "C|", starts=(("A", "G2BG dGBG"),)),
    Draft(("The Harvest Home",), "hornpipe", "D", "C|"),
)


@pytest.fixture
def session(tmp_path):
    clock = fixed_clock(datetime(2026, 11, 24, 7, 10, tzinfo=UTC))
    with open_session(tmp_path / "my.tunes", clock) as opened:
        for draft in TUNES:
            add_tune(opened, draft)
        sound_caution(opened)
        yield opened


@pytest.fixture
def rounds(session):
    """A round of given prompts on the screen: ``async with rounds(one, two) as pilot``."""

    def run(*prompts: Asked, asked_by: str = "shown", size=(80, 24)):
        session.save_settings(replace(session.settings, asked_by=asked_by))
        return round_on(session, loose_round(session, *prompts), size=size)

    return run


@pytest.fixture
def what(session) -> Asked:
    return asked(session, "Haste to the Wedding", Prompt.WHAT, "name")


@pytest.fixture
def next_what(session) -> Asked:
    return asked(session, "Miss McLeod's Reel", Prompt.WHAT, "name")


async def test_after_the_answer_the_starts_asked_for_are_heard(
    session, rounds, player, picture
) -> None:
    how = asked(session, "Haste to the Wedding", Prompt.HOW, "key", "B")
    async with rounds(how) as pilot:
        assert "p hear" not in picture(pilot.app)
        await pilot.press("p")
        assert player.made == []
        await pilot.press("space")
        assert "p hear" in picture(pilot.app)
        await pilot.press("p")
        assert player.last.wavs == [sound_of(how.tune, session.settings, ["B"]).wav()]
        await pilot.press("p")
        assert not player.last.playing
        await pilot.press("p", "4")
        assert not player.last.playing


async def test_a_start_asked_by_ear_is_heard_and_not_shown(
    session, rounds, what, player, picture
) -> None:
    async with rounds(what, asked_by="heard") as pilot:
        shown = picture(pilot.app)
        assert "listen" in shown
        assert "A  F  A" not in shown
        assert player.last.wavs == [sound_of(what.tune, session.settings, ["A"]).wav()]
        await pilot.press("p", "p")
        assert len(player.last.wavs) == 2
        assert player.last.playing
        await pilot.press("space")
        assert not player.last.playing
        assert "A  F  A" in picture(pilot.app)
        assert "listen" not in picture(pilot.app)


async def test_a_start_can_be_shown_and_heard(rounds, what, player, picture) -> None:
    async with rounds(what, asked_by="both") as pilot:
        assert "A  F  A" in picture(pilot.app)
        assert "listen" not in picture(pilot.app)
        assert player.last.playing


async def test_a_start_that_is_shown_is_silent(rounds, what, player, picture) -> None:
    async with rounds(what, asked_by="shown") as pilot:
        assert "A  F  A" in picture(pilot.app)
        await pilot.press("p")
        assert player.made == []
        await pilot.press("space", "p")
        assert player.last.playing


async def test_the_clock_waits_until_the_start_was_heard(session, rounds, what, player) -> None:
    async with rounds(what, asked_by="heard") as pilot:
        screen = pilot.app.screen
        begun = screen._asked_at
        assert sound_of(what.tune, session.settings, ["A"]).seconds == pytest.approx(1.5 * 60 / 165)
        await pilot.press("space")
        # Named while it was still playing: no time at all.
        assert screen.answer.seconds == max(0.0, screen._key_at - begun)
        assert screen.answer.seconds < 1


async def test_a_start_that_cannot_be_heard_is_shown_and_said_once(
    rounds, what, next_what, player, picture, wait_until
) -> None:
    async with rounds(what, next_what, asked_by="heard") as pilot:
        player.last.over(NO_DEVICE)
        await wait_until(lambda: NO_DEVICE in picture(pilot.app))
        shown = picture(pilot.app)
        assert "A  F  A" in shown
        assert "listen" not in shown
        assert pilot.app.screen.elapsed(pilot.app.screen._asked_at + 3) == 3
        await pilot.press("space", "4")
        await wait_until(lambda: "2 of 2" in picture(pilot.app))
        shown = picture(pilot.app)
        assert "G  B  G" in shown
        assert NO_DEVICE not in shown
        assert len(player.made) == 1
        assert len(player.last.wavs) == 1


async def test_the_next_prompt_stops_the_sound_and_begins_its_own(
    session, rounds, what, next_what, player, wait_until
) -> None:
    async with rounds(what, next_what, asked_by="heard") as pilot:
        await pilot.press("s")
        await wait_until(lambda: len(player.last.wavs) == 2)
        assert player.last.stops == 1
        assert player.last.wavs[1] == sound_of(next_what.tune, session.settings, ["A"]).wav()


async def test_stopping_the_round_stops_the_sound(rounds, what, player, wait_until) -> None:
    async with rounds(what, asked_by="heard") as pilot:
        assert player.last.playing
        await pilot.press("escape")
        await wait_until(lambda: not isinstance(pilot.app.screen, RoundScreen))
        assert not player.last.playing


async def test_the_end_of_the_round_is_silent(rounds, what, player) -> None:
    async with rounds(what, asked_by="both") as pilot:
        await pilot.press("space", "p")
        assert player.last.playing
        await pilot.press("3")
        assert pilot.app.screen.answer is None
        assert not player.last.playing


async def test_taking_a_level_back_does_not_play_again(rounds, what, next_what, player) -> None:
    async with rounds(what, next_what, asked_by="heard") as pilot:
        await pilot.press("space", "3", "u")
        heard = len(player.last.wavs)
        await pilot.pause()
        assert pilot.app.screen.answer.shown
        assert not player.last.playing
        assert len(player.last.wavs) == heard


async def test_a_tune_with_no_start_offers_nothing_to_hear(
    session, rounds, player, picture
) -> None:
    how = asked(session, "The Harvest Home", Prompt.HOW, "key", "A")
    async with rounds(how, asked_by="heard") as pilot:
        await pilot.press("space", "p")
        assert "p hear" not in picture(pilot.app)
        assert player.made == []


async def test_the_caution_stands_on_the_line_of_words(
    session, rounds, what, player, picture
) -> None:
    session.repertoire.settings.save({"sound_caution_said": "false"})
    async with rounds(what, asked_by="both", size=(60, 20)) as pilot:
        assert CAUTION in picture(pilot.app)
        assert len(pilot.app._notifications) == 0


@pytest.mark.parametrize("why", [NO_DEVICE, NO_PLAYER, NO_ROOM, NOT_MADE])
async def test_whatever_is_said_fits_a_small_window(
    rounds, what, player, picture, wait_until, why
) -> None:
    async with rounds(what, asked_by="both", size=(60, 20)) as pilot:
        player.last.over(why)
        await wait_until(lambda: why in picture(pilot.app))


@pytest.mark.parametrize(("width", "height"), [(60, 20), (80, 24)])
async def test_listening_looks_as_drawn(rounds, what, player, same_picture, width, height) -> None:
    async with rounds(what, asked_by="heard", size=(width, height)) as pilot:
        same_picture(pilot.app, f"round-by-ear-{width}x{height}")
