from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.finding import LEAST_NOTES, NoteIndex, allowed
from tunememory.music.key import Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.tune import Start, Tune


def tune(uuid, *texts, key="D", kind="reel", metre="C|"):
    starts = []
    for part, text in zip("ABC", texts, strict=False):
        parsed = parse_notes(text, Key(key), metre)
        starts.append(Start(part, parsed.notes, parsed.pickup, text))
    return Tune(uuid, (uuid,), kind=kind, key=Key(key), metre=metre, starts=tuple(starts))


def typed(text, key="C"):
    return tuple(note.pitch for note in parse_notes(text, Key(key), "").notes)


TUNES = (
    tune("one", "A2FA DAFA|B2GB", "d2fd Adfa|bgfe"),
    tune("two", "FG|A2FA DAGE|FDEF", "dfed cABc|d2de"),
    tune("three", "Bd|gfgd BGBd|cBAG", key="G", kind="jig"),
    tune("short", "ABcA B"),
    tune("four", "ecBA EABc|dBGB"),
    Tune("none", ("none",)),
    Tune("ups", ("ups",), starts=(Start("A"),)),
)
INDEX = NoteIndex(TUNES)


def found(text, index=INDEX, **wanted):
    return [(f.tune, f.part, f.distance) for f in index.find(typed(text), **wanted)]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        # The very notes, in the tune's own key and in others.
        ("A F A D A F A", ("one", "A", 0)),
        ("E C E A, E C E", ("one", "A", 0)),
        ("d f d A d f a", ("one", "B", 0)),
        # A pickup typed and left out.
        ("F G A F A D A G E F", ("two", "A", 0)),
        ("A F A D A G E F", ("two", "A", 0)),
        ("B d g f g d B", ("three", "A", 0)),
        ("g f g d B G B d", ("three", "A", 0)),
        # One wrong note, near and far, one left out, one too many.
        ("g f g e B G B d", ("three", "A", 0.95)),
        ("g f g A B G B d", ("three", "A", 1)),
        ("e g g d B G B d", ("three", "A", 0.95 + 0.95)),
        ("g f g B G B d c", ("three", "A", 0.8)),
        ("g f g d c B G B d", ("three", "A", 0.9)),
        # The same in the first note.
        ("a f g d B G B d", ("three", "A", 0.95)),
        ("f g d B G B d c", ("three", "A", 0.8)),
        ("b g f g d B G B d", ("three", "A", 0.9)),
        # Far from both its neighbours, one too many is less likely; so is a note far off.
        ("g f g a' d B G B d", ("three", "A", 1.2)),
        ("g f g C, B G B d", ("three", "A", 1.2)),
        # An octave is off by half where octaves are meant, as they are where they differ.
        ("g f g D B G B d", ("three", "A", 0.5)),
        # A start that ends before the typing does.
        ("A B c A B d", ("short", "A", 0.45)),
    ],
)
def test_the_right_start_comes_first(text, wanted):
    if wanted[2] > allowed(len(typed(text))):
        assert wanted[0] not in [name for name, _part, _distance in found(text)]
    else:
        name, part, distance = found(text)[0]
        assert (name, part) == wanted[:2]
        assert distance == pytest.approx(wanted[2])


def test_a_tune_is_offered_once_with_its_nearest_part():
    index = NoteIndex([tune("one", "A2FA DAFA|B2", "A2FA DAGA|B2")])
    assert found("A F A D A G A B", index) == [("one", "B", 0)]


def test_only_the_kind_asked_for():
    assert found("g f g d B G", kind="Jig")[0][0] == "three"
    assert found("g f g d B G", kind="reel") == []
    assert found("g f g d B G", kind="polka") == []


def test_octaves_matter_little_where_they_are_a_guess():
    text = "G F G D B, G, B, D"
    assert found(text)[0] == ("three", "A", 0)
    text = "G F G D B G B D"
    assert found(text, octaves=False)[0] == ("three", "A", 0.3)
    # Beside the octave of the right note is as near as beside the note.
    assert found("G F G E B G B D", octaves=False)[0] == ("three", "A", 1.25)


def test_steps_are_counted_from_the_root_of_each_tune():
    index = NoteIndex(
        [tune("on its fourth", "CDEF GFED", key="G"), tune("on its root", "DEFG AGFE")]
    )
    names = [name for name, *_ in found("C D E F G F E D", index)]
    assert names == ["on its fourth", "on its root"]
    rooted = [name for name, *_ in found("C D E F G F E D", index, from_root=True)]
    assert rooted == ["on its root", "on its fourth"]


def test_the_nearer_of_two_octaves_and_the_pickup_come_first():
    low, high = tune("low", "DEFG AGFE"), tune("high", "d'e'f'g' a'g'f'e'")
    index = NoteIndex([high, low])
    assert [name for name, *_ in found("E F G A B A G F", index)] == ["low", "high"]
    assert [name for name, *_ in found("c' d' e' f' g' f' e' d'", index)] == ["high", "low"]
    index = NoteIndex([tune("inside", "B|DEFG AGFE"), tune("whole", "DEFG AGFE")])
    assert [name for name, *_ in found("D E F G A G F E", index)] == ["whole", "inside"]


def test_the_same_letters_come_before_other_keys():
    index = NoteIndex([tune("in G", "GBdB GBdB", key="G"), tune("in D", "DFAF DFAF", key="D")])
    assert [name for name, *_ in found("D F A F D F", index)] == ["in D", "in G"]
    assert [name for name, *_ in found("G B d B G B", index)] == ["in G", "in D"]


def test_accidentals_decide_between_major_and_minor_where_they_are_meant():
    index = NoteIndex([tune("minor", "A2=cA eA=cA", key="A"), tune("major", "D2FD ADFD", key="D")])
    notes = typed("GBGdGBG", "G")
    assert {f.distance for f in index.find(notes)} == {0}
    assert [f.tune for f in index.find(notes, accidentals=True)] == ["major", "minor"]
    flat = typed("G_BGdG_BG", "G")
    assert [f.tune for f in index.find(flat, accidentals=True)] == ["minor", "major"]


def test_too_few_notes_find_nothing():
    assert found("A F A") == []
    assert LEAST_NOTES == 4
    assert found("A F A D") != []
    assert NoteIndex([]).find(typed("A F A D A F")) == ()


def test_no_more_than_the_limit():
    index = NoteIndex([tune(str(number), "A2FA DAFA") for number in range(30)])
    assert len(found("A F A D A F", index)) == 20
    assert len(found("A F A D A F", index, limit=5)) == 5


def test_more_than_twelve_notes_are_as_good_as_twelve():
    index = NoteIndex([tune("long", "ABcd efga|bagf edcB|A2")])
    assert found("A B c d e f g a b a g f A A A A", index) == [("long", "A", 0)]


def cost(off):
    """Of a typed note so many places off, octaves meant."""
    if off % 7 == 0:
        return 0.5 if off else 0
    return 0.95 if abs(off) <= 2 else 1.0 if abs(off) <= 4 else 1.2


def edit_distance(notes, line, anchor, place):
    """The distance from its definition, for one choice of the note counted from."""
    typed_at = [step - notes[anchor] for step in notes]
    kept = [step - line[place] for step in line]
    row = [0.8 * number for number in range(len(kept) + 1)]
    for step in typed_at:

        def extra(number, step=step):
            beside = kept[max(0, number - 1) : number + 1]
            return 0.9 if any(cost(other - step) <= 0.95 for other in beside) else 1.2

        following = [row[0] + extra(0)]
        for number, other in enumerate(kept):
            following.append(
                min(
                    row[number] + cost(other - step),
                    row[number + 1] + extra(number + 1),
                    following[number] + 0.8,
                )
            )
        row = following
    return min(row)


STEPS = st.lists(st.integers(28, 40), min_size=6, max_size=12)


def pitches(steps):
    return tuple(Pitch(step // 7, LETTERS[step % 7]) for step in steps)


@given(STEPS, STEPS)
def test_the_distance_is_the_edit_distance(notes, line):
    """Against the table of Levenshtein 1966, for starts long enough not to end first."""
    line = line + [20, 48] * 4
    index = NoteIndex([Tune("x", ("x",), starts=(Start("A", _notes(line)),))])
    wanted = min(
        edit_distance(notes, line[:14], anchor, place)
        for place, anchor in ((0, 0), (1, 1), (1, 0), (0, 1))
    )
    answer = index.find(pitches(notes))
    if wanted > allowed(len(notes)) + 1e-3:
        assert answer == ()
    elif wanted < allowed(len(notes)) - 1e-3:
        assert answer[0].distance == pytest.approx(wanted, abs=1e-9)


def _notes(steps):
    return tuple(Note(pitch, Fraction(1)) for pitch in pitches(steps))


@pytest.mark.parametrize("slips", [0, 1])
def test_the_first_look_over_many_starts_keeps_the_right_one(slips):
    """600 random starts: more than are measured, so the first look has to choose well."""
    rng = Random(5)
    lines = [[rng.randint(28, 40) for _ in range(14)] for _ in range(600)]
    index = NoteIndex(
        Tune(str(number), (), starts=(Start("A", _notes(line)),))
        for number, line in enumerate(lines)
    )
    for number in range(0, 600, 5):
        notes = lines[number][: 8 + slips]
        if slips:
            place = rng.randrange(8)
            turn = rng.choice(["wrong", "missing", "extra"])
            if turn == "wrong":
                notes[place] += rng.choice([-3, -1, 2, 4])
            elif turn == "missing":
                del notes[place]
            else:
                notes.insert(place, rng.randint(28, 40))
        shift = rng.randint(-3, 3)
        answer = index.find(pitches([step + shift for step in notes[:8]]))
        assert str(number) in [found.tune for found in answer]
        # What is put in anywhere is a dearer slip.
        assert answer[0].distance <= 1.2 * slips
