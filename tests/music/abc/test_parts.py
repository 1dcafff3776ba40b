"""Parts and starts of tunes written the way people write them.

What a player would call the parts of these tunes is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tunememory.music.abc.parts import part_letter

EIGHT = "d2fd Adfd|B2ed cABc|d2fd Adfd|gfec d4|d2fd Adfd|B2ed cABc|d2fd Adfd|gfec d4"
OTHER = "a2fa dafa|g2eg cgeg|a2fa dafa|gfec d4|a2fa dafa|g2eg cgeg|a2fa dafa|gfec d4"
FOUR = "d2fd Adfd|B2ed cABc|d2fd Adfd|gfec d4"
OTHER_FOUR = "a2fa dafa|g2eg cgeg|a2fa dafa|gfec d4"
A = "d2fd Adfd|B2ed cABc|"
B = "a2fa dafa|g2eg cgeg|"


@pytest.mark.parametrize(
    "music",
    [
        f"{EIGHT}:|{OTHER}:|",
        f"{EIGHT}:|\n|:{OTHER}:|",
        f"|:{EIGHT}:||:{OTHER}:|",
        f"|:{EIGHT}::{OTHER}:|",
        f"{EIGHT}||\n{OTHER}|]",
        f"{EIGHT}|]\n{OTHER}|]",
        f"[|{EIGHT}[|{OTHER}|]",
        f"P:A\n{EIGHT}|\nP:B\n{OTHER}|",
        # No sign at all: sixteen bars are two parts.
        f"{EIGHT}|\n{OTHER}|]",
        # Repeats written out in full.
        f"{EIGHT}|\n{EIGHT}|\n{OTHER}|\n{OTHER}|]",
        f"{EIGHT}|\n{EIGHT}||\n{OTHER}|\n{OTHER}|]",
        # Bar lines at the end of one line and the start of the next are not a double bar.
        f"|{FOUR}|\n|{FOUR}:|\n|{OTHER_FOUR}|\n|{OTHER_FOUR}:|",
        # Four-bar lines closed with double bars, but not repeated, are one part.
        f"{FOUR}||\n{FOUR}||\n{OTHER_FOUR}||\n{OTHER_FOUR}||",
        # A sign for the repeat in words only.
        f'{EIGHT}|]\n"Segno"{OTHER} "D.C."|]',
        f'"^segno"[|]{EIGHT}:|{OTHER}:|',
        # A fermata over the last bar line, tied to an old invisible rest.
        f"{EIGHT} Hx||{OTHER} Hx||",
        # Part A again under its own name is not a new part.
        f"P:A\n{EIGHT}|\nP:B\n{OTHER}|\nP:A\n{EIGHT}|",
    ],
)
def test_two_parts_of_eight(body, music):
    assert body(music, "C|", "D") == [A, B]


SEVEN = EIGHT.removesuffix("|gfec d4")


@pytest.mark.parametrize(
    "music",
    [
        f"{SEVEN}|1 gfec d4:|2 gfec dABc||{OTHER}:|",
        # The line breaks between the endings.
        f"{SEVEN}|1 gfec d4:|\\\n|2 gfec dABc||{OTHER}:|",
        f"{SEVEN}\n|1 gfec d4:|\n|2 gfec dABc||\n{OTHER}:|",
        # An ending's number parted from its bar line.
        f"{SEVEN}|\n1 gfec d4:|\n2 gfec dABc||\n{OTHER}:|",
        # A second ending of several bars.
        f"{SEVEN}|1 gfec d4:|2 gfec d4|d8|d8||{OTHER}:|",
        # Nothing but the length of the first ending says where the second ends.
        f"{SEVEN}|1 gfec d4:|2 gfec d4|{OTHER}|]",
        # The second ending has lost its number.
        f"{SEVEN}|1 gfec d4:|gfec d4|]|:{OTHER}:|",
        f"{SEVEN}|1 gfec d4:|gfec d3||{OTHER}:|",
        # A coda for the last time.
        f'{EIGHT}:|{OTHER_FOUR}|{OTHER_FOUR}|]"last time" d8|]',
    ],
)
def test_endings(body, music):
    assert body(music, "C|", "D") == [A, B]


def test_a_pickup_before_the_repeat_belongs_to_its_part(body):
    short = EIGHT.removesuffix("d4") + "d3"
    starts = body(f"A|:{short}:|g2|:{OTHER.removesuffix('d4')}d2:|", "C|", "D")
    assert starts == ["A|" + A, "g2|" + B]


def test_a_pickup_after_the_repeat_belongs_to_the_next_part(body):
    starts = body(f"{EIGHT.removesuffix('d4')}d2:||fg|\n{OTHER.removesuffix('d4')}d2:|", "C|", "D")
    assert starts == [A, "fg|" + B]


def test_a_pickup_at_the_end_of_the_line_before(body):
    starts = body(
        f"{EIGHT.removesuffix('d4')}d2z||(fg)|\n{OTHER.removesuffix('d4')}d2z|]", "C|", "D"
    )
    assert starts == [A, "fg|" + B]


def test_a_triplet_pickup(body):
    assert body("(3ABc|d2fd Adfd|B2ed cABc|d2fd Adfd|gfec d2:|", "C|", "D") == ["(3ABc|" + A]


def test_four_bars_repeated_then_eight(body):
    assert body(f"{FOUR}:|{OTHER}||", "C|", "D") == [A, B]
    assert body(f"{FOUR}:|{OTHER_FOUR}:|{FOUR}:|", "C|", "D") == [A, B, A]


def test_crooked_parts_stay_as_they_are(body):
    six = "|".join(EIGHT.split("|")[:6])
    nine = OTHER + "|gfec d4"
    assert body(f"{six}:|{nine}:|", "C|", "D") == [A, B]


def test_a_bar_short_by_a_slip_does_not_move_the_parts(body):
    slip = EIGHT.replace("gfec d4", "gfec d3", 1)
    assert body(f"{slip}|{OTHER}|]", "C|", "D") == [A, B]


def test_a_slip_in_the_start_is_doubted(read):
    header = "X:1\nT:One\nM:C|\nL:1/8\nK:D\n"
    short = read(f"{header}{EIGHT.replace('B2ed', 'B2e')}:|\n")
    assert short.doubts == ("line 6: A start: a bar is too short",)
    long = read(f"{header}{EIGHT.replace('B2ed', 'B2edd')}:|\n")
    assert long.doubts == ("line 6: A start: a bar is too long",)
    # What is over is cut: a start is two bars.
    assert sum(note.quarters for note in long.starts[0].notes) == 8


def test_a_change_of_metre_within_a_part(body):
    assert body(f"[M:2/4]d2fd|[M:C|]{EIGHT}:|{OTHER}:|", "C|", "D")[0].startswith("[M:2/4]d2 fd|")


def test_old_chords_between_plus_signs(body):
    assert body("+D3A3+ d3|d3 d3|", "6/8", "D") == ["A3 d3|d3 d3|"]


def test_rests_lengthen_the_note_before(body):
    assert body("A2zB c2z2|z2AB c4|", "C", "D") == ["A3B c4-|c2AB c4|"]


def test_a_leading_rest_shortens_the_pickup(read):
    tune = read(f"X:1\nT:One\nM:C|\nL:1/8\nK:D\nz2 fg|{EIGHT}:|\n")
    assert tune.starts[0].pickup == 1
    assert tune.starts[0].written == "fg|" + A


def test_ties_and_graces(body):
    assert body("{g}d4-d2{fe}fd|d8-|d8|d8|", "C|", "D") == ["d6fd|d8|"]


def test_few_notes_go_on_to_four_bars(body):
    assert body("d6|f6|a6|d6|f6|a6|d6|d6|", "3/4", "D") == ["d6|f6|a6|d6|"]


def test_sixteenths_keep_their_unit(body):
    assert body("A2|d2fd Adfd|B2ed cABc|", "2/4", "D", "1/16") == [
        "[L:1/16]A2|d2fd Adfd|B2ed cABc|"
    ]


def test_a_tune_of_one_bar_is_doubted(read):
    tune = read("X:1\nT:One\nM:C|\nL:1/8\nK:D\nd2fd Adfd|\n")
    assert tune.starts[0].doubt == "only 1 bar long"


def test_pickups_are_quarters(read):
    tune = read(f"X:1\nT:One\nM:C|\nL:1/8\nK:D\nA|{EIGHT}:|\n")
    assert tune.starts[0].pickup == Fraction(1, 2)


def test_part_letters():
    assert [part_letter(place) for place in (0, 1, 25, 26, 27, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "ZZ", "AAA",
    ]  # fmt: skip
