"""A session: somebody asks by name; afterwards, what was that tune?

Targets, by name: three or four letters and Enter, a second after Enter, four seconds in all; any
word of any name, a slip forgiven; the tune to beware of beside it. By notes: ten keys at most, an
answer in a second, five names or fewer, a wrong note, key, octave and pickup forgiven; what is
not known kept in six keys more. Tonight's list: five keys a tune, no questions; a nameless one
joined to its name in six. Common practice, no source.

Seconds are modelled as ``conftest`` says (Card, Moran and Newell 1980).
"""

from __future__ import annotations

import pytest

from tunememory.library.overview import tune_view
from tunememory.music.tune import Status
from tunememory.practice.heard import all_heard
from tunememory.teaching.card import card_for, card_text
from tunememory.ui.widgets import RowList


def found(hands):
    return hands.app.screen.query_one(RowList).rows


def titled(session, title):
    return next(tune for tune in session.tunes.values() if tune.title == title)


@pytest.mark.parametrize(
    ("letters", "title"),
    [("buck", "Buckley's Fancy"), ("fanc", "Buckley's Fancy"), ("maso", "The Mason's Apron")],
)
async def test_somebody_asks_by_name(demo, hands, at_screen, picture, letters, title) -> None:
    async with at_screen(demo):
        with hands.part(f"{letters} to its start", keys=6, seconds=4.0):
            await hands.press("slash")
            hands.think()
            await hands.press(*letters, "enter")
        assert hands.on == "TunePage"
        shown = picture(hands.app)
        assert title in shown.splitlines()[0]
        view = tune_view(demo, titled(demo, title).uuid)
        notes = " ".join(shown.replace("│", " ").split())
        assert " ".join(view.starts[0].letters[:8]) in notes
        for twin in view.twins:
            assert f"Don't mix with {twin.title}" in shown


async def test_a_slip_in_a_name_is_forgiven(demo, hands, at_screen) -> None:
    async with at_screen(demo):
        await hands.press("slash", *"bukley")
        assert found(hands)[0].title == "Buckley's Fancy"


async def test_the_card_says_the_same_as_the_screen(demo, hands, at_screen) -> None:
    lines = card_text(card_for(demo), 200).splitlines()
    place = next(n for n, line in enumerate(lines) if line.startswith("  Buckley's Fancy"))
    shown = " ".join("".join(lines[place : place + 6]).replace("│", " ").split())
    assert "do not mix with The Traveller" in shown
    assert "D G B G d G B G" in shown


@pytest.mark.parametrize(
    "typed",
    [
        # The B start of Buckley's Fancy (e f | g f g a g e d e), a fourth higher, in one octave.
        "abcbcdca",
        # Without its pickup, down a fifth.
        "cbcdcaga",
        # One note wrong.
        "efgagage",
        # As scale steps.
        "67171216",
    ],
)
async def test_what_was_that_tune(demo, hands, at_screen, typed) -> None:
    async with at_screen(demo):
        with hands.part(f"its notes {typed}", keys=10, seconds=10.0):
            await hands.press("slash")
            hands.think()
            await hands.press(*typed)
            await hands.see(lambda: any(one.tune for one in found(hands)))
        answers = [one for one in found(hands) if one.tune]
        assert "Buckley's Fancy" in [one.title for one in answers[:5]]
        assert len(answers) <= 5
        with hands.part("its page", keys=5, seconds=4.0):
            place = [one.title for one in answers].index("Buckley's Fancy")
            await hands.press(*["down"] * place, "enter")
        assert hands.on == "TunePage"


async def test_one_that_is_not_known_is_kept(demo, hands, at_screen) -> None:
    async with at_screen(demo):
        await hands.press("slash", *"aaaaeeee")
        assert not [one for one in found(hands) if one.tune]
        with hands.part("keep it", keys=6, seconds=4.0):
            await hands.press("enter")
            hands.think()
            await hands.press("ctrl+s")
    nameless = [tune for tune in demo.tunes.values() if not tune.titles]
    newest = max(nameless, key=lambda tune: tune.added)
    assert newest.status is Status.WANTED
    assert len(newest.starts[0].notes) == 8


async def test_tonights_list_and_a_name_found_later(demo, hands, at_screen, picture) -> None:
    heard = (("drow", "Drowsy Maggie"), ("ship", "The Ships Are Sailing"), ("out", ""))
    async with at_screen(demo):
        await hands.press("h")
        for letters, _ in heard[:2]:
            with hands.part(f"heard: {letters}", keys=5, seconds=4.0):
                await hands.press(*letters, "enter")
        with hands.part("one that is new", keys=12, seconds=6.0):
            await hands.press(*"Copperplat", "enter")
        with hands.part("one without a name", keys=24, seconds=12.0):
            await hands.press("enter", "down")
            hands.think()
            await hands.press(*"the box player", "enter")
        names = [one.name for one in all_heard(demo) if one.day == demo.day()]
        assert sorted(names) == ["", "Copperplat", "Drowsy Maggie", "The Ships Are Sailing"]
        await hands.press("escape")
    hands.later(days=3)
    async with at_screen(demo):
        with hands.part("its name, later", keys=6, seconds=5.0):
            await hands.press("j", "g")
            hands.think()
            await hands.press(*"for", "enter")
        assert hands.on == "JournalScreen"
        joined = [one.title for one in all_heard(demo) if one.from_whom == "the box player"]
        assert joined
        assert hands.app.screen.query_one(RowList).rows
