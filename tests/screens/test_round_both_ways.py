"""A round on the screen and one line by line leave the same checks for the same answers."""

import io
import sys

import pytest

from tests.screens import printed
from tunememory.cli import main, rounds
from tunememory.session import open_session
from tunememory.ui.round.screen import RoundScreen

# The first three prompts: two tunes asked for from the name, then one for its name. In a line,
# "x garryowen" names the tune that the list on the screen has on top, being a twin.
ANSWERS = {
    "a level each": (("space", "4", "space", "3", "space", "1"), "\n4\n\n3\n\n1\n"),
    "what the clock suggests": (("space", "enter", "space", "enter"), "\n\n\n\n"),
    "a hint, and its cap": (("h", "space", "4", "3", "2"), "h\n\n4\n3\n2\n"),
    "a hint, and the suggestion": (("h", "h", "space", "enter"), "h\nh\n\n\n"),
    "every hint": (("h", "h", "h", "h", "1"), "h\nh\nh\nh\n1\n"),
    "every hint for a name": (
        ("space", "4", "space", "4", "h", "h", "h", "h", "2"), "\n4\n\n4\nh\nh\nh\nh\n2\n",
    ),
    "strands apart": (("space", "b", "1", "k", "4", "3"), "\nb1 k4 3\n"),
    "each strand by itself": (("space", "k", "4", "a", "3", "b", "2"), "\nk4 a3 b2\n"),
    "a wrong key": (("space", "w", "3"), "\n3 w\n"),
    "strayed into a twin": (
        ("space", "4", "space", "x", "enter", "w", "2"), "\n4\n\n2 w x garryowen\n",
    ),
    "no marks where only the name is asked": (
        ("space", "4", "space", "4", "space", "w", "x", "3"), "\n4\n\n4\n\n3 w\n3\n",
    ),
    "later, and not today": (("s", "t", "space", "4"), "s\nt\n\n4\n"),
    "taken back after a hint": (
        ("h", "space", "2", "u", "3", "1"), "h\n\n2\nu\n3\n1\n",
    ),
    "taken back twice": (
        ("space", "4", "space", "4", "u", "u", "2", "space", "3"), "\n4\n\n4\nu\nu\n2\n\n3\n",
    ),
    "no skipping once it is shown": (("space", "s", "t", "4"), "\ns\nt\n4\n"),
}  # fmt: skip


def kept(path) -> list[tuple[object, ...]]:
    """What a round left in a file."""
    with open_session(path, printed.fixed_clock(printed.MORNING)) as session:
        return [
            (check.tune, check.prompt, check.levels, check.seconds, check.hints,
             check.wrong_key, check.strayed_into)
            for check in session.repertoire.checks.all()
            if check.round_uuid
        ]  # fmt: skip


@pytest.mark.parametrize("seconds", [7.0, 600.0])
@pytest.mark.parametrize("answers", ANSWERS)
async def test_the_same_answers_leave_the_same_checks(
    begin, printed_files, tmp_path, monkeypatch, answers, seconds
) -> None:
    keys, typed = ANSWERS[answers]
    monkeypatch.setattr("tunememory.ui.round.screen.HELD_SECONDS", 0.0)
    monkeypatch.setattr(RoundScreen, "elapsed", lambda self, moment: seconds)
    async with begin() as (_, pilot, _):
        await pilot.press(*keys)

    other = tmp_path / "other.tunes"
    printed.open_copy(printed_files[False], other).close()
    monkeypatch.setattr(rounds, "plan_round", lambda session, *_: printed.planned(session))
    monkeypatch.setattr(rounds, "_seconds_since", lambda began: seconds)
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    monkeypatch.setenv("TUNEMEMORY_NOW", printed.MORNING.isoformat())
    assert main(["--repertoire", str(other), "round", "--plain"]) == 0
    assert kept(tmp_path / "my.tunes") == kept(other)
    assert kept(other) or seconds > 180
