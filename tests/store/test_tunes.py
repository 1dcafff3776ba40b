from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import given, settings

from tests.store import making
from tests.store.making import a_check, a_tune, identity
from tunememory.music.key import Key
from tunememory.music.tune import Tune
from tunememory.store.errors import Damaged, RepertoireError, Unknown
from tunememory.store.repertoire import Repertoire
from tunememory.text import TITLE_LIMIT


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Repertoire]:
    """One file for many examples: each adds a tune of its own."""
    path: Path = tmp_path_factory.mktemp("shared") / "shared.tunes"
    with Repertoire.open(path) as repertoire:
        yield repertoire


@settings(max_examples=60)
@given(making.tunes)
def test_a_tune_comes_back_as_it_was(shared: Repertoire, tune: Tune) -> None:
    tune = replace(tune, uuid=str(uuid4()))
    shared.tunes.add([tune])
    assert shared.tunes.get(tune.uuid) == tune
    assert shared.tunes.all()[-1] == tune


@settings(max_examples=40)
@given(making.tunes, making.tunes)
def test_an_edit_leaves_nothing_of_what_was(shared: Repertoire, old: Tune, new: Tune) -> None:
    old = replace(old, uuid=str(uuid4()))
    new = replace(new, uuid=old.uuid)
    shared.tunes.add([old])
    shared.tunes.update(new)
    assert shared.tunes.get(old.uuid) == new


def test_tunes_come_in_the_order_they_were_added(repertoire: Repertoire) -> None:
    tunes = [a_tune(number) for number in (5, 3, 9)]
    repertoire.tunes.add(tunes[:2])
    repertoire.tunes.add(tunes[2:])
    assert repertoire.tunes.all() == tunes


def test_a_new_file_has_no_tunes(repertoire: Repertoire) -> None:
    assert repertoire.tunes.all() == []


def test_adding_is_all_or_nothing(repertoire: Repertoire) -> None:
    with pytest.raises(RepertoireError, match="does not take this value"):
        repertoire.tunes.add([a_tune(1), a_tune(2), a_tune(1)])
    assert repertoire.tunes.all() == []


@pytest.mark.parametrize(
    "bad",
    [
        a_tune(titles=("",)),
        a_tune(key=Key("H")),
        a_tune(key=Key("D", "hijaz")),
        a_tune(starts=(a_tune().starts[0], a_tune().starts[0])),
        a_tune(uuid=""),
        a_tune(titles=("half \ud83d a character",)),
    ],
    ids=["empty title", "unknown root", "unknown mode", "part twice", "no identity", "surrogate"],
)
def test_what_makes_no_sense_is_refused_in_one_line(repertoire: Repertoire, bad: Tune) -> None:
    with pytest.raises(RepertoireError) as refused:
        repertoire.tunes.add([bad])
    assert "\n" not in str(refused.value)
    assert "mine.tunes" in str(refused.value)
    assert repertoire.tunes.all() == []


def test_a_removed_tune_is_out_of_sight_and_its_history_stays(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.checks.record(a_check(1, tune=1), b"belief")
    repertoire.tunes.remove(identity(1))
    assert repertoire.tunes.all() == [a_tune(2)]
    assert repertoire.checks.all() == [a_check(1, tune=1)]
    assert repertoire.beliefs.all() == {}
    assert repertoire.checks.last_by_tune() == {}
    with pytest.raises(Unknown):
        repertoire.tunes.get(identity(1))
    with pytest.raises(Unknown):
        repertoire.tunes.remove(identity(1))
    with pytest.raises(Unknown):
        repertoire.tunes.update(a_tune(1))


def test_a_removed_tune_can_be_brought_back(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1)])
    repertoire.checks.record(a_check(1, tune=1), b"belief")
    repertoire.tunes.remove(identity(1))
    repertoire.tunes.bring_back(identity(1))
    assert repertoire.tunes.all() == [a_tune(1)]
    assert repertoire.beliefs.all() == {identity(1): b"belief"}
    with pytest.raises(Unknown):
        repertoire.tunes.bring_back(identity(1))


def test_an_unknown_tune_is_named(repertoire: Repertoire) -> None:
    with pytest.raises(Unknown, match="has no tune nothing"):
        repertoire.tunes.get("nothing")
    with pytest.raises(Unknown):
        repertoire.tunes.update(a_tune(1))


def test_hostile_text_in_the_file_is_cleaned_when_read(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1)])
    for column in ("kind", "metre", "source", "note"):
        repertoire.connection.execute(f"UPDATE tunes SET {column} = ?", ("\x1b[31mred\u202e",))
    repertoire.connection.execute("UPDATE titles SET title = ?", ("\x1b]0;title\x07x" * 100,))
    repertoire.connection.execute("UPDATE starts SET written = ?, doubt = ?", ("\x00a", "\x9bb"))
    tune = repertoire.tunes.get(identity(1))
    assert (tune.kind, tune.metre, tune.source, tune.note) == ("[31mred",) * 4
    assert "\x1b" not in tune.title
    assert len(tune.title) == TITLE_LIMIT
    assert tune.starts[0].written == "a"
    assert tune.starts[0].doubt == "b"


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("starts", "notes", "D4:1 X9:1"),
        ("starts", "pickup", "some"),
        ("tunes", "tuning", "low high"),
        ("tunes", "key_changes", "Q9"),
        ("tunes", "added", "2026-99-99"),
    ],
)
def test_a_value_that_cannot_be_read_is_called_damage(
    repertoire: Repertoire, table: str, column: str, value: str
) -> None:
    repertoire.tunes.add([a_tune(1)])
    repertoire.connection.execute(f"UPDATE {table} SET {column} = ?", (value,))
    with pytest.raises(Damaged, match=r"mine\.tunes is damaged"):
        repertoire.tunes.all()
    with repertoire.writing(), pytest.raises(Damaged):
        repertoire.tunes.get(identity(1))
