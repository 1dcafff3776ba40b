"""The end of a round in plain words."""

from hypothesis import given
from hypothesis import strategies as st

from tunememory.recall.check import RoundKind
from tunememory.rounds.running import RoundSummary
from tunememory.ui.round.drawing import summary_lines
from tunememory.ui.text import width_of


def text(rows) -> list[str]:
    return ["".join(piece for piece, _ in row).rstrip() for row in rows]


def test_what_came_and_what_would_not() -> None:
    summary = RoundSummary(3, ("Haste to the Wedding", "Garryowen"), ("Off to California",))
    assert text(summary_lines(summary, RoundKind.FIRST, 60, 20)) == [
        "First round done.",
        "",
        "Would not come",
        "  Off to California",
        "",
        "Came",
        "  Haste to the Wedding · Garryowen",
        "",
        "What would not come is asked once more in the last round.",
    ]


def test_no_totals_and_no_praise() -> None:
    summary = RoundSummary(2, ("Garryowen", "Saddle the Pony"), ())
    said = [line for line in text(summary_lines(summary, RoundKind.LAST, 60, 20)) if line]
    assert said == ["Last round done.", "Came", "  Garryowen · Saddle the Pony"]


def test_a_round_that_was_stopped_says_so() -> None:
    summary = RoundSummary(1, ("Garryowen",), ())
    (first, *_) = text(summary_lines(summary, RoundKind.FIRST, 60, 20, left=4))
    assert first == "First round stopped here; every level is kept."


def test_nothing_asked() -> None:
    lines = text(summary_lines(RoundSummary(0, (), ()), RoundKind.LOOSE, 60, 20))
    assert lines == ["Loose round: nothing was asked."]


@given(
    st.lists(st.text(min_size=1, max_size=90), max_size=60),
    st.lists(st.text(min_size=1, max_size=90), max_size=60),
    st.integers(20, 100),
    st.integers(12, 40),
)
def test_it_fits_the_window(came, failed, width, height) -> None:
    summary = RoundSummary(max(1, len(came) + len(failed)), tuple(came), tuple(failed))
    lines = text(summary_lines(summary, RoundKind.FIRST, width, height))
    assert len(lines) <= height
    assert all(width_of(line) <= max(width, 57) for line in lines)


def test_names_that_do_not_fit_are_counted() -> None:
    titles = tuple(f"Tune {number}" for number in range(30))
    said = "\n".join(text(summary_lines(RoundSummary(60, titles, titles), RoundKind.FIRST, 40, 16)))
    assert said.count("and") >= 2
    assert "more" in said
