from __future__ import annotations

import pytest

from tunememory.music.abc.key import guess_key
from tunememory.music.abc.notes import parse_notes
from tunememory.music.key import Key


def parts(*texts: str, key: Key | None = None):
    return [parse_notes(text, key, "4/4").notes for text in texts]


@pytest.mark.parametrize(
    ("key", "text"),
    [
        (Key("C"), "c2e2 g2e2|f2d2 B2G2|c2e2 g2e2|f2d2 c4"),
        (Key("G"), "G2B2 d2B2|c2A2 F2D2|G2B2 d2B2|c2F2 G4"),
        (Key("D"), "d2f2 a2f2|g2e2 c2A2|d2f2 a2f2|g2c2 d4"),
        (Key("A", "minor"), "A2c2 e2c2|d2=f2 ^G2B2|A2c2 e2c2|d2=F2 A4"),
        (Key("A", "mixolydian"), "A2c2 e2c2|=g2e2 d2B2|A2c2 e2a2|=g2e2 A4"),
        (Key("E", "dorian"), "E2G2 B2e2|d2c2 B2A2|E2G2 B2e2|d2F2 E4"),
    ],
)
def test_plain_tunes(key, text):
    guess = guess_key(parts(text, text, key=key))
    assert guess is not None
    assert guess.key == key
    assert guess.sure


def test_no_notes_no_guess():
    assert guess_key([]) is None
    assert guess_key([(), ()]) is None


def test_all_twelve_notes_alike_are_no_key():
    guess = guess_key(parts("C^CD^DEF^FG^GA^AB"))
    assert guess is not None
    assert not guess.sure or guess.key.root == "B"


def test_an_undecided_tune_names_two_keys(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nK:none\nC2F2 G2c2|D2G2 A2d2|\n")
    assert tune.key is None
    assert "it may be" in tune.doubts[0]
    assert " or " in tune.doubts[0]


@pytest.mark.parametrize(
    ("key", "text"),
    [
        (Key("D"), "d2f2 a2f2|g2e2 c2A2|d2f2 a2f2|g2c2 d4"),
        (Key("B", "minor"), "B2d2 f2d2|c2A2 F2A2|B2d2 f2b2|c2F2 B4"),
        (Key("E", "dorian"), "E2G2 B2e2|d2c2 B2A2|E2G2 B2e2|d2F2 E4"),
        (Key("A", "mixolydian"), "A2c2 e2c2|g2e2 d2B2|A2c2 e2a2|g2e2 A4"),
    ],
)
def test_the_signature_leaves_four_keys(key, text):
    guess = guess_key(parts(text, text, key=Key("D")), 2)
    assert guess is not None
    assert guess.key == key


def test_pipes_and_bare_signatures_are_guessed_within_the_signature(read):
    music = "A2c2 e2c2|g2e2 d2B2|A2c2 e2a2|g2e2 A4|"
    for field in ("HP", "^f ^c"):
        assert read(f"X:1\nT:One\nM:4/4\nL:1/8\nK:{field}\n{music}\n").key == Key("A", "mixolydian")
