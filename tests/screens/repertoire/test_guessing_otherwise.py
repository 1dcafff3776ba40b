"""Learning from the player beside the app, and going back on the settings screen."""

from __future__ import annotations

import asyncio
import json
import shutil
import sys

import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock
from tunememory.session import open_session
from tunememory.ui.app import TuneApp
from tunememory.ui.refitting import outcome, refit


@pytest.fixture
def saltpan(saltpan_unlearned, tmp_path):
    """The Saltpan Hall repertoire, seven months of checks."""
    path = tmp_path / "own.tunes"
    shutil.copy(saltpan_unlearned, path)
    return open_session(path, fixed_clock(SALTPAN_NOW))


def said(app):
    return [note.message for note in app._notifications]


async def test_there_is_nothing_to_go_back_to_before_a_fit(repertoire, opened, picture):
    async with opened(repertoire(), "settings") as pilot:
        shown = picture(pilot.app)
        assert "Guesses rest on the starting values." in shown
        assert "guess otherwise" not in shown
        await pilot.press("g")
        await pilot.pause()
        assert "starting values" in picture(pilot.app)


async def test_a_child_learns_and_settings_go_back_and_forth(
    saltpan, picture, wait_until, monkeypatch
):
    app = TuneApp(lambda: saltpan)
    before = saltpan.repertoire.beliefs.all()
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await wait_until(lambda: app.session is not None)
        await refit(app)
        await wait_until(lambda: any("how your memory works" in note for note in said(app)))
        app.open_screen("settings")
        await wait_until(lambda: "Guesses rest on your own" in picture(app))
        assert "learned on 2026-11-24" in picture(app)
        await pilot.press("g")
        await wait_until(lambda: "rest on the starting values" in picture(app), 30)
        assert app.session.params_version == 0
        assert app.session.repertoire.beliefs.all() == before
        await pilot.press("g")
        await wait_until(lambda: "Guesses rest on your own" in picture(app), 30)
        assert app.session.params_version > 0
        # Learned from already: no second child for the same checks.
        monkeypatch.setattr(asyncio, "create_subprocess_exec", None)
        await refit(app)


async def test_no_child_for_a_few_checks(repertoire, opened, monkeypatch):
    async with opened(repertoire(), "today") as pilot:
        monkeypatch.setattr(asyncio, "create_subprocess_exec", None)
        await refit(pilot.app)
        assert not said(pilot.app)


async def test_a_child_ends_with_the_app(saltpan, wait_until, monkeypatch):
    started = []
    real = asyncio.create_subprocess_exec

    async def endless(*_, **pipes):
        child = await real(sys.executable, "-c", "import time; time.sleep(600)", **pipes)
        started.append(child)
        return child

    monkeypatch.setattr(asyncio, "create_subprocess_exec", endless)
    monkeypatch.setattr("tunememory.ui.refitting.AFTER", 0.01)
    app = TuneApp(lambda: saltpan)
    app.learns = True
    async with app.run_test():
        await wait_until(lambda: started)
    await wait_until(lambda: started[0].returncode is not None)


def test_only_what_changes_something_is_told():
    tried = {"taken": True, "checks": 1238, "held_out": 609, "won": 0.24}
    assert outcome(json.dumps(tried).encode()).startswith(
        "Learned from 1\N{NO-BREAK SPACE}238 checks"
    )
    assert outcome(json.dumps({**tried, "taken": False}).encode()) == ""
    assert outcome(b"") == ""
    assert outcome(b"tunememory: busy") == ""
