"""Starts in the form: read as they are typed, shown in every form."""

from __future__ import annotations

from fractions import Fraction

from tests.screens.repertoire.form_seen import go_to, named, said
from tunememory.library.adding import Draft


async def test_a_start_is_shown_in_every_form_as_it_is_typed(repertoire, opened, picture):
    session = repertoire((), history=False)
    async with opened(session, "edit", (80, 40), uuid=None) as pilot:
        await go_to(pilot, "key")
        await pilot.press("D")
        await go_to(pilot, "start-A")
        await pilot.press(*"D2 FA")
        await pilot.pause()
        shown = [line.strip() for line in picture(pilot.app).splitlines()]
        place = next(k for k, line in enumerate(shown) if line.startswith("▸ A start"))
        # Letters, scale steps in D, and fingers of the standard tuning: common practice, no source.
        assert shown[place + 1].split() == ["D", "F", "A"]
        assert shown[place + 2].split() == ["1", "3", "5"]
        assert shown[place + 3].split() == ["D0", "D2", "A0"]


async def test_changing_the_key_reads_the_starts_anew(repertoire, opened, picture):
    session = repertoire((), history=False)
    async with opened(session, "edit", (80, 40), uuid=None) as pilot:
        await go_to(pilot, "start-A")
        await pilot.press(*"steps: 1 3 5")
        await pilot.pause()
        assert "key" in said(pilot, "start-A")
        await go_to(pilot, "key")
        await pilot.press("G")
        await pilot.pause()
        assert said(pilot, "start-A") == ""
        assert "G  B  d" in picture(pilot.app)


async def test_the_kind_gives_the_bar_lines_where_no_metre_is_typed(repertoire, opened, picture):
    session = repertoire((), history=False)
    async with opened(session, "edit", (80, 40), uuid=None) as pilot:
        await go_to(pilot, "key")
        await pilot.press("D")
        await go_to(pilot, "start-A")
        await pilot.press(*"A|d2f a2f|g3")
        assert "A  d  f  a  f  g" in picture(pilot.app)
        assert "not sure: the metre is not known" in picture(pilot.app)
        await go_to(pilot, "kind")
        await pilot.press(*"jig")
        await go_to(pilot, "start-A")
        assert "A  │ d  f  a  f  │ g" in picture(pilot.app)
        assert "not sure" not in picture(pilot.app)
        await pilot.press("ctrl+s")
        await pilot.pause()
    (tune,) = session.tunes.values()
    assert (tune.metre, tune.starts[0].pickup) == ("6/8", Fraction(1, 2))


async def test_another_part_is_offered_when_the_last_is_filled(repertoire, opened):
    session = repertoire((), history=False)
    async with opened(session, "edit", uuid=None) as pilot:
        assert not pilot.app.screen.query("#start-D")
        await go_to(pilot, "start-C")
        await pilot.press("d")
        await pilot.pause()
        assert pilot.app.screen.query("#start-D")


async def test_a_part_with_its_own_key_is_read_in_it(repertoire, opened, picture):
    tune = Draft(("Two Keys",), "reel", "D", "C|", starts=(("A", "f"), ("B", "[K:G]f c")))
    session = repertoire((tune,), history=False)
    async with opened(session, "edit", (80, 40), uuid=named(session, "Two")) as pilot:
        assert said(pilot, "start-A") == ""
        assert said(pilot, "start-B") == "This part is in G major."
        # C natural, a low second finger; in D it would be C sharp.
        assert "E1 AL2" in picture(pilot.app)


async def test_what_lies_beyond_the_instrument_is_said(repertoire, opened, picture):
    session = repertoire((), history=False)
    session.save_settings(session.settings.played_on("whistle"))
    async with opened(session, "edit", uuid=None) as pilot:
        await go_to(pilot, "start-A")
        await pilot.press(*"A,DFA", "space")
        await pilot.pause()
        assert said(pilot, "start-A").startswith(
            "Too low for the whistle: note 1 (A,). An octave up all of it fits."
        )
        assert "D0" not in picture(pilot.app)
