"""The starts of a tune's page on the five-line staff and on the strings."""

from __future__ import annotations

import pytest

from tunememory.library.overview import tune_rows, tune_view
from tunememory.ui.library.drawing import staff_lines


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_a_key_shows_the_starts_on_the_staff(
    repertoire, opened, same_picture, still_memory, picture, size
):
    session = repertoire()
    uuid = next(
        row.tune.uuid for row in tune_rows(session) if row.tune.title.startswith("The Flowers")
    )
    async with opened(session, "tune", size, uuid=uuid) as pilot:
        before = picture(pilot.app)
        await pilot.press("v")
        await pilot.pause()
        same_picture(pilot.app, f"tune-page-staff-{size[0]}x{size[1]}")
        await pilot.press("v")
        await pilot.pause()
        same_picture(pilot.app, f"tune-page-strings-{size[0]}x{size[1]}")
        await pilot.press("v")
        await pilot.pause()
        assert picture(pilot.app) == before


async def test_without_strings_there_is_no_way_to_show_them(repertoire, opened, picture):
    session = repertoire()
    session.save_settings(session.settings.played_on("flute"))
    uuid = next(
        row.tune.uuid for row in tune_rows(session) if row.tune.title.startswith("The Flowers")
    )
    async with opened(session, "tune", (80, 24), uuid=uuid) as pilot:
        before = picture(pilot.app)
        assert "easy drones" not in before
        assert "D3" not in before
        await pilot.press("v")
        await pilot.pause()
        assert "●" in picture(pilot.app)
        assert "v letters" in picture(pilot.app)
        await pilot.press("v")
        await pilot.pause()
        assert picture(pilot.app) == before


def test_letters_and_fingers_stand_under_their_notes(repertoire):
    session = repertoire()
    uuid = next(tune.uuid for tune in session.tunes.values() if tune.title.startswith("Haste"))
    view = tune_view(session, uuid)
    rows = ["".join(text for text, _ in line) for line in
            staff_lines(view.starts[0], view.tune.key, view.tune.metre, 78)]  # fmt: skip
    letters = rows[-2]
    columns = [place for place, sign in enumerate(letters) if sign not in " ,'"]
    assert [letters[column] for column in columns] == list("AFAAFA")
    for column in columns:
        assert any(row[column : column + 1] == "●" for row in rows[:-2])
