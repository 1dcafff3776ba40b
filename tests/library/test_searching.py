"""Finding by notes, in whatever way they are typed."""

import pytest

from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, add_tune
from tunememory.library.searching import tunes_beginning

ON_ITS_FOURTH = Draft(("Fourth",), "reel", "G", "C|", starts=(("A", "CDEF GFED"),))
ON_ITS_ROOT = Draft(("Root",), "reel", "D", "C|", starts=(("A", "DEFG AGFE"),))
HIGH = Draft(("High",), "reel", "D", "C|", starts=(("A", "d'f'a'f' d'f'a'f'"),))
LEAPING = Draft(("Leaping",), "jig", "G", "6/8", starts=(("A", "G2g gfg dBG"),))


def found(session, notes, **wanted):
    return [session.tune(start.tune).title for start in tunes_beginning(session, notes, **wanted)]


def test_letters_mean_themselves_steps_mean_the_root(session) -> None:
    for draft in (ON_ITS_FOURTH, ON_ITS_ROOT):
        add_tune(session, draft)
    assert found(session, "C D E F G F E D") == ["Fourth", "Root"]
    assert found(session, "1 2 3 4 5 4 3 2") == ["Root", "Fourth"]


def test_letters_of_one_octave_do_not_say_where_they_lie(session) -> None:
    for draft in (LEAPING, HIGH):
        add_tune(session, draft)
    # In their octaves, and all as small letters.
    assert found(session, "G g g f g d B G") == ["Leaping"]
    assert found(session, "letters: g g g f g d b g") == ["Leaping"]
    assert found(session, "fingers: D0 D2 A0 D2 D0 D2 A0 D2") == ["High"]


def test_the_kind_is_a_filter(session) -> None:
    for draft in (ON_ITS_ROOT, LEAPING):
        add_tune(session, draft)
    assert found(session, "DEFG AGFE", kind="Reel") == ["Root"]
    assert found(session, "DEFG AGFE", kind="jig") == []


def test_too_few_notes_say_so(session) -> None:
    with pytest.raises(NotDoneError, match="at least 4 notes"):
        tunes_beginning(session, "D E F")
