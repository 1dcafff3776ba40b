from __future__ import annotations

import string
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.adding import (
    Draft,
    add_names,
    add_tune,
    draft_of,
    edit_tune,
    had_as,
    preview_start,
    remove_tune,
    same_title,
    set_status,
    tune_of,
)
from tunememory.library.overview import tune_rows, tune_view
from tunememory.library.searching import tunes_named
from tunememory.music.key import Key
from tunememory.music.tune import Declared, Status
from tunememory.practice.today import today_view
from tunememory.recall.check import Level, RoundKind, strands_of
from tunememory.rounds.planning import plan_round
from tunememory.session import Session, differing
from tunememory.settings import Settings, checked, from_stored, to_stored

Kept = Callable[..., list[str]]


def test_a_name_is_enough(session: Session) -> None:
    tune = add_tune(session, Draft(titles=("Saltpan Reel",)))
    assert session.tune(tune.uuid) == tune
    assert tune_view(session, tune.uuid).strands[0].strand == "A"


def test_a_tune_may_have_no_name_yet(session: Session) -> None:
    tune = add_tune(session, Draft(starts=(("A", "D2 FA"),)))
    assert tune.title == "no name yet"
    assert plan_round(session, RoundKind.FIRST).asked == ()


def test_nothing_at_all_is_not_a_tune(session: Session) -> None:
    with pytest.raises(NotDoneError, match="needs a name"):
        add_tune(session, Draft(titles=("  ", "\x1b")))
    assert session.tunes == {}


@pytest.mark.parametrize(
    ("draft", "says"),
    [
        (Draft(titles=("x",), key="H"), "“H” is not a key"),
        (Draft(titles=("x",), tuning="what"), "what"),
        (Draft(titles=("x",), key="D", starts=(("A", "D2 Q9"),)), "A start"),
        (Draft(titles=("x",), starts=(("A", "D2"), ("a", "E2"))), "part A is given twice"),
        (Draft(titles=("x",), starts=(("7", "D2"),)), "“7” is not a part"),
    ],
)
def test_what_cannot_be_read_says_so_in_one_line_and_keeps_nothing(
    session: Session, draft: Draft, says: str
) -> None:
    with pytest.raises(NotDoneError) as raised:
        add_tune(session, draft)
    assert says in str(raised.value)
    assert "\n" not in str(raised.value)
    assert session.tunes == {}


def test_an_edit_keeps_history_and_what_was_not_touched(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    record_check_away(session, uuid, {"A": Level.KICK_OFF, "B": Level.SIT_OUT}, session.now())
    before = session.tune(uuid)
    draft = draft_of(session.tune(uuid))
    assert edit_tune(session, uuid, draft) == before
    third = Draft(
        **{name: getattr(draft, name) for name in draft.__slots__ if name != "starts"},
        starts=(*draft.starts, ("C", "d2 fa")),
    )
    after = edit_tune(session, uuid, third)
    assert after.starts[:2] == before.starts
    strands = strands_of(session.tune(uuid))
    assert "C" in strands
    assert tuple(seen.strand for seen in tune_view(session, uuid).strands) == strands
    assert session.repertoire.checks.count() == 1
    assert differing(session) == 0


def test_a_removed_tune_is_gone_but_its_history_stays(session: Session, kept: Kept) -> None:
    uuid, other = kept(2)
    record_check_away(session, uuid, {"A": Level.FIND}, session.now())
    remove_tune(session, uuid)
    assert [row.tune.uuid for row in tune_rows(session)] == [other]
    with pytest.raises(NotDoneError, match="no longer"):
        tune_view(session, uuid)
    assert session.repertoire.checks.count() == 1


def test_status_can_be_said(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    set_status(session, uuid, Status.RESTING)
    assert session.tune(uuid).status is Status.RESTING
    assert today_view(session).tunes == ()


def test_same_title_forgives_articles_case_and_accents(session: Session) -> None:
    tune = add_tune(session, Draft(titles=("An Seanduine Dóite", "The Burnt Old Man")))
    assert same_title(session, "burnt old man, the") == (tune,)
    assert same_title(session, "an seanduine doite") == (tune,)
    assert same_title(session, "the") == ()


TEXT = st.text(alphabet=string.printable + "éøß[]\x1b\u202e“”", max_size=30)


@settings(max_examples=60)
@given(
    st.lists(TEXT, max_size=3),
    TEXT,
    st.sampled_from(["", "D", "Em", "Amix", "F# dorian", "D exp _b _e ^f"]),
    st.sampled_from(["", "6/8", "C|", "9/8"]),
    st.sampled_from(["", "AEAE", "cross G", "DDAD"]),
    st.sampled_from(Status),
    st.sampled_from(Declared),
    st.lists(st.sampled_from(["D2 FA", "A3 B | c2", "", "f>e d2"]), max_size=3),
)
def test_a_draft_read_back_is_the_same_tune(
    titles: list[str],
    text: str,
    key: str,
    metre: str,
    tuning: str,
    status: Status,
    declared: Declared,
    starts: list[str],
) -> None:
    draft = Draft(
        titles=("always a name", *titles),
        kind=text,
        key=key,
        metre=metre,
        tuning=tuning,
        status=status,
        declared=declared,
        source=text,
        note=text,
        starts=tuple(zip("ABC", starts, strict=False)),
    )
    made = tune_of(draft, uuid="u", added=date(2026, 1, 1), settings=Settings(), old=None)
    again = tune_of(draft_of(made), uuid="u", added=made.added, settings=Settings(), old=None)
    assert again == made


def test_settings_survive_the_file(session: Session) -> None:
    changed = Settings(minutes_first=7, usual_tuning="AEAE", theme="paper", intake=5)
    changed = replace(changed, standing_tuning="GDAE").played_on("five-string banjo")
    assert (changed.usual_tuning, changed.standing_tuning) == ("gDGBD", "")
    session.save_settings(changed)
    session.reload()
    assert session.settings == changed


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"minutes_first": 0}, "minutes first can be from 1 to 60"),
        ({"theme": "pink"}, "theme can be lamp-light, paper"),
        ({"usual_tuning": "zzz"}, "usual tuning"),
        ({"intake": 11}, "intake"),
    ],
)
def test_settings_out_of_range_are_refused(wrong: dict[str, object], says: str) -> None:
    with pytest.raises(NotDoneError, match=says):
        checked(Settings(**wrong))  # type: ignore[arg-type]


@given(st.dictionaries(st.sampled_from(sorted(to_stored(Settings()))), st.sampled_from(
    ['"x"', "null", "[]", "[1]", '[["fiddle", "GDAE"]]', '[["fiddle", "GDAE", "z"]]',
     '[["kazoo", "GDAE", ""]]', "12", "-1", "1e999", "true", '"AEAE"', "{}"])))  # fmt: skip
def test_settings_of_a_spoilt_file_fall_back_to_sound_ones(stored: dict[str, str]) -> None:
    assert checked(from_stored(stored)) is not None


def test_each_instrument_keeps_what_it_stands_in(session: Session) -> None:
    session.save_settings(replace(session.settings, standing_tuning="AEAE"))
    session.save_settings(session.settings.played_on("mandolin"))
    assert session.settings.standing.letters == "GDAE"
    session.save_settings(replace(session.settings, standing_tuning="GDGD"))
    session.reload()
    session.save_settings(session.settings.played_on("fiddle"))
    assert session.settings.standing.letters == "AEAE"
    assert session.settings.played_on("mandolin").standing.letters == "GDGD"


def test_a_start_is_shown_for_the_instrument(session: Session) -> None:
    uuid = add_tune(session, Draft(("Low",), key="D", metre="C|", starts=(("A", "A,D FA d"),))).uuid
    (start,) = tune_view(session, uuid).starts
    assert start.fingers == ("G1", "D0", "D2", "A0", "A3")
    assert start.beyond == ""
    session.save_settings(session.settings.played_on("mandolin"))
    (start,) = tune_view(session, uuid).starts
    assert start.fingers == ("G2", "D0", "D4", "A0", "A5")
    session.save_settings(session.settings.played_on("flute"))
    (start,) = tune_view(session, uuid).starts
    assert start.fingers == ()
    assert start.beyond == ("Too low for the flute: note 1 (A,). Play it an octave up.")
    assert tune_view(session, uuid).drones == ""
    shown = preview_start(session, "A,D FA d", Draft(key="D", metre="C|"))
    assert shown.beyond == start.beyond


TWO_KEYS = Draft(
    ("Two Keys",), "reel", "D", "C|", starts=(("A", "d2 f"), ("B", "[K:G]d2 f"), ("C", "[K:D]f"))
)


def test_a_part_can_have_a_key_of_its_own(session: Session) -> None:
    """An inline field, ABC 2.1 section 3.2."""
    tune = add_tune(session, TWO_KEYS)
    first, second, third = tune.starts
    assert [start.key for start in tune.starts] == [None, Key("G"), None]
    assert [note.pitch.alter for note in first.notes] == [0, 1]
    assert [note.pitch.alter for note in second.notes] == [0, 1]
    in_c = preview_start(session, "[K:C]d2 f", Draft(key="D", metre="C|"))
    assert [note.pitch.alter for note in in_c.start.notes] == [0, 0]
    assert in_c.steps == ("2'", "4'")
    assert third.key is None
    with pytest.raises(NotDoneError, match="is not a key"):
        preview_start(session, "[K:Q]d2", Draft(key="D", metre="C|"))
    with pytest.raises(NotDoneError, match=r"A start: .*“h”"):
        preview_start(session, "[K:C] letters: d h", Draft(key="D", metre="C|"))


def test_a_part_keeps_its_key_through_an_edit_until_it_is_taken_out(session: Session) -> None:
    plain = replace(TWO_KEYS, starts=(("A", "d2 f"), ("B", "[K:C]d2 f")))
    tune = add_tune(session, plain)
    # As a tune book gives it: the key beside the text, not in it.
    book = replace(tune.starts[1], written="d2 f")
    draft = draft_of(session.tune(tune.uuid))
    assert draft_of(replace(tune, starts=(tune.starts[0], book))).starts[1] == ("B", "[K:C]d2 f")
    metre = edit_tune(session, tune.uuid, replace(draft, metre="2/4"))
    assert metre.starts[1].key == Key("C")
    assert [note.pitch.alter for note in metre.starts[1].notes] == [0, 0]
    without = edit_tune(session, tune.uuid, replace(draft, starts=(("A", "d2 f"), ("B", "d2 f"))))
    assert without.starts[1].key is None
    assert [note.pitch.alter for note in without.starts[1].notes] == [0, 1]


def test_a_tune_under_another_name_is_known_again(session: Session) -> None:
    one = add_tune(
        session, Draft(("One",), "reel", "D", "C|", starts=(("A", "A2F2 ADAF|B2G2 BGFE"),))
    )
    two = Draft(("Two", "Three"), "reel", "G", "C|", starts=(("A", "d2B2 dGdB|e2c2 ecBA"),))
    assert had_as(session, two) == one
    assert had_as(session, replace(two, starts=(("A", "d2B2 dGdB|e2c2 BGAB"),))) is None
    assert had_as(session, replace(two, starts=(("A", "d2B2 d"),))) is None
    assert had_as(session, replace(two, starts=())) is None
    assert had_as(session, replace(two, key="Q")) is None
    named = add_names(session, one.uuid, ("Two", "One", " "))
    assert named.titles == ("One", "Two")
    assert session.tune(one.uuid) == named
    assert [row.tune.title for row in tunes_named(session, "two")] == ["One"]


def test_twins_follow_every_change(session: Session) -> None:
    """Against the measure itself: what is added, edited and removed counts at once."""
    first = add_tune(
        session, Draft(("One",), "reel", "D", "C|", starts=(("A", "A2F2 ADAF|B2G2 BGFE"),))
    )
    draft = Draft(("Two",), "reel", "A", "C|", starts=(("A", "e2c2 eAec|f2d2 fdAB"),))
    second = add_tune(session, draft)
    (twin,) = tune_view(session, first.uuid).twins
    assert (twin.tune, twin.parts_at) == (second.uuid, 11)
    edit_tune(session, second.uuid, replace(draft, starts=(("A", "a2f2 edcB|A4 A4"),)))
    assert tune_view(session, first.uuid).twins == ()
    edit_tune(session, second.uuid, draft)
    assert len(tune_view(session, first.uuid).twins) == 1
    edit_tune(session, second.uuid, replace(draft, key="D"))
    assert tune_view(session, first.uuid).twins == ()
    edit_tune(session, second.uuid, draft)
    remove_tune(session, second.uuid)
    assert tune_view(session, first.uuid).twins == ()


def test_what_leaves_the_music_compares_nothing(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = add_tune(
        session, Draft(("One",), "reel", "D", "C|", starts=(("A", "A2F2 ADAF|B2G2 BGFE"),))
    )
    draft = Draft(("Two",), "reel", "A", "C|", starts=(("A", "e2c2 eAec|f2d2 fdAB"),))
    second = add_tune(session, draft)

    def compare_nothing(_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("tunememory.library.twins.index", compare_nothing)
    set_status(session, second.uuid, Status.RESTING)
    edit_tune(session, second.uuid, replace(draft, titles=("Three",), note="slowly"))
    (twin,) = tune_view(session, first.uuid).twins
    assert (twin.tune, twin.title, twin.parts_at) == (second.uuid, "Three", 11)
    with pytest.raises(AssertionError):
        edit_tune(session, second.uuid, replace(draft, metre="2/4"))
