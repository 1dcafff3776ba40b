import pytest

from tests.store.making import a_check, fill
from tunememory.store.errors import Damaged
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify


@pytest.fixture
def kept(kept: Repertoire) -> Repertoire:
    kept.checks.record(a_check(1), b"belief")
    kept.connection.execute("PRAGMA foreign_keys = OFF")
    kept.connection.execute("PRAGMA ignore_check_constraints = ON")
    return kept


def test_a_sound_file_has_no_problems(kept: Repertoire) -> None:
    assert verify(kept) == []


@pytest.mark.parametrize(
    ("statement", "problem"),
    [
        (
            "UPDATE titles SET tune_id = 99 WHERE tune_id = 1",
            "of titles points at a missing row of tunes",
        ),
        ("UPDATE beliefs SET tune_id = 99", "1 beliefs of a tune that is not there"),
        ("DELETE FROM levels", "1 checks without a level"),
        ("UPDATE levels SET strand = 'A' WHERE place < 2", "1 checks that rate one strand twice"),
        ("UPDATE levels SET level = 9", "CHECK constraint failed in levels"),
        ("UPDATE starts SET notes = 'D4:1 noise'", "not a note: noise"),
        ("UPDATE checks SET day = '2026-19-99'", "is damaged"),
        ("UPDATE checks SET prompt = 'why'", "unknown value 'why'"),
        ("DROP INDEX checks_by_time", "table or index checks_by_time is missing"),
        ("CREATE TABLE mine (a)", "table or index mine does not belong here"),
        (
            "ALTER TABLE settings ADD COLUMN a TEXT",
            "table or index settings is not as it should be",
        ),
        ("DROP TABLE settings", "table or index settings is missing"),
    ],
)
def test_what_is_wrong_is_named_in_a_line(kept: Repertoire, statement: str, problem: str) -> None:
    kept.connection.execute(statement)
    kept.connection.execute("PRAGMA ignore_check_constraints = OFF")
    problems = verify(kept)
    assert any(problem in line for line in problems), problems
    assert all("\n" not in line for line in problems)


@pytest.mark.parametrize(
    ("table", "column", "of"),
    [
        ("tunes", "added", "tunes"),
        ("checks", "day", "checks"),
        ("practices", "day", "practices"),
        ("dates", "first_day", "dates"),
        ("days_off", "last_day", "days_off"),
        ("pick_ups", "day", "pick_ups"),
        ("heard_lines", "day", "heard"),
        ("sittings", "day", "sittings"),
    ],
)
def test_a_day_that_is_none_is_called_damage(
    repertoire: Repertoire, table: str, column: str, of: str
) -> None:
    fill(repertoire)
    repertoire.connection.execute(f"UPDATE {table} SET {column} = '2026-99-99'")
    assert any("is damaged" in line for line in verify(repertoire))
    with pytest.raises(Damaged):
        getattr(repertoire, of).all()


def test_a_damaged_page_is_found(kept: Repertoire) -> None:
    (root,) = kept.connection.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'checks'"
    ).fetchone()
    path = kept.path
    kept.close()
    content = bytearray(path.read_bytes())
    content[(root - 1) * 4096 : root * 4096] = b"\xaa" * 4096
    path.write_bytes(content)
    with Repertoire.open(path) as damaged:
        assert verify(damaged)
    assert path.read_bytes() == bytes(content)
