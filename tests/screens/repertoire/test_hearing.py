"""Hearing a start on the tune's page and in the form, with a player that only notes things."""

from __future__ import annotations

import os
import shutil
import sys

import pytest

from tunememory.library.adding import Draft, sound_of_draft
from tunememory.library.starts import CAUTION, sound_caution, sound_of
from tunememory.music.sound.player import NO_DEVICE, NO_PLAYER


def named(session, start: str) -> str:
    return next(tune.uuid for tune in session.tunes.values() if tune.title.startswith(start))


def runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def sound(session, start: str, part: str) -> bytes:
    """What one start sounds like: the same every time it is made."""
    return sound_of(session.tune(named(session, start)), session.settings, [part]).wav()


async def test_p_hears_the_first_start_and_stops_it(repertoire, opened, player, picture):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Miss McLeod")) as pilot:
        assert "p hear" in picture(pilot.app)
        await pilot.press("p")
        assert player.last.playing
        assert player.last.wavs == [sound(session, "Miss McLeod", "A")]
        await pilot.press("p")
        assert not player.last.playing
        assert player.last.stops == 1
        await pilot.press("p")
        assert len(player.last.wavs) == 2


async def test_a_number_picks_the_start(repertoire, opened, player):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("2")
        assert player.last.wavs[-1] == sound(session, "Haste", "B")
        await pilot.press("1")
        assert player.last.wavs[-1] == sound(session, "Haste", "A")
        await pilot.press("9")
        assert len(player.last.wavs) == 2


async def test_a_sound_that_is_over_can_be_heard_again_with_one_key(
    repertoire, opened, player, wait_until
):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        player.last.over()
        await wait_until(lambda: pilot.app.screen._heard is None)
        await pilot.press("p")
        assert len(player.last.wavs) == 2
        assert player.last.playing


async def test_d_puts_a_drone_under_it_and_remembers(repertoire, opened, player):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("d")
        assert session.settings.drone
        assert player.made == []
        await pilot.press("p", "d")
        assert not session.settings.drone
        with_drone, without = player.last.wavs
        assert with_drone != without
        assert player.last.playing
    session.reload()
    assert not session.settings.drone


async def test_a_key_that_no_open_string_fits_is_said(repertoire, opened, player):
    session = repertoire((Draft(("One",), "reel", "Ab", "C|", starts=(("A", "A2 ce"),)),))
    async with opened(session, "tune", uuid=named(session, "One")) as pilot:
        for wanted in ("No open string can drone in this key.", "Without a drone."):
            await pilot.press("d")
            assert [notice.message for notice in pilot.app._notifications] == [wanted]


async def test_leaving_the_page_stops_the_sound(repertoire, opened, player, wait_until):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p", "escape")
        await wait_until(lambda: not player.last.playing)
        assert pilot.app.screen.HEAD == "Today"


async def test_another_screen_on_top_stops_the_sound(repertoire, opened, player, wait_until):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p", "e")
        await wait_until(lambda: not player.last.playing)


async def test_ending_the_app_stops_the_sound(repertoire, opened, player):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        assert player.last.playing
    assert not player.last.playing


async def test_the_caution_is_said_once_in_one_line(repertoire, opened, player, picture):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste"), size=(120, 40)) as pilot:
        await pilot.press("p")
        assert [n.message for n in pilot.app._notifications] == [CAUTION]
        await pilot.press("p", "p")
        assert len(pilot.app._notifications) == 1


async def test_no_device_is_said_in_one_line(repertoire, opened, player, wait_until):
    session = repertoire()
    sound_caution(session)
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        player.last.over(NO_DEVICE)
        await wait_until(lambda: len(pilot.app._notifications) == 1)
        assert [n.message for n in pilot.app._notifications] == [NO_DEVICE]


async def test_the_word_of_a_stopped_sound_comes_too_late(repertoire, opened, player):
    session = repertoire()
    sound_caution(session)
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        late = player.last.ended
        await pilot.press("p")
        late(NO_DEVICE)
        await pilot.pause()
        assert len(pilot.app._notifications) == 0


async def test_a_tune_with_nothing_written_down_does_not_offer_it(
    repertoire, opened, player, picture
):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "The Harvest")) as pilot:
        assert "hear" not in picture(pilot.app).splitlines()[-1]
        await pilot.press("p", "1")
        assert player.made == []


async def test_the_form_lets_the_start_one_is_in_be_heard(repertoire, opened, player):
    session = repertoire()
    async with opened(session, "edit", uuid=named(session, "Haste")) as pilot:
        await pilot.press("ctrl+t")
        assert player.last.wavs[-1] == sound(session, "Haste", "A")
        await pilot.press("ctrl+t")
        assert not player.last.playing
        pilot.app.screen.form.field("start-B").control.focus()
        await pilot.press("home", "g")
        await pilot.press("ctrl+t")
        (start,) = sound_of_draft(session, pilot.app.screen.form.draft(), "B").starts
        assert start.notes[0].pitch.midi == 79
        assert (
            player.last.wavs[-1]
            == sound_of_draft(session, pilot.app.screen.form.draft(), "B").wav()
        )
    assert session.tune(named(session, "Haste")).starts[1].written == "dfa agf"


async def test_the_form_says_what_cannot_be_heard(repertoire, opened, player, wait_until):
    session = repertoire((Draft(("One",)),))
    async with opened(session, "edit") as pilot:
        await pilot.press("ctrl+t")
        await wait_until(lambda: len(pilot.app._notifications) == 1)
        (nothing,) = (notice.message for notice in pilot.app._notifications)
        pilot.app.screen.form.field("start-A").control.focus()
        await pilot.press(*"?!", "ctrl+t")
        await wait_until(lambda: nothing not in [n.message for n in pilot.app._notifications])
        assert len(pilot.app._notifications) == 1
        assert player.made == []


shell_only = pytest.mark.skipif(sys.platform == "win32", reason="another kind of player")


@shell_only
async def test_without_any_player_the_true_one_says_so_from_its_thread(
    repertoire, opened, wait_until, monkeypatch, tmp_path
):
    monkeypatch.setenv("PATH", str(tmp_path))
    session = repertoire()
    sound_caution(session)
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        await wait_until(lambda: len(pilot.app._notifications) == 1)
        assert [n.message for n in pilot.app._notifications] == [NO_PLAYER]


@shell_only
async def test_ending_the_app_ends_the_true_player_and_removes_its_file(
    repertoire, opened, wait_until, monkeypatch, tmp_path
):
    tail = shutil.which("tail")
    folder, sounds = tmp_path / "bin", tmp_path / "sounds"
    folder.mkdir()
    sounds.mkdir()
    player = folder / "paplay"
    player.write_text(f'#!/bin/sh\necho $$ > "$1.pid"\nexec {tail} -f /dev/null\n')
    player.chmod(0o755)
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setattr("tempfile.tempdir", str(sounds))
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("p")
        await wait_until(lambda: any(f.read_text().strip() for f in sounds.glob("*.pid")))
        (noted,) = sounds.glob("*.pid")
        pid = int(noted.read_text())
        assert runs(pid)
    await wait_until(lambda: not runs(pid))
    await wait_until(lambda: not list(sounds.glob("*.wav")))
