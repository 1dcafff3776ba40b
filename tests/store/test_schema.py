import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.making import a_check, a_tune, fill
from tunememory.music.key import MODES
from tunememory.music.tune import Declared, Status
from tunememory.recall.check import RoundKind
from tunememory.store.records import At
from tunememory.store.repertoire import Repertoire
from tunememory.store.schema import APPLICATION_ID, STEPS

TABLES = {
    "tunes": "merged by uuid, the later edit wins",
    "titles": "go with their tune",
    "starts": "go with their tune",
    "imports": "merged by place in the book",
    "rounds": "merged by uuid",
    "put_off": "merged by tune and day",
    "checks": "merged by uuid",
    "levels": "go with their check",
    "beliefs": "not merged: worked out from the history",
    "beliefs_made": "not merged: speaks of our beliefs",
    "parameters": "merged by uuid, none taken into use",
    "settings": "merged by name, ours win",
    "sets": "merged by uuid, the later edit wins",
    "set_tunes": "go with their set",
    "dates": "merged by uuid, the later edit wins",
    "date_except_days": "go with their date",
    "date_tunes": "go with their date",
    "date_sets": "go with their date",
    "dates_answered": "merged by date and day",
    "days_off": "merged by uuid, the later edit wins",
    "practices": "merged by uuid",
    "pick_ups": "merged by day, the later edit wins",
    "heard_lines": "merged by uuid, the later edit wins",
    "sittings": "merged by day, the later edit wins",
    "twins": "not merged: tunes changed by the merge are compared again",
    "twins_made": "not merged: says how far our comparing went",
}
"""Every table, and what a merge does with it. A new table needs its line here and its test."""

RECORD_OF_MIGRATIONS = {"_sqlite_migrations"}


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Repertoire]:
    """A file with rows in every table, none of which a test may change."""
    with Repertoire.open(tmp_path_factory.mktemp("filled") / "full.tunes") as opened:
        fill(opened)
        yield opened


def test_the_file_has_these_tables_and_no_other(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1)])
    repertoire.checks.record(a_check(1), b"belief")
    found = {
        name
        for (name,) in repertoire.connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table'"
        )
    }
    assert found == TABLES.keys() | RECORD_OF_MIGRATIONS


def test_every_table_is_strict(repertoire: Repertoire) -> None:
    loose = [
        name
        for name, strict in repertoire.connection.execute(
            "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'"
        )
        if not strict and name != "sqlite_schema"
    ]
    assert set(loose) == RECORD_OF_MIGRATIONS


def test_every_pointer_is_declared(repertoire: Repertoire) -> None:
    """Whatever is called ``…_id`` and is not the table's own number points at a table."""
    for table in TABLES:
        columns = repertoire.connection.execute(f"PRAGMA table_info ({table})").fetchall()
        declared = {
            row[3] for row in repertoire.connection.execute(f"PRAGMA foreign_key_list ({table})")
        }
        own = {f"{table[:-1]}_id"}
        pointers = {column[1] for column in columns if column[1].endswith("_id")}
        assert pointers - own == declared - own, table


def test_the_header_says_whose_the_file_is_and_which_format(path: Path) -> None:
    with Repertoire.open(path):
        pass
    # Offsets of application id and user version: sqlite.org/fileformat2.html, section 1.3.
    header = path.read_bytes()[:100]
    assert header[68:72] == b"TUNE"
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID
    assert int.from_bytes(header[60:64], "big") == len(STEPS)


def test_steps_are_numbered_in_order_and_named_apart() -> None:
    for number, step in enumerate(STEPS, start=1):
        assert re.fullmatch(rf"{number:04}_[a-z_]+", step.name)
    assert len({step.name for step in STEPS}) == len(STEPS)


@pytest.mark.parametrize(
    ("table", "column", "values"),
    [
        ("tunes", "status", [status.value for status in Status]),
        ("tunes", "declared", [declared.value for declared in Declared]),
        ("tunes", "mode", list(MODES)),
        ("starts", "mode", list(MODES)),
        ("checks", "round_kind", [kind.value for kind in RoundKind]),
        ("rounds", "kind", [kind.value for kind in RoundKind]),
        ("sittings", "step", [step.value for step in At]),
    ],
)
def test_the_words_the_file_takes_are_those_the_program_has(
    repertoire: Repertoire, table: str, column: str, values: list[str]
) -> None:
    (sql,) = repertoire.connection.execute(
        "SELECT sql FROM sqlite_master WHERE name = ?", (table,)
    ).fetchone()
    allowed = re.search(rf"CHECK \({column} IN \(([^)]*)\)\)", sql)
    assert allowed is not None
    assert re.findall(r"'([^']*)'", allowed[1]) == values


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE tunes SET status = 'liked'",
        "UPDATE tunes SET declared = 'somewhat'",
        "UPDATE tunes SET root = 'H'",
        "UPDATE tunes SET mode = NULL",
        "UPDATE tunes SET favourite = 2",
        "UPDATE tunes SET added = 'yesterday'",
        "UPDATE tunes SET edited_at = '2026-03-14 12:00'",
        "UPDATE tunes SET kind = NULL",
        "UPDATE tunes SET favourite = 'yes'",
        "UPDATE titles SET title = ''",
        "UPDATE titles SET tune_id = 99 WHERE tune_id = 1",
        "UPDATE starts SET part = 'A'",
        "UPDATE starts SET tune_id = 99 WHERE tune_id = 1",
        "UPDATE checks SET tune_id = 99",
        "UPDATE checks SET round_id = 99",
        "UPDATE checks SET strayed_id = 99",
        "UPDATE checks SET at = '2026-03-14T12:00:00+01:00'",
        "UPDATE checks SET day = '14 March'",
        "UPDATE checks SET round_kind = 'second'",
        "UPDATE checks SET hints = -1",
        "UPDATE checks SET seconds = -0.5",
        "UPDATE checks SET wrong_key = 7",
        "UPDATE levels SET level = 0",
        "UPDATE levels SET level = 5",
        "UPDATE levels SET strand = ''",
        "UPDATE levels SET check_id = 99",
        "UPDATE beliefs SET tune_id = 99 WHERE tune_id = 1",
        "UPDATE beliefs SET belief = 'text'",
        "DELETE FROM tunes",
        "DELETE FROM checks",
        "INSERT INTO tunes SELECT * FROM tunes",
        "INSERT INTO put_off (tune_id, day) VALUES (99, '2026-03-14')",
        "INSERT INTO beliefs_made VALUES (2, 0)",
        "INSERT INTO settings VALUES ('', '1')",
        "UPDATE practices SET minutes = -1",
        "UPDATE practices SET head = 2",
        "UPDATE practices SET tune_id = NULL",
        "UPDATE practices SET date_id = 99",
        "UPDATE practices SET day = 'today'",
        "UPDATE set_tunes SET tune_id = 99",
        "UPDATE dates SET title = ''",
        "UPDATE dates SET first_day = '2nd Saturday'",
        "UPDATE dates SET weeks_before = 60",
        "UPDATE date_sets SET set_id = 99",
        "UPDATE date_tunes SET tune_id = 99",
        "UPDATE days_off SET last_day = '2020-01-01'",
        "UPDATE heard_lines SET tune_id = 99",
        "UPDATE pick_ups SET day = 'yesterday'",
        "UPDATE sittings SET step = 'tea'",
        "UPDATE sittings SET stopped = 2",
    ],
)
def test_the_file_itself_refuses_what_makes_no_sense(filled: Repertoire, statement: str) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        filled.connection.execute(statement)
