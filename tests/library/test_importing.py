from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tune, draft_of, edit_tune, remove_tune, set_status
from tunememory.library.exporting import to_abc, to_csv, write_file
from tunememory.library.importing import LARGEST_BYTES, ImportReport, import_file
from tunememory.music.tune import Status
from tunememory.recall.check import Level
from tunememory.session import Session, open_session

Kept = Callable[..., list[str]]

BOOK = """X:1
T:The Saltpan Reel
T:Estuary Reel
R:reel
M:C|
L:1/8
K:D
A2 FA DAFA|B2 AB d2 de|f2 ed BdAF|E2 EF E2 FE:|
|:f2 df afdf|g2 fg b2 ab|f2 ed BdAF|E2 EF D4:|

X:2
T:Hall Jig
R:jig
M:6/8
K:G
GBd gdB|cec BdB|ABA AGF|GAG G3:|
|:gfg dBd|ece dBG|ABA AGF|GAG G3:|
"""


def take(session: Session, path: Path, text: str | bytes) -> ImportReport:
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return import_file(session, path, lambda done, total: None)


def counts(report: ImportReport) -> tuple[int, int, int, int]:
    return report.taken, report.unchanged, report.changed, len(report.refused)


def test_a_second_import_adds_nothing(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    assert counts(take(session, path, BOOK)) == (2, 0, 0, 0)
    assert counts(take(session, path, BOOK)) == (0, 2, 0, 0)
    assert len(session.tunes) == 2
    reel = next(tune for tune in session.tunes.values() if tune.kind == "reel")
    assert reel.titles == ("The Saltpan Reel", "Estuary Reel")
    assert [start.part for start in reel.starts] == ["A", "B"]


def test_the_same_tunes_from_a_copy_of_the_book_add_nothing(
    session: Session, tmp_path: Path
) -> None:
    take(session, tmp_path / "book.abc", BOOK)
    assert counts(take(session, tmp_path / "copy.abc", BOOK.replace("\n", "\r\n"))) == (0, 2, 0, 0)


def test_a_changed_book_changes_only_what_changed(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    take(session, path, BOOK)
    reel = next(tune for tune in session.tunes.values() if tune.kind == "reel")
    set_status(session, reel.uuid, Status.LEARNING)
    draft = draft_of(session.tune(reel.uuid))
    own = {name: getattr(draft, name) for name in draft.__slots__}
    edit_tune(session, reel.uuid, type(draft)(**{**own, "source": "the box player"}))
    record_check_away(session, reel.uuid, {"A": Level.FIND}, session.now())
    report = take(
        session, path, BOOK.replace("R:reel", "R:hornpipe").replace("f2 df afdf", "a2 fa")
    )
    assert counts(report) == (0, 1, 1, 0)
    after = session.tune(reel.uuid)
    assert after.kind == "hornpipe"
    assert after.starts[0] == reel.starts[0]
    assert after.starts[1] != reel.starts[1]
    assert after.status is Status.LEARNING
    assert after.source == "the box player"
    assert session.repertoire.checks.count() == 1


def test_a_removed_tune_does_not_come_back(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    take(session, path, BOOK)
    remove_tune(session, next(iter(session.tunes)))
    assert counts(take(session, path, BOOK)) == (0, 2, 0, 0)
    assert len(session.tunes) == 1


def test_abc_out_and_in_again_is_the_same_repertoire(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    kept(12, source="from [the] box player", note="two\nlines")
    take(session, tmp_path / "book.abc", BOOK)
    text = to_abc(session)
    with open_session(tmp_path / "other.tunes", clock) as other:
        assert take(other, tmp_path / "out.abc", text).taken == 14
        assert other.tunes == session.tunes
        assert to_abc(other) == text
    assert counts(take(session, tmp_path / "out.abc", text)) == (0, 14, 0, 0)


def test_our_own_book_edited_elsewhere_changes_the_tune(
    session: Session, kept: Kept, tmp_path: Path
) -> None:
    kept(3)
    text = to_abc(session).replace("Saltpan 01", "Saltpan One")
    assert counts(take(session, tmp_path / "out.abc", text)) == (0, 2, 1, 0)
    assert "Saltpan One" in {tune.title for tune in session.tunes.values()}


def test_csv_has_a_row_a_tune_and_no_formulas(session: Session, kept: Kept) -> None:
    kept(2, titles=("=HYPERLINK(1)",))
    lines = to_csv(session).splitlines()
    assert len(lines) == 3
    assert lines[1].startswith("'=HYPERLINK")


def test_a_second_tune_of_one_name_is_kept_and_said(session: Session, tmp_path: Path) -> None:
    take(session, tmp_path / "one.abc", BOOK)
    report = take(
        session, tmp_path / "two.abc", "X:9\nT:Hall Jig, The\nM:6/8\nK:D\nd2f a2f|d2f a2f|\n"
    )
    assert report.taken == 1
    assert (
        "Hall Jig, The",
        "you have a tune of this name already; both are kept",
    ) in report.doubtful


def test_a_tune_that_is_kept_under_one_of_its_other_names_is_said_too(
    session: Session, tmp_path: Path
) -> None:
    take(session, tmp_path / "one.abc", BOOK)
    text = "X:9\nT:Low Water\nT:Hall Jig, The\nM:6/8\nK:D\nd2f a2f|d2f a2f|\n"
    why = "you have a tune of the name Hall Jig, The already; both are kept"
    assert ("Low Water", why) in take(session, tmp_path / "two.abc", text).doubtful


def test_breaking_off_keeps_nothing(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    path.write_text(BOOK)

    def stop(done: int, total: int) -> None:
        assert total == 2
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        import_file(session, path, stop)
    session.reload()
    assert session.tunes == {}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\x00\x01\x02" * 300, ""),
        (bytes(range(256)) * 8, ""),
        (b"just a letter to the band\n\nabout Thursday\n", "no tune in it"),
    ],
)
def test_what_is_no_tune_book_is_refused_with_a_reason(
    session: Session, tmp_path: Path, data: bytes, says: str
) -> None:
    report = take(session, tmp_path / "book.abc", data)
    assert report.taken == 0
    assert len(report.refused) >= 1
    for refused in report.refused:
        assert says in refused.why
        assert "\n" not in refused.why
        assert refused.file.endswith("book.abc")


def test_a_latin_1_book_is_decoded_and_said(session: Session, tmp_path: Path) -> None:
    report = take(session, tmp_path / "book.abc", BOOK.replace("Hall", "Hållö").encode("latin-1"))
    assert report.taken == 2
    assert "Hållö Jig" in {tune.title for tune in session.tunes.values()}
    assert any("book.abc" in title for title, _ in report.doubtful)


def test_errors_in_the_middle_let_the_rest_come(session: Session, tmp_path: Path) -> None:
    broken = (
        BOOK.replace("B2 AB d2 de|", "B2 §§ [CEG d2 (7::: de|")
        + "\nX:3\nK:\n\nX:4\nT:Last\nK:D\nDFA d3|"
    )
    report = take(session, tmp_path / "book.abc", broken)
    assert {"The Saltpan Reel", "Hall Jig", "Last"} <= {t.title for t in session.tunes.values()}
    assert any("line" in why for _, why in report.doubtful)


def test_hostile_titles_are_kept_as_plain_text(session: Session, tmp_path: Path) -> None:
    title = "The [Humours] [/] \x1b[31mred\x07 \u202etxet" + "x" * 10_000
    report = take(session, tmp_path / "book.abc", f"X:1\nT:{title}\nK:D\nDFA d3|\n")
    assert report.taken == 1
    (tune,) = session.tunes.values()
    assert tune.title.startswith("The [Humours] [/]")
    assert len(tune.title) <= 300
    assert "\x1b" not in tune.title


def test_folders_missing_and_huge_files_say_so(session: Session, tmp_path: Path) -> None:
    def nothing(done: int, total: int) -> None:
        raise AssertionError

    with pytest.raises(NotDoneError, match="is a folder"):
        import_file(session, tmp_path, nothing)
    with pytest.raises(NotDoneError, match="no such file"):
        import_file(session, tmp_path / "none.abc", nothing)
    huge = tmp_path / "huge.abc"
    with huge.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    with pytest.raises(NotDoneError, match="larger than 64 MB"):
        import_file(session, huge, nothing)


def test_an_export_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "out.abc"
    write_file(path, "one")
    with pytest.raises(NotDoneError):
        write_file(path / "below", "two")
    assert path.read_text() == "one"
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.abc"]


def test_a_book_with_one_number_twice_can_be_taken_again(session: Session, tmp_path: Path) -> None:
    twice = BOOK + BOOK.replace("X:2", "X:1").replace("T:Hall Jig", "T:The Saltpan Reel")
    first = take(session, tmp_path / "book.abc", twice)
    assert first.taken + first.unchanged == 4
    assert counts(take(session, tmp_path / "book.abc", twice)) == (0, 4, 0, 0)


def test_the_same_tune_under_another_name_is_pointed_out(session: Session, tmp_path: Path) -> None:
    take(session, tmp_path / "one.abc", BOOK)
    other = BOOK.split("\n\n", maxsplit=1)[0].replace("The Saltpan Reel", "Mud and Feathers")
    up = other.replace("T:Estuary Reel\n", "")
    report = take(session, tmp_path / "two.abc", up)
    assert (
        "Mud and Feathers",
        "you have this as The Saltpan Reel, it seems; both are kept",
    ) in report.doubtful


@pytest.mark.parametrize(
    "music",
    [
        # In another key, in sixteenths, with a pickup.
        "M:C|\nL:1/8\nK:G\nd2B2 dGdB|e2c2 ecBA|",
        "M:2/4\nL:1/16\nK:D\nA2F2 ADAF|B2G2 BGFE|",
        "M:C|\nL:1/8\nK:D\nFG|A2F2 ADAF|B2G2 BGFE|",
    ],
)
def test_one_tune_is_known_again_in_other_notes(
    session: Session, tmp_path: Path, music: str
) -> None:
    add_tune(session, Draft(("One",), "reel", "D", "C|", starts=(("A", "A2F2 ADAF|B2G2 BGFE"),)))
    report = take(session, tmp_path / "two.abc", f"X:1\nT:Two\n{music}\n")
    assert ("Two", "you have this as One, it seems; both are kept") in report.doubtful


def test_a_whole_collection_comes_in_as_wanted(session: Session, tmp_path: Path) -> None:
    many = "".join(f"X:{n}\nT:Tune {n}\nM:6/8\nK:D\ndfa a{'fg'[n % 2]}d|\n\n" for n in range(61))
    path = tmp_path / "many.abc"
    report = take(session, path, many)
    assert (report.taken, report.wanted) == (61, 61)
    assert {tune.status for tune in session.tunes.values()} == {Status.WANTED}
    path = tmp_path / "kept.abc"
    path.write_text(many.replace("T:Tune", "T:Other").replace("dfa", "gab"))
    report = import_file(session, path, lambda done, total: None, Status.KEPT)
    assert (report.taken, report.wanted) == (61, 0)


SCORE = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="3.1"><work><work-title>Estuary Waltz</work-title></work>
<part-list><score-part id="P1"><part-name>Fiddle</part-name></score-part></part-list>
<part id="P1">{bars}</part></score-partwise>"""


def test_a_musicxml_score_is_taken_like_a_book(session: Session, tmp_path: Path) -> None:
    note = "<note><pitch><step>{}</step><octave>4</octave></pitch><duration>1</duration></note>"
    begin = (
        "<attributes><divisions>1</divisions><key><fifths>1</fifths><mode>major</mode></key>"
        "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    )
    bars = "".join(
        f'<measure number="{number}">{begin if number == 1 else ""}'
        + "".join(note.format(step) for step in steps)
        + "</measure>"
        for number, steps in enumerate(["GBD", "GAB", "CBA", "GGG"] * 2, start=1)
    )
    report = take(session, tmp_path / "waltz.musicxml", SCORE.format(bars=bars))
    assert counts(report) == (1, 0, 0, 0), report
    (tune,) = session.tunes.values()
    assert tune.key is not None
    assert (tune.title, tune.key.name, tune.metre) == ("Estuary Waltz", "G major", "3/4")
    assert [note.pitch.letter for note in tune.starts[0].notes[:3]] == ["G", "B", "D"]
    assert take(session, tmp_path / "broken.musicxml", "<score").refused[0].why
