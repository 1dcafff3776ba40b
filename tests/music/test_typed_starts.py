from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.errors import NotDoneError
from tunememory.music.fingering import fingering
from tunememory.music.forms import letters_of, steps_of
from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.spelling import spell
from tunememory.music.strings import SET, STANDARD, Place, parse_tuning, place_name
from tunememory.music.typed_starts import GUESSED, Form, form_of, read_start

D = Key("D")


def read(text, *, key=D, metre="6/8", tuning=STANDARD, form="abc"):
    return read_start(text, part="A", key=key, metre=metre, tuning=tuning, form=form)


def letters(text, **given):
    start = read(text, **given)
    return " ".join(letters_of(start.notes, given.get("key", D)))


@pytest.mark.parametrize(
    ("text", "usual", "form"),
    [
        ("A2 FA DAFA | B3", "abc", Form.ABC),
        ("A2 FA", "letters", Form.LETTERS),
        ("abc: A2 FA", "letters", Form.ABC),
        ("Letters: a f d", "abc", Form.LETTERS),
        ("letter: a f d", "abc", Form.LETTERS),
        ("fret: d2", "abc", Form.FRETS),
        ("updown: u d", "abc", Form.UPDOWN),
        ("1 3 5 b7 1'", "abc", Form.STEPS),
        ("b7 1", "letters", Form.STEPS),
        ("1 3 5", "fingers", Form.STEPS),
        ("A1 D3 E low 2 DL2 D0", "abc", Form.FINGERS),
        ("D0 D1", "letters", Form.FINGERS),
        ("A1 D3", "abc", Form.ABC),
        ("A1 D3", "fingers", Form.FINGERS),
        ("A0 D3", "frets", Form.FRETS),
        ("uudr", "abc", Form.UPDOWN),
        ("*uududr", "abc", Form.UPDOWN),
        ("up down same", "letters", Form.UPDOWN),
        # d alone is a note.
        ("d d", "letters", Form.LETTERS),
        # A colon that belongs to a bar line is no prefix.
        ("A|:d", "abc", Form.ABC),
    ],
)
def test_the_form_is_told_from_the_text(text, usual, form):
    assert form_of(text, usual) is form


def test_abc_keeps_lengths_pickup_and_text():
    start = read("A | d2f a2f | g3")
    assert [note.quarters for note in start.notes] == [
        Fraction(1, 2), Fraction(1), Fraction(1, 2), Fraction(1), Fraction(1, 2), Fraction(3, 2)
    ]  # fmt: skip
    assert start.pickup == Fraction(1, 2)
    assert start.written == "A | d2f a2f | g3"
    assert start.notes[2].pitch == Pitch(5, "F", 1)
    assert not start.doubt


@pytest.mark.parametrize(
    ("text", "key", "wanted"),
    [
        # The nearest letter, in the middle of the instrument; the key's sharps are understood.
        ("letters: d f a f", D, "d f a f"),
        ("letters: a f# d", D, "a f d"),
        ("letters: d fn a", D, "d =f a"),
        ("letters: =f ^g _b", D, "=F ^G _B"),
        ("letters: gdbd", Key("G"), "g d B d"),
        # A mark goes up or down from the note before.
        ("letters: d a' d'", D, "D A d"),
        ("letters: a d, a'", D, "a d a"),
        ("letters: d d' d,,", D, "d d' D"),
        ("letters: d, f a", D, "D F A"),
        # Mixed letters are ABC octaves.
        ("letters: A d f A", D, "A d f A"),
        ("letters: A, d' F", D, "A, d' F"),
        # b behind a letter: flat in the key, a note of its own, flat of a capital.
        ("letters: bb a g f", Key("F"), "B A G F"),
        ("letters: ab cd", D, "A B c d"),
        ("letters: Bb F D", Key("C"), "_b f d"),
        ("letters: bb a g", D, "B B A G"),
        ("letters: b♭ a", D, "_B A"),
        ("letters: gabc d", Key("G"), "G A B c d"),
        ("letters: d-f-a", D, "d f a"),
        ("letters: C##", Key("C"), "^^c"),
    ],
)
def test_plain_letters(text, key, wanted):
    assert letters(text, key=key) == wanted


@pytest.mark.parametrize("text", ["letters: d a f", "letters: DAF", "letters: dd"])
def test_letters_that_say_nothing_of_octaves_are_doubted(text):
    assert read(text).doubt == GUESSED


@pytest.mark.parametrize("text", ["letters: d a' f", "letters: D a f", "letters: d", "steps: 1 5"])
def test_octaves_that_were_said_are_believed(text):
    assert not read(text).doubt


def test_letters_and_abc_without_a_key_are_doubted():
    assert "the key is not known" in read("d2 a", key=None).doubt
    assert "the key is not known" in read("letters: D a", key=None).doubt
    assert not read("fingers: D0 A1", key=None).doubt


@pytest.mark.parametrize(
    ("text", "key", "wanted"),
    [
        ("1 3 5 b7 1'", D, "D F A =c d"),
        ("135b71'", D, "D F A =c d"),
        ("1 2 3 4 5 6 7 8", D, "D E F G A B c d"),
        ("5, 1 8' 1,", D, "A, D d' D,"),
        # Without a sign the mode's own step; b against the major scale; # from the mode.
        ("1 3 7", Key("E", "minor"), "E G d"),
        ("1 b3 b7", Key("E", "minor"), "E G d"),
        ("#7, =7, ♮7,", Key("E", "minor"), "^D ^D ^D"),
        ("7 b7 =7", Key("A", "mixolydian"), "g g ^g"),
        ("4 #4 b4", Key("F", "lydian"), "B B _B"),
        ("steps: 1’", D, "d"),
    ],
)
def test_scale_steps(text, key, wanted):
    assert letters(text, key=key) == wanted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("fingers: A1 D3 E low 2 DL2 D0", "B G g =F D"),
        ("fingers: a1 d3 el2", "B G g"),
        ("fingers: A 0 1 low 2 2 3 4", "A B =c c d e"),
        ("fingers: A: 0 1 E: 0", "A B e"),
        ("fingers: G0 1 L2 3 D0", "G, A, _B, =C D"),
        # A raised finger is a sharp, a lowered one a flat, unless the key has the other.
        ("fingers: E H3 H4 L4", "^a =c' _b"),
        ("fingers: A L4 H3 L3 G H1 L2", "_e ^d c ^A, _B,"),
        ("fingers: A H2 E2 L3", "c ^g _a"),
        ("fingers: low D 0", "D"),
        ("frets: d2 a0 10 e 5", "E A g a"),
        ("fret: G 12 D0", "G D"),
    ],
)
def test_strings_and_fingers(text, wanted):
    assert letters(text) == wanted


def test_a_finger_set_low_or_high_means_the_note_of_the_key_where_it_has_one():
    assert letters("fingers: A H3", key=Key("Bb")) == "e"
    assert letters("fingers: A L4 E H1", key=Key("E")) == "d =g"


def test_strings_of_one_letter_are_told_apart():
    cross = parse_tuning("AEAE")
    key = Key("A")
    assert letters("fingers: A1 E0 A,1 E,0", key=key, tuning=cross) == "B e B, E"
    assert letters("fingers: low A 1 low E 3 high A 2", key=key, tuning=cross) == "B, A c"
    three = parse_tuning("DDAD")
    assert letters("fingers: D,,0 D,0 D0 middle D 0", tuning=three) == "D, D d D"


@pytest.mark.parametrize(
    ("text", "metre", "quarters", "pickup"),
    [
        ("1 2 3", "C|", ["1/2"] * 3, 0),
        ("1 2 3", "6/8", ["1/2"] * 3, 0),
        ("1 2 3", "", ["1/2"] * 3, 0),
        ("1 2 3", "3/2", ["1"] * 3, 0),
        ("1 2 3", "2/2", ["1/2"] * 3, 0),
        ("1 2 3", "9/16", ["1/4"] * 3, 0),
        ("5 | 1 2 3 4 5 6 | 1", "6/8", ["1/2"] * 8, "1/2"),
        # Three notes to a bar of 3/4 are quarters.
        ("5 | 1 2 3 | 3 2 1", "3/4", ["1"] * 7, 1),
        ("1 2 3 | 3 2 1", "3/4", ["1"] * 6, 0),
        # Four to a bar of 4/4 likewise, sixteen are sixteenths.
        ("1 2 3 4 | 1 2 3 4 | 1", "C", ["1"] * 9, 0),
        ("1234567112345671|1", "C", ["1/4"] * 17, 0),
        # A dash holds.
        ("1 - 3 5 - - | 1", "6/8", ["1", "1/2", "3/2", "1/2"], 0),
        ("1 2 3 4 -- | - 2", "6/8", ["1/2"] * 3 + ["2", "1/2"], 0),
        ("1 2 3 4 5 6 | 7", "", ["1/2"] * 7, 0),
    ],
)
def test_lengths_where_the_form_has_none(text, metre, quarters, pickup):
    start = read(text, metre=metre)
    assert [note.quarters for note in start.notes] == [Fraction(q) for q in quarters]
    assert start.pickup == Fraction(pickup)


def test_ups_and_downs_are_kept_as_text_only():
    start = read("*uudr")
    assert start.notes == ()
    assert start.written == "*uudr"
    assert start.doubt == "only ups and downs are given, no notes"


def test_an_empty_start_is_not_written_down_yet():
    start = read("  ")
    assert (start.notes, start.written, start.doubt) == ((), "", "")


def test_a_note_below_the_strings_is_doubted():
    assert read("G, A,").doubt == ""
    assert read("A G,, A,").doubt == "note 2 (G,,) is below the lowest string of GDAE"
    assert read("A G,, A,", tuning=None).doubt == ""
    # A high note can be reached by shifting.
    assert read("d''").doubt == ""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("A2 q", "“q” at place 4"),
        ("abc: A2 q", "“q” at place 9"),
        ("letters: a h", "“h” at place 12 is not a note; write letters A to G"),
        ("1 9", "“9” at place 3 is not a scale step; write 1 to 7"),
        ("1 2 x", "“x” at place 5 is not a scale step"),
        ("steps: - 1", "“-” at place 8 holds no note; put a note before it"),
        ("fingers: A5", "“5” at place 11 is not a string or finger"),
        ("fingers: C1", "“C” at place 10 is no string here; the strings are G D A E"),
        ("fingers: middle A 1", "“middle A” at place 10 is no string here"),
        ("fingers: A,1", "“A,” at place 10 is no string here"),
        ("fingers: 2 A1", "“2” at place 10 names no string; write it first, such as E2"),
        ("fingers: A L0", "“L0” at place 12 is neither low nor high; write a plain 0"),
        ("fingers: A D1", "“A” at place 10 is a string alone; write where it is stopped"),
        ("fingers: A1 D", "“D” at place 13 is a string alone"),
        ("frets: a x", "“x” at place 10 is not a string or fret"),
        ("frets: e 99", "“99” at place 10 is too high to be written"),
        ("steps: 1'''''''", "cannot be written as a note"),
        ("letters: d'''''''''", "cannot be written as a note"),
        ("updown: x", "up and down is written u for up, d for down, r for the same again"),
        ("|", "there is no note in it"),
        ("d " * 65, "65 notes are too many; a start is about two bars"),
    ],
)
def test_errors_name_the_sign_its_place_and_what_to_write(text, told):
    with pytest.raises(NotDoneError) as error:
        read(text)
    assert told in str(error.value)
    assert "\n" not in str(error.value)


def test_steps_need_a_key():
    with pytest.raises(NotDoneError, match="scale steps need the tune's key"):
        read("1 2 3", key=None)


@given(
    st.text(
        alphabet=st.sampled_from("AaBbDdEe123457890LH#b=^_'’,|:-()[] lowhighudr*~\u0301é"),
        max_size=40,
    ),
    st.sampled_from(list(Form)),
    st.sampled_from(["6/8", "C|", "3/4", "", "none"]),
)
def test_any_text_is_read_or_told_off_in_one_line(text, form, metre):
    told = ""
    try:
        start = read(text, form=form, metre=metre)
    except NotDoneError as error:
        told = str(error)
        start = None
    assert (start is None) == bool(told)
    assert "\n" not in told
    if start is not None:
        assert all(note.quarters > 0 and 0 <= note.pitch.midi <= 127 for note in start.notes)
        assert start.pickup <= sum(note.quarters for note in start.notes)


@given(st.data())
def test_steps_read_back_in_every_key_and_mode(draw, data):
    key = data.draw(draw.keys)
    midis = data.draw(st.lists(st.integers(36, 96), min_size=1, max_size=20))
    notes = draw.plain(midis, key)
    text = " ".join(steps_of(notes, key))
    start = read(text, key=key, metre="C|", form="steps")
    assert start.notes == notes


@given(st.data())
def test_notes_read_back_from_their_fingers(draw, data):
    tuning = data.draw(draw.tunings)
    key = data.draw(draw.keys)
    low, high = min(tuning.strings), max(tuning.strings) + 8
    reach = [m for m in range(low, high + 1) if any(0 <= m - s <= 8 for s in tuning.strings)]
    notes = draw.plain(data.draw(st.lists(st.sampled_from(reach), min_size=1, max_size=20)), key)
    places = fingering(notes, tuning).places
    text = " ".join(place_name(place, tuning) for place in places)
    assert read(text, key=key, metre="C|", tuning=tuning, form="fingers").notes == notes


@given(st.data())
def test_every_place_reads_back_from_its_name(draw, data):
    tuning = data.draw(draw.tunings)
    string = data.draw(st.integers(0, len(tuning.strings) - 1))
    finger, semitones = data.draw(st.sampled_from(list(SET)))
    place = Place(string, semitones, finger)
    start = read(f"fingers: {place_name(place, tuning)}", tuning=tuning)
    assert start.notes[0].pitch.midi == tuning.strings[string] + semitones


@given(st.data())
def test_mixed_letters_read_back(draw, data):
    key = data.draw(draw.keys)
    midis = data.draw(st.lists(st.integers(48, 96), min_size=1, max_size=20))
    notes = draw.plain([60, *midis, 74], key)
    text = " ".join(letters_of(notes, key))
    assert read(text, key=key, metre="C|", form="letters").notes == notes


def test_equal_lengths_are_the_entry_unit(draw):
    assert draw.plain([62]) == (Note(spell(62, None), Fraction(1, 2)),)
