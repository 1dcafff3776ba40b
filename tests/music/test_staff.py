import itertools
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.forms import bar_starts, fingers_of, letters_of
from tunememory.music.key import Key
from tunememory.music.metre import cut_bars
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.staff import draw_staff
from tunememory.music.strings import STANDARD
from tunememory.music.tune import Start
from tunememory.text import ASCII, UNICODE


def drawn(text, key="D", metre="C|", **how):
    parsed = parse_notes(text, Key(key) if key else None, metre)
    return draw_staff(
        Start("A", parsed.notes, parsed.pickup), Key(key) if key else None, metre, **how
    )


def picture(text, key="D", metre="C|", **how):
    return [row.rstrip() for staff in drawn(text, key, metre, **how) for row in staff.rows]


def test_a_jig_with_a_pickup():
    assert picture("A|d2f a2f|g3 e2", metre="6/8") == [
        "   ╭╮                    ─●─",
        "   ││                     │         ●·",
        "───││─♯────────┬─────●────┼───●───┬─┼───────",
        "   ├╯          │     │    │   │   │ │   ●",
        "──╭┤─────6─┼╲──┼─●───┼────┼───┼───┼─┼───┼───",
        " ╭╯│   ♯   │   │ │   │    │   │   │ │   │",
        "─│─├╮──────┼───┼─┼───┼╱───┼───┼╱──┼─┼───┼───",
        " │╭┼╮      ●   │ │                │",
        "─││││────8─────┼──────────────────┼─────────",
        " ╰╰┼╯          │                  │",
        "───│───────────┴──────────────────┴─────────",
        "  ●╯",
    ]


def test_a_reel_in_plain_signs():
    assert picture("A2FA DAFA|B2", charset=ASCII) == [
        "   /\\",
        "---||-#---------------------------------+-----",
        "   |/                                   |",
        "---/--------+---=====---=============---+-----",
        "  /|   #    |   |   |   |   |   |   |   |",
        "-/-|-----C|-+---+---+---+---+---+---+---+-@---",
        " |/|\\       @   |   @   |   @   |   @   | |",
        "-||||-----------+-------+-------+-------+-+---",
        " \\\\|/           @       |       @       | |",
        "---|--------------------+---------------+-----",
        "  @/                    @",
    ]


def test_low_and_high_notes_accidentals_dots_triplets_and_a_tie():
    assert picture("G,2=F>_B (3c'ba ^g/4a/4b|a4- a^f2z|", "Bb", "4/4") == [
        "                        ─●─",
        "                         │    ●                   ●       ‿‿‿‿",
        "   ╭╮                   ─┼─  ─┼─  ─●─       ─●─  ─┼─    ─○─  ─●─",
        "   ││                    │    │    │   ♯●    │    │      │    │     ·",
        "───││────────────────────┼────┼────┼────┼────┼────┼───┬──┼────┼───♯●───┬─",
        "   ├╯  ♭                 │    │    │    │    │    │   │  │    │    │   │",
        "──╭┤─────4───────────────┼────┼────┼────┼────┼────┼───┼──┼────┼────┼───┼─",
        " ╭╯│                     │    │    │    │    │    │   │  │    │    │   │",
        "─│─├╮─♭─────┼───┼╲──●────━━━━━━━━━━━────≡≡≡≡≡≡━━━━━───┼──┼────┼╱───┼───┼─",
        " │╭┼╮       │   │   │         3                       │                │",
        "─││││────4──┼───┼───┼╱────────────────────────────────┼────────────────┼─",
        " ╰╰┼╯       │   ●·  │╱                                │                │",
        "───│────────┼─────────────────────────────────────────┴────────────────┴─",
        "  ●╯        │",
        "           ─┼─",
        "            │",
        "           ─┼─",
        "            ●",
    ]


def test_what_is_too_wide_goes_on_under_the_next_clef():
    first, second = drawn("A2FA DAFA|B2GB EBGB|ABde fedB", width=50)
    assert (first.first, second.first) == (0, 14)
    assert [row.rstrip() for row in second.rows] == [
        "   ╭╮",
        "   ││",
        "───││─♯──────────●───────┬─",
        "   ├╯          ● │ ●     │",
        "──╭┤─────────●─┼─┼─┼─●───┼─",
        " ╭╯│   ♯     │ │ │ │ │   │",
        "─│─├╮──────●─┼─┼─┼─┼─┼─●─┼─",
        " │╭┼╮    ● │ │ │ │ │ │ │ │",
        "─││││────┼─┼─┼─┼─┼─┼─┼─┼─┼─",
        " ╰╰┼╯    │ │ │ │ ━━━━━━━ │",
        "───│─────━━━━━━━─────────┴─",
        "  ●╯",
    ]


def test_a_tie_to_the_next_staff_is_seen_on_both():
    first, second = drawn("A2FA D2F2-|F2A2 d4", width=30)
    assert any("‿" in row[first.columns[-1] :] for row in first.rows)
    assert any("‿" in row for row in second.rows)
    # The held head begins no note.
    assert (second.first, len(second.columns)) == (5, 2)


@pytest.mark.parametrize(
    ("text", "width"),
    [
        ("A2FA DAFA|B2GB EBGB|", 58),
        ("FG|A2FA DAGE|FDEF D2", 58),
        ("A2FA DAFA|B2GB EBGB|", 78),
        ("FGA|A2FA DAGE|FDEF DEFG", 78),
        ("d>ed<e (3fga b/a/g/f/|=f6 _e2", 78),
    ],
)
def test_two_bars_of_a_reel_fit_the_screen(text, width):
    """80 by 24, and 60 by 20, with two rows beneath."""
    parsed = parse_notes(text, Key("D"), "C|")
    fingers = fingers_of(parsed.notes, STANDARD)
    room = [len(finger) + 1 for finger in fingers]
    staves = draw_staff(
        Start("A", parsed.notes, parsed.pickup), Key("D"), "C|", width=width, room=room
    )
    assert len(staves) == 1
    assert len(staves[0].rows[0]) <= width
    assert len(staves[0].rows) + 2 <= 18


def test_labels_stand_under_their_heads():
    parsed = parse_notes("A|^g2f =c2f|g3 e2", Key("D"), "6/8")
    labels = {
        "letters": letters_of(parsed.notes, Key("D")),
        "fingers": fingers_of(parsed.notes, STANDARD),
    }
    room = [max(map(len, both)) + 1 for both in zip(*labels.values(), strict=True)]
    (staff,) = draw_staff(Start("A", parsed.notes, parsed.pickup), Key("D"), "6/8", room=room)
    letters, fingers = staff.labelled(labels["letters"]), staff.labelled(labels["fingers"])
    for number, column in enumerate(staff.columns):
        assert letters[column] == labels["letters"][number][-1]
        assert fingers[column:].startswith(labels["fingers"][number])
    assert letters.split() == list(labels["letters"])
    assert fingers.split() == list(labels["fingers"])


def test_an_empty_start_is_an_empty_staff():
    (staff,) = drawn("", metre="6/8")
    assert staff.columns == ()
    assert sum(row.startswith("─") for row in staff.rows) == 5


@pytest.mark.parametrize(
    ("metre", "above", "below"), [("6/8", "6", "8"), ("12/8", "12", "8"), ("(2+3)/8", "2+3", "8")]
)
def test_the_metre_stands_in_the_second_and_fourth_line(metre, above, below):
    (staff,) = drawn("A", metre=metre)
    lines = [row for row in staff.rows if row.startswith("─")]
    assert above in lines[1]
    assert below in lines[3]


@pytest.mark.parametrize(("metre", "sign"), [("C", "C"), ("C|", "¢"), ("none", ""), ("", "")])
def test_common_cut_and_free_time(metre, sign):
    (staff,) = drawn("A", metre=metre)
    middle = [row for row in staff.rows if row.startswith("─")][2][5 : staff.columns[0]]
    assert middle.replace("─", "").replace("╮", "") == sign


# A reader of drawn music, which knows nothing of how it was drawn: lines, heads, stems, beams.


def read_back(staff, key, signs):
    """Pitches and lengths of the heads of a staff, in order, with ties and threes.

    A sign counts to the end of the bar, on its own line or space, or for its letter in all
    octaves: readers are taught the one or the other. Both alterations are given.
    """
    lines = [number for number, row in enumerate(staff.rows) if row[0] == signs.line]
    assert len(lines) == 5
    assert {later - earlier for earlier, later in itertools.pairwise(lines)} == {2}
    bottom = lines[-1]
    begin = 5 + sum(map(bool, key.alters().values()))
    on_place, of_letter = {}, {}
    heads = []
    for column in range(begin + 1, len(staff.rows[0])):
        cells = {bottom - number + 30: row[column] for number, row in enumerate(staff.rows)}
        found = [place for place, sign in cells.items() if sign in {signs.head, signs.hollow}]
        upright = {signs.bar, signs.cross, signs.top, signs.foot}
        if not found and all(cells[place] in upright for place in range(30, 39)):
            on_place, of_letter = {}, {}
        if not found:
            continue
        (place,) = found
        row = staff.rows[bottom - place + 30]
        letter = LETTERS[place % 7]
        before = row[:column]
        for alter in (-2, 2, -1, 1, 0):
            if before.endswith(signs.signs[alter + 2]) and row[column - 1] != signs.line:
                on_place[place] = of_letter[letter] = alter
                break
        value = read_value(staff.rows, bottom, place, column, cells, signs)
        alters = (on_place.get(place, key.alters()[letter]),
                  of_letter.get(letter, key.alters()[letter]))  # fmt: skip
        heads.append((Pitch(place // 7, letter), alters, value))
    return heads


def read_value(rows, bottom, place, column, cells, signs):
    """Length of a head in quarters: hollow or filled, stem, flags and beams, dots."""

    def at(step, col):
        row = rows[bottom - step + 30] if 0 <= bottom - step + 30 < len(rows) else ""
        return row[col] if col < len(row) else " "

    stems = {signs.bar, signs.cross}
    up = cells.get(place + 1) in stems
    down = cells.get(place - 1) in stems
    hollow = cells[place] == signs.hollow
    if hollow and not (up or down):
        value = Fraction(4)
    else:
        assert up != down
        step = 1 if up else -1
        end = place + step
        while cells.get(end + step) in stems | set(signs.beams):
            end += step
        value = Fraction(2 if hollow else 1)
        if cells[end] in signs.beams:
            value /= 2 ** (signs.beams.index(cells[end]) + 1)
        else:
            flag = signs.flag_up if up else signs.flag_down
            while at(end, column + 1) == flag:
                value /= 2
                end -= step
    dots = 0
    while at(place + (place % 2 == 0), column + 1 + dots) == signs.dot:
        dots += 1
    return value * (2 - Fraction(1, 2**dots))


KEYS = st.sampled_from(
    [Key("C"), Key("D"), Key("A"), Key("Bb"), Key("E", "minor"), Key("A", "mixolydian"), Key("Eb")]
)
LENGTHS = st.sampled_from([Fraction(n, 4) for n in (1, 2, 2, 2, 3, 4, 6, 8, 12, 16)])
PLACES = st.builds(Pitch, st.integers(4, 5), st.sampled_from(LETTERS), st.integers(-1, 1))


@settings(max_examples=150)
@given(
    KEYS,
    st.lists(st.tuples(PLACES, LENGTHS), min_size=1, max_size=14),
    st.sampled_from(["C|", "6/8", "3/4", "2/4", "9/8"]),
    st.sampled_from([UNICODE, ASCII]),
    st.integers(40, 90),
)
def test_a_reader_finds_every_pitch_and_length(key, drawn_notes, metre, signs, width):
    notes = tuple(Note(pitch, length) for pitch, length in drawn_notes)
    staves = draw_staff(Start("A", notes), key, metre, width=width, charset=signs)
    assert all(len({len(row) for row in staff.rows}) == 1 for staff in staves)
    heads = [head for staff in staves for head in read_back(staff, key, signs)]
    pieces = [piece for bar in cut_bars(notes, Fraction(0), metre) for piece in bar.pieces]
    # A length that needs several tied heads gives several; together they last as long.
    for piece in pieces:
        left = piece.quarters
        while left > 0:
            pitch, alters, value = heads.pop(0)
            assert (pitch.letter, pitch.octave) == (piece.pitch.letter, piece.pitch.octave)
            if not piece.held:
                assert set(alters) == {piece.pitch.alter}
            left -= value
        assert left == 0
    assert heads == []


@given(
    KEYS,
    st.lists(st.tuples(PLACES, LENGTHS), min_size=1, max_size=14),
    st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1)]),
)
def test_columns_rise_and_bar_lines_stand_before_the_notes_that_begin_bars(
    key, drawn_notes, pickup
):
    notes = tuple(Note(pitch, length) for pitch, length in drawn_notes)
    (staff,) = draw_staff(Start("A", notes, pickup), key, "C|", width=10_000)
    assert len(staff.columns) == len(notes)
    assert list(staff.columns) == sorted(set(staff.columns))
    top = next(row for row in staff.rows if row.startswith("─"))
    for number in bar_starts(notes, pickup, "C|"):
        assert "┬" in top[staff.columns[number - 1] : staff.columns[number]]
