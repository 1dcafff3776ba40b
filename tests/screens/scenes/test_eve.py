"""The night before a festival: what is not ready, by humming; one starter a key; a card.

Targets: the dated list with ready and not yet in three keys and a second; silent; a paper card
with one command in two seconds, that fits a case pocket, 12 points or larger; what to leave out
if under half is ready, not how much is undone. Common practice, no source.

Seconds are modelled as ``conftest`` says (Card, Moran and Newell 1980), with 10 for a start.
"""

from __future__ import annotations

import re
from time import process_time

import pytest

from tunememory.cli import main
from tunememory.dates.changing import DateDraft, save_date
from tunememory.library.adding import Draft, add_tune
from tunememory.music.tune import Declared, Status
from tunememory.practice.today import today_view
from tunememory.ui.widgets import RowList


@pytest.fixture
def eve(demo, hands):
    """The evening before the demo's festival; nothing was played in the last days."""
    hands.later(days=11, hours=14)
    return demo


async def test_an_eve(eve, hands, at_screen, paste, picture, player, tmp_path) -> None:
    async with at_screen(eve):
        assert "A date is tomorrow: starts in the head, the hands rest." in picture(hands.app)
        with hands.part("the festival, ready and not yet", keys=3, seconds=1.0):
            await hands.press("d", "enter")
        assert hands.on == "DatePage"
        shown = picture(hands.app)
        assert "Estuary festival" in shown
        assert "tomorrow" in shown
        rows = hands.app.screen.query_one(RowList).rows
        waiting = [row.tune.uuid for row in rows if row.readiness.value != "ready"]
        assert 0 < len(waiting) < len(rows)
        assert re.search(r"\bready\b", shown)

        # By humming: the sitting is held in the head, and nothing sounds.
        with hands.part(f"{len(waiting)} by humming", keys=2 * len(waiting) + 1, seconds=120.0):
            await hands.press("r")
            while hands.app.screen.run.current is not None:
                hands.play()
                await hands.press("space")
                hands.think()
                await hands.press("3")
        assert player.made == []
        assert {
            c.tune for c in eve.repertoire.checks.all(since=hands.moment.replace(hour=0))
        } == set(waiting)
        await hands.press("enter")
        assert hands.on == "DatePage"

        with hands.part("one sure starter a key", keys=2, seconds=2.0):
            await hands.press("o", "o")
        starters = {row.head: row.starter for row in hands.app.screen.query_one(RowList).rows}
        assert {"A", "D", "G"} <= {key.split()[0] for key in starters}
        assert any(starter and starter.sure for starter in starters.values())
        await hands.press("escape")

        card = tmp_path / "card.html"
        with hands.part("to the card", keys=1, seconds=2.0):
            await hands.press("p")
        await hands.press("w", "ctrl+u")
        await paste(hands.pilot, str(card))
        await hands.press("enter")
        page = card.read_text(encoding="utf-8")
        assert all(row.tune.title in page.replace("&#x27;", "'") for row in rows)

        await hands.press("escape", "escape", "escape")
        with hands.part("whom to ask", keys=40, seconds=14.0):
            await hands.press("c")
            hands.think()
            await hands.press(*"ask C. for the five-part one", "enter")
    hands.later(days=1)
    assert today_view(eve).pick_up == "ask C. for the five-part one"


def test_the_card_is_one_command_and_fits_a_pocket(eve, tmp_path) -> None:
    card = tmp_path / "card.html"
    begun = process_time()
    told = ["--repertoire", str(eve.path), "--now", "2026-12-05T21:10+00:00"]
    assert main([*told, "card", "--for", "estuary", "--html", str(card)]) == 0
    assert process_time() - begun <= 2.0
    page = card.read_text(encoding="utf-8")
    assert "105mm 148mm" in page
    sizes = [float(size) for size in re.findall(r"([\d.]+)pt[/ ;]", page.split("</style>")[0])]
    fonts = re.findall(r"font(?:-size)?:[^;]*?([\d.]+)pt", page)
    assert sizes
    assert min(map(float, fonts)) >= 12


async def test_under_half_it_says_what_to_leave_out(demo, hands, at_screen, picture) -> None:
    new = [
        add_tune(demo,
            Draft((f"Sudden {n}",), "reel", "D", "C|", status=Status.LEARNING,
                  declared=Declared.NEW, starts=(("A", "d2 fa"),))
        ).uuid
        for n in range(60)
    ]  # fmt: skip
    save_date(demo, DateDraft("+1d", "Sudden dance", "dance", tunes=tuple(new)))
    async with at_screen(demo):
        await hands.press("d", "enter")
        shown = " ".join(picture(hands.app).split())
        assert "Under half can be ready. Rather leave out: Sudden" in shown
