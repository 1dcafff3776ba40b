"""The form: half the facts may be missing, errors under their field, nothing half-kept."""

from __future__ import annotations

import pytest
from textual import events

from tests.screens.repertoire.form_seen import field, go_to, named, said
from tunememory.library.adding import Draft, draft_of
from tunememory.music.tune import Declared, Status
from tunememory.ui.widgets import Field


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_forms_look_as_drawn(
    repertoire, opened, same_picture, still_memory, size, frozen_cursor
):
    session = repertoire()
    name = f"{size[0]}x{size[1]}"
    async with opened(session, "edit", size, uuid=named(session, "The Flowers")) as pilot:
        same_picture(pilot.app, f"edit-{name}")
    async with opened(session, "edit", size, uuid=None) as pilot:
        same_picture(pilot.app, f"add-{name}")


@pytest.mark.parametrize("width", [50, 80])
async def test_how_well_is_asked_in_words_of_its_own(repertoire, opened, picture, width):
    session = repertoire((), history=False)
    async with opened(session, "edit", (width, 24), uuid=None) as pilot:
        assert "have it" in picture(pilot.app)
        await go_to(pilot, "how-well")
        await pilot.press("left")
        assert "half of it" in picture(pilot.app)
        assert ("just met" in picture(pilot.app)) == (width == 80)
        await go_to(pilot, "name")
        await pilot.press(*"The Saltpan Reel", "ctrl+s")
    (tune,) = session.tunes.values()
    assert tune.declared is Declared.LEARNING


async def test_the_field_one_is_in_is_marked_by_a_sign_too(repertoire, opened, picture):
    async with opened(repertoire(), "edit", uuid=None) as pilot:
        assert "▸ name " in picture(pilot.app)
        await pilot.press("down")
        assert "▸ other names " in picture(pilot.app)
        assert picture(pilot.app).count("▸") == 1


async def test_help_is_told_by_a_key_that_is_no_letter(repertoire, opened, picture, wait_until):
    async with opened(repertoire(), "edit", uuid=None) as pilot:
        await pilot.press("question_mark")
        assert field(pilot, "name").control.value == "?"
        assert picture(pilot.app).rstrip().endswith("f1 help")
        await go_to(pilot, "status")
        assert picture(pilot.app).rstrip().endswith("? help")
        await go_to(pilot, "name")
        await pilot.press("f1")
        await wait_until(lambda: pilot.app.screen.HEAD == "Help")


async def test_letters_and_tab_in_one_go_are_obeyed_in_their_order(repertoire, opened, wait_until):
    async with opened(repertoire((), history=False), "edit", uuid=None) as pilot:
        form = pilot.app.screen.form
        for key, letter in (
            *((letter, letter) for letter in "one"),
            ("tab", "\t"),
            *((letter, letter) for letter in "two"),
            ("shift+tab", None),
            ("s", "s"),
        ):
            pilot.app.post_message(events.Key(key, letter))
        await wait_until(lambda: form.typed("name").endswith("s"))
        await wait_until(lambda: form.typed("other-names"))
        assert (form.typed("name"), form.typed("other-names")) == ("ones", "two")


async def test_a_name_alone_is_enough(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await pilot.press(*"The Saltpan Reel", "ctrl+s")
        await pilot.pause()
    assert [tune.title for tune in session.tunes.values()] == ["The Saltpan Reel"]


async def test_notes_without_a_name_are_enough(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await go_to(pilot, "start-A")
        await pilot.press(*"d2 fa", "ctrl+s")
        await pilot.pause()
    assert [tune.title for tune in session.tunes.values()] == ["no name yet"]


async def test_arrows_go_from_field_to_field_and_what_is_typed_is_in_sight(repertoire, opened):
    session = repertoire()
    async with opened(session, "edit", (60, 20), uuid=named(session, "The Flowers")) as pilot:
        form = pilot.app.screen.query_one("TuneForm")
        seen = []
        for _ in range(14):
            seen.append(pilot.app.focused.query_ancestor(Field).id)
            assert form.region.contains_region(pilot.app.focused.region)
            await pilot.press("down")
        assert seen == [
            "name", "other-names", "kind", "key", "metre", "tuning", "status", "how-well",
            "favourite", "start-A", "start-B", "start-C", "from", "note",
        ]  # fmt: skip
        await go_to(pilot, "kind")
        await pilot.press("up", "up")
        assert pilot.app.focused.query_ancestor(Field).id == "name"


async def test_letters_typed_while_room_for_another_part_is_made(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        typing = field(pilot, "start-C").control
        # Both are told before the new field has got anything in it.
        typing.value = "d"
        typing.value = "d2"
        field(pilot, "key").control.value = "D"
        await pilot.pause()
        assert field(pilot, "start-D").control.value == ""
        assert not pilot.app.screen.query("#start-E")


async def test_nothing_at_all_is_said_under_the_name(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await pilot.press("ctrl+s")
        await pilot.pause()
        assert "a tune needs a name" in said(pilot, "name")
        assert type(pilot.app.screen).__name__ == "EditScreen"
    assert session.tunes == {}


async def test_everything_typed_is_kept(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await pilot.press(
            *"One", "enter", *"B; C", "enter", *"air", "enter", *"Em", "enter", *"9/8", "enter",
            *"AEAE", "enter", "left", "enter", "right", "enter", "right", "enter", *"EGB", "enter",
            *"efg", "enter", "enter", *"Jo", "enter", *"slow", "ctrl+s",
        )  # fmt: skip
        await pilot.pause()
    kept = draft_of(next(iter(session.tunes.values())))
    assert kept == Draft(
        titles=("One", "B", "C"), kind="air", key="Em", metre="9/8", tuning="AEAE",
        status=Status.LEARNING, declared=Declared.OLD_FRIEND, favourite=True,
        starts=(("A", "EGB"), ("B", "efg")), source="Jo", note="slow",
    )  # fmt: skip


@pytest.mark.parametrize(("name", "typed"), [("key", "Hb"), ("tuning", "zz"), ("start-A", "q1?")])
async def test_what_cannot_be_read_is_said_under_its_field_and_nothing_is_kept(
    repertoire, opened, name, typed
):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await pilot.press(*"One")
        await go_to(pilot, name)
        await pilot.press(*typed)
        await pilot.press("ctrl+s")
        await pilot.pause()
        assert said(pilot, name)
        assert "\n" not in said(pilot, name)
        assert pilot.app.focused is field(pilot, name).control
        assert session.tunes == {}


async def test_escape_leaves_at_once_when_nothing_changed(repertoire, opened):
    session = repertoire()
    before = dict(session.tunes)
    async with opened(session, "edit", uuid=named(session, "The Flowers")) as pilot:
        await pilot.press("escape")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "TodayScreen"
    assert session.tunes == before


async def test_escape_asks_when_something_changed(repertoire, opened):
    session = repertoire()
    uuid = named(session, "The Flowers")
    before = session.tune(uuid)
    async with opened(session, "edit", uuid=uuid) as pilot:
        await pilot.press("x", "escape")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "ConfirmScreen"
        await pilot.press("n")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "EditScreen"
        assert field(pilot, "name").control.value.endswith("x")
        await pilot.press("escape", "y")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "TodayScreen"
    assert session.tune(uuid) == before


async def test_keeping_without_a_change_changes_nothing(repertoire, opened):
    session = repertoire()
    uuid = named(session, "The Flowers")
    before = session.tune(uuid)
    async with opened(session, "edit", uuid=uuid) as pilot:
        await pilot.press("ctrl+s")
        await pilot.pause()
    assert session.tune(uuid) == before


async def test_a_change_of_name_keeps_the_starts_to_the_letter(repertoire, opened):
    session = repertoire()
    uuid = named(session, "The Flowers")
    before = session.tune(uuid)
    async with opened(session, "edit", uuid=uuid) as pilot:
        await pilot.press(*" too", "ctrl+s")
        await pilot.pause()
    after = session.tune(uuid)
    assert after.titles == ("The Flowers of Edinburgh too",)
    assert after.starts == before.starts
    assert after.note == before.note


async def test_a_name_that_is_there_already_is_said(repertoire, opened):
    async with opened(repertoire(), "edit", uuid=None) as pilot:
        await pilot.press(*"harvest home")
        await pilot.pause()
        assert "You have a tune of this name already" in said(pilot, "name")


async def test_what_was_typed_survives_the_help_screen(repertoire, opened):
    async with opened(repertoire(), "edit", uuid=None) as pilot:
        await pilot.press(*"Half", "f1")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert field(pilot, "name").control.value == "Half"


async def test_hostile_titles_can_be_edited(repertoire, opened, picture, nasty):
    session = repertoire(tuple(Draft((title,)) for title in nasty), history=False)
    before = {uuid: tune.title for uuid, tune in session.tunes.items()}
    async with opened(session, "tunes", (60, 20)) as pilot:
        for uuid in before:
            pilot.app.open_screen("edit", uuid=uuid)
            await pilot.pause()
            assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(picture(pilot.app))
            await pilot.press("home", "x", "ctrl+s")
            await pilot.pause()
            assert type(pilot.app.screen).__name__ == "TunesScreen"
    after = {uuid: tune.title for uuid, tune in session.tunes.items()}
    assert after.keys() == before.keys()
    assert all(after[uuid][:20] == ("x" + before[uuid])[:20] for uuid in before)


async def test_a_name_with_the_parting_sign_in_it_stays_whole(repertoire, opened):
    titles = ("One", "Two; or, the Other", "Three")
    session = repertoire((Draft(titles),), history=False)
    (uuid,) = session.tunes
    async with opened(session, "edit", uuid=uuid) as pilot:
        await pilot.press("x", "ctrl+s")
        await pilot.pause()
    assert session.tune(uuid).titles == ("Onex", *titles[1:])


SAME = Draft(("Miss McLeod's",), "reel", "G", "C|", starts=(("A", "G2BG dGBG|G2BG ABAG"),))


async def keep_under_another_name(pilot):
    await pilot.press(*"Hop High Ladies")
    for name, text in (("key", "G"), ("metre", "C|"), ("start-A", "G2BG dGBG|G2BG ABAG")):
        await go_to(pilot, name)
        await pilot.press(*[{" ": "space"}.get(sign, sign) for sign in text])
    await pilot.press("ctrl+s")
    await pilot.pause()


async def test_a_tune_had_already_is_offered_as_one(repertoire, opened, picture):
    session = repertoire((SAME,), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await keep_under_another_name(pilot)
        assert "You have this as “Miss McLeod's”. Are they one tune?" in picture(pilot.app)
        await pilot.press("y")
        await pilot.pause()
    (tune,) = session.tunes.values()
    assert tune.titles == ("Miss McLeod's", "Hop High Ladies")


async def test_a_tune_had_already_can_be_kept_as_two(repertoire, opened, picture):
    session = repertoire((SAME,), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        await keep_under_another_name(pilot)
        await pilot.press("n")
        await pilot.pause()
    assert {tune.title for tune in session.tunes.values()} == {"Miss McLeod's", "Hop High Ladies"}
