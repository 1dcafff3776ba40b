"""How well we guess, and the year ahead."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tunememory.forecast.how_well import ChanceStep, HowWell
from tunememory.forecast.year import YearAhead, YearPoint
from tunememory.ui.forecast import ForecastScreen, HowWellScreen

SIZES = [(60, 20), (80, 24), (120, 40)]

# Invented: (tenth, said, came, low, high, checks).
_SEEN = (
    (1, 0.16, 0.10, 0.03, 0.28, 10), (2, 0.26, 0.33, 0.21, 0.48, 21),
    (4, 0.45, 0.36, 0.27, 0.46, 44), (5, 0.55, 0.50, 0.43, 0.57, 82),
    (6, 0.66, 0.67, 0.61, 0.73, 105), (7, 0.75, 0.78, 0.73, 0.82, 131),
    (8, 0.86, 0.84, 0.80, 0.87, 198), (9, 0.95, 0.93, 0.91, 0.95, 1204),
)  # fmt: skip
STEPS = tuple(
    ChanceStep(tenth / 10, 2 * n, float(n), said, came, low, high)
    for tenth, said, came, low, high, n in _SEEN
)
FOUND = HowWell(STEPS, 3590, 1795, 0.86, 0.85, 0.01, 0.36, 0.11, 0.42, 0.13)
YEAR = YearAhead(
    minutes=4.0,
    checks=16.0,
    days=5 / 7,
    new_a_month=0.0,
    points=tuple(
        YearPoint(day, 150, 96 + 38 * (day / 364) ** 0.4 - day / 20, 96 + 38 * (day / 364) ** 0.4,
                  min(149.0, 97 + 38 * (day / 364) ** 0.4 + day / 30), 80.0)
        for day in range(0, 365, 8)
    ),
    more_minutes=2.0,
    more=YearPoint(364, 150, 130.0, 141.0, 147.0, 140.0),
    borne=2,
    most_new=16,
)  # fmt: skip


@pytest.fixture
def judged(monkeypatch):
    """Let every session find what is given."""

    def give(found):
        monkeypatch.setattr("tunememory.ui.forecast.how_well_guessed", lambda _: found)

    return give


@pytest.fixture
def lived(monkeypatch):
    """Let every year come out as given; returns what was asked for."""
    asked = []

    def year_ahead(_session, minutes, tunes, new, progress):
        asked.append((minutes, tunes, new))
        progress(0.5)
        return replace(YEAR, minutes=float(minutes), new_a_month=float(new))

    monkeypatch.setattr("tunememory.ui.forecast.year_ahead", year_ahead)
    return asked


async def settled(pilot, wait_until, picture, words):
    await wait_until(lambda: words in " ".join(picture(pilot.app).split()))
    await pilot.pause()


@pytest.mark.parametrize("size", SIZES)
async def test_how_well_looks_as_drawn(
    repertoire, opened, same_picture, picture, wait_until, judged, size
):
    judged(FOUND)
    async with opened(repertoire(), "how_well", size) as pilot:
        await settled(pilot, wait_until, picture, "guess right")
        same_picture(pilot.app, f"how-well-{size[0]}x{size[1]}")
        assert "level you give yourself" in " ".join(picture(pilot.app).split())


@pytest.mark.parametrize("size", SIZES[:2])
async def test_too_few_checks_are_said_to_be_too_few(
    repertoire, opened, same_picture, picture, wait_until, judged, size
):
    judged(replace(FOUND, steps=STEPS[:2], checks=31))
    async with opened(repertoire(), "how_well", size) as pilot:
        await settled(pilot, wait_until, picture, "31 cold checks so far")
        same_picture(pilot.app, f"how-well-few-{size[0]}x{size[1]}")


async def test_a_real_history(repertoire, opened, picture, wait_until):
    async with opened(repertoire(), "how_well") as pilot:
        await settled(pilot, wait_until, picture, "8 cold checks so far")
        assert "range" in picture(pilot.app)


async def test_no_checks_at_all(repertoire, opened, picture, wait_until):
    async with opened(repertoire(history=False), "how_well") as pilot:
        await settled(pilot, wait_until, picture, "No cold check yet")
        assert "range" not in picture(pilot.app)


async def test_both_are_reached_by_key_from_fading(repertoire, opened, picture, wait_until, lived):
    async with opened(repertoire(), "fading") as pilot:
        fading = pilot.app.screen
        await pilot.press("h")
        await wait_until(lambda: isinstance(pilot.app.screen, HowWellScreen))
        await pilot.press("y")
        await wait_until(lambda: isinstance(pilot.app.screen, ForecastScreen))
        await settled(pilot, wait_until, picture, "would come tonight")
        await pilot.press("escape")
        await pilot.press("escape")
        await wait_until(lambda: pilot.app.screen is fading)
        await pilot.press("y")
        await wait_until(lambda: isinstance(pilot.app.screen, ForecastScreen))


@pytest.mark.parametrize("size", SIZES)
async def test_a_year_looks_as_drawn(
    repertoire, opened, same_picture, picture, wait_until, lived, size
):
    async with opened(repertoire(), "forecast", size) as pilot:
        await settled(pilot, wait_until, picture, "would come tonight")
        same_picture(pilot.app, f"forecast-{size[0]}x{size[1]}")


async def test_keys_change_what_is_asked(repertoire, opened, picture, wait_until, lived):
    async with opened(repertoire(), "forecast") as pilot:
        await settled(pilot, wait_until, picture, "would come tonight")
        assert lived == [(4, None, 0)]
        await pilot.press("right", "right", "up", "up", "left")
        await settled(pilot, wait_until, picture, "2 new tunes a month, and that")
        assert lived == [(4, None, 0), (5, None, 2)]  # several keys are one wish
        assert "5 minutes a day, 2 new tunes a month" in picture(pilot.app)
        await pilot.press(*["left"] * 9, "down", "down", "down")
        await settled(pilot, wait_until, picture, "1 minute of cold checks")
        assert lived[-1] == (1, None, 0)


async def test_a_real_year_of_a_small_repertoire(repertoire, opened, picture, wait_until):
    async with opened(repertoire(), "forecast") as pilot:
        await wait_until(lambda: "would come tonight" in " ".join(picture(pilot.app).split()), 60)
        assert "Taken for granted" in picture(pilot.app)


async def test_escape_breaks_off_and_then_leaves(
    repertoire, opened, picture, wait_until, monkeypatch
):
    begun, ended = [], []

    def endless(_session, _minutes, _tunes, _new, progress):
        begun.append(True)
        try:
            while True:
                progress(0.3)
        finally:
            ended.append(True)

    monkeypatch.setattr("tunememory.ui.forecast.year_ahead", endless)
    async with opened(repertoire(), "today") as pilot:
        pilot.app.open_screen("forecast")
        await settled(pilot, wait_until, picture, "living the year, 30 in 100")
        await pilot.press("escape")
        await settled(pilot, wait_until, picture, "Broken off")
        await wait_until(lambda: ended)
        assert isinstance(pilot.app.screen, ForecastScreen)
        await pilot.press("escape")
        await wait_until(lambda: not isinstance(pilot.app.screen, ForecastScreen))
        pilot.app.open_screen("forecast")
        await wait_until(lambda: len(begun) == 2)
        await pilot.press("right", "escape")  # while it waits for more keys
        await settled(pilot, wait_until, picture, "Broken off")
        await pilot.press("escape")
        await wait_until(lambda: len(ended) == 2)


async def test_without_tunes_it_says_so(repertoire, opened, picture, wait_until):
    async with opened(repertoire(()), "forecast", (60, 20)) as pilot:
        await settled(pilot, wait_until, picture, "add one first")
