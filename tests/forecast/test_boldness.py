import pytest

from tunememory.forecast.fitting import (
    BEGIN,
    BOLD,
    DOUBTFUL,
    EVEN,
    FIRST_LOOK,
    HARDLY,
    LEAST,
    PATIENCE,
    SURE,
    focus_for,
    look_is_due,
)


@pytest.mark.parametrize(
    ("leaning", "checks", "in_use", "expected"),
    [
        (SURE + 1, FIRST_LOOK, BEGIN, BOLD),
        (SURE + 1, 5000, EVEN, BOLD),
        (HARDLY + 1, LEAST, BOLD, BOLD),
        (HARDLY - 1, LEAST, BOLD, EVEN),
        (DOUBTFUL - 1, LEAST, BEGIN, EVEN),
        (DOUBTFUL - 1, LEAST - 1, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE + 1, BEGIN, EVEN),
    ],
)
def test_boldness_follows_the_kind_of_memory(leaning, checks, in_use, expected) -> None:
    assert focus_for(leaning, checks, in_use) == expected


def test_a_look_is_due_with_some_checks_and_then_with_a_share_more() -> None:
    assert not look_is_due(FIRST_LOOK - 1, 0)
    assert look_is_due(FIRST_LOOK, 0)
    assert not look_is_due(1050, 1000)
    assert look_is_due(1150, 1000)
