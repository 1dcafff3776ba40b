"""The sample repertoire against the printed collections its tunes come from.

The collections are O'Neill's Music of Ireland (Chicago 1903), Ryan's Mammoth Collection (Boston
1883) and Aird's Selection of Scotch, English, Irish and Foreign Airs (Glasgow 1782-1803), as
encoded in the corpora of music21, which also reads them here.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import re
import runpy
import tomllib
from collections import Counter, defaultdict
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from music21 import abcFormat, pitch
from music21.corpus import getCorePaths

from tunememory.demo import identity, read_tunes, sample_folder
from tunememory.music.key import Key
from tunememory.music.likeness import LikenessIndex
from tunememory.music.tune import Status, Tune

FOLDER = sample_folder()
BOOK = (FOLDER / "saltpan_hall.abc").read_text(encoding="utf-8")
YEAR: dict[str, Any] = tomllib.loads((FOLDER / "dates_and_sets.toml").read_text(encoding="utf-8"))
LAST = date(2026, 5, 20)
FIRST_NOTES = 8

SECTIONS = {9: {"B": 2}}
"""Where a printed first part has two endings, its second ending stands before the next part."""

ROLES = {
    "from the box player",
    "from the flute player",
    "from the banjo player",
    "from the caller's green notebook",
    "from the box player, who has no name for it either",
    "for the last dance at the barn dance",
    "heard at last year's festival",
    "the flute player promised it",
}


@pytest.fixture(scope="module")
def tunes() -> dict[int, Tune]:
    return read_tunes(BOOK, YEAR["came_in"], YEAR["began"], LAST)


def sources() -> dict[int, tuple[str, str]]:
    """What the S: line of each tune names: a printed collection, and whom it is from, if anyone."""
    found = {}
    for text in re.split(r"(?m)^(?=X:)", BOOK)[1:]:
        (line,) = re.findall(r"(?m)^S:(.*)$", text)
        printed, _, role = line.partition("; ")
        found[int(text[2 : text.index("\n")])] = printed, role
    return found


SOURCES = sources()
CITED = {number: printed for number, (printed, _) in SOURCES.items()}


class Collections:
    """The printed collections, tune by tune."""

    def __init__(self) -> None:
        self._files: dict[str, list[Path]] = defaultdict(list)
        for path in getCorePaths(fileExtensions=("abc",)):
            self._files[path.parent.name].append(Path(path))

    def texts(self, cited: str) -> list[str]:
        """Every encoding of a tune that stands under a citation."""
        if found := re.fullmatch(r"O'Neill 1903, no\. (\d+)", cited):
            return self._numbered("oneills1850", "", found[1])
        if found := re.fullmatch(r"Aird, book ([1-6]), no\. (\d+)", cited):
            return self._numbered("airdsAirs", f"book{found[1]}", found[2])
        if found := re.fullmatch(r'Ryan 1883, "(.+)"', cited):
            name = re.sub(r"[^a-z]", "", found[1].lower().removeprefix("the "))
            return [
                path.read_text(encoding="latin-1")
                for path in self._files["ryansMammoth"]
                if re.fullmatch(f"{name}(reel|jig)?", path.stem.lower())
            ]
        raise AssertionError(f"{cited} names no printed collection")

    def _numbered(self, folder: str, stem: str, number: str) -> list[str]:
        found = []
        for path in self._files[folder]:
            if path.stem.startswith(stem):
                text = path.read_text(encoding="latin-1").replace("\r", "")
                for tune in re.split(r"(?m)^(?=X:)", text)[1:]:
                    reference = re.match(r"X:\s*(\d+)", tune)
                    if reference and int(reference[1]) == int(number):
                        found.append(tune)
        return found


@pytest.fixture(scope="module")
def collections() -> Collections:
    return Collections()


def sections(text: str) -> list[list[int]]:
    """MIDI numbers of what stands between double bars and repeat signs, as music21 reads it."""
    with contextlib.redirect_stderr(io.StringIO()):
        tokens = abcFormat.ABCFile(abcVersion=(2, 1, 0)).readstr(text).tokens
    found: list[list[int]] = [[]]
    for token in tokens:
        if isinstance(token, abcFormat.ABCBar) and re.search(r":|\|\||\|\]", token.src):
            found.append([])
        elif isinstance(token, abcFormat.ABCNote) and not (token.isRest or token.inGrace):
            found[-1].append(pitch.Pitch(token.pitchName).midi)
    return [section for section in found if section]


def printed_key(text: str) -> str:
    """Root and mode of the K: field, as ``Key.short`` writes them."""
    field = re.search(r"(?m)^K:[ \t]*([A-G][#b]?)[ \t]*([A-Za-z]*)", text)
    assert field
    modes = {"": "", "maj": "", "m": "m", "min": "m", "dor": "dor", "mix": "mix"}
    return field[1] + modes[field[2].lower()[:3]]


@pytest.mark.parametrize("number", range(1, 37))
def test_root_mode_and_first_notes_are_those_of_the_print(
    number: int, tunes: dict[int, Tune], collections: Collections
) -> None:
    tune = tunes[number]
    texts = collections.texts(CITED[number])
    assert texts
    for text in texts:
        assert tune.key is None or tune.key.short == printed_key(text)
        printed = sections(text)
        for place, start in enumerate(tune.starts):
            ours = [note.pitch.midi for note in start.notes]
            theirs = printed[SECTIONS.get(number, {}).get(start.part, place)]
            assert len(ours) >= 7
            assert ours[:FIRST_NOTES] == theirs[: len(ours[:FIRST_NOTES])]


def test_a_wrong_note_or_key_would_be_seen(collections: Collections) -> None:
    (text,) = collections.texts("O'Neill 1903, no. 1425")
    assert printed_key(text) == "Em"
    # E2 (BE dEBE) in the print.
    assert sections(text)[0][:7] == [64, 71, 64, 74, 64, 71, 64]
    assert sections(text.replace("E2 (BE", "E2 (AE", 1))[0][1] == 69


def test_there_are_36_tunes_of_many_kinds_and_keys(tunes: dict[int, Tune]) -> None:
    assert list(tunes) == list(range(1, 37))
    assert [tune.uuid for tune in tunes.values()] == [identity("tune", n) for n in tunes]
    assert {tune.kind for tune in tunes.values()} == {
        "reel", "jig", "slip jig", "hornpipe", "polka", "march", "waltz"
    }  # fmt: skip
    keys = Counter(tune.key.short for tune in tunes.values() if tune.key)
    assert set(keys) == {
        "D", "G", "A", "C", "Em", "Am", "Bm", "Edor", "Ador", "Amix", "Dmix"
    }  # fmt: skip
    assert max(keys.values()) <= 9


def test_status_tunings_and_names(tunes: dict[int, Tune]) -> None:
    assert Counter(tune.status for tune in tunes.values()) == {
        Status.KEPT: 28,
        Status.LEARNING: 4,
        Status.WANTED: 2,
        Status.RESTING: 2,
    }
    cross = Counter(tune.tuning.letters for tune in tunes.values() if tune.tuning)
    assert cross == {"AEAE": 3, "ADAE": 2, "GDGD": 1}
    nameless = [tune for tune in tunes.values() if not tune.titles]
    assert [tune.status for tune in nameless] == [Status.LEARNING]
    only_named = [tune for tune in tunes.values() if not tune.starts]
    assert [(tune.status, tune.key) for tune in only_named] == [(Status.WANTED, None)]
    assert sum(len(tune.titles) > 1 for tune in tunes.values()) >= 8
    assert sum(tune.favourite for tune in tunes.values()) >= 3


def test_cross_tuned_tunes_have_their_root_on_an_open_string(tunes: dict[int, Tune]) -> None:
    # Common practice, no source: one retunes so that the root can be droned.
    for tune in tunes.values():
        if tune.tuning and tune.key:
            assert tune.key.root_class in {string % 12 for string in tune.tuning.strings}
            lowest = min(note.pitch.midi for start in tune.starts for note in start.notes)
            assert lowest >= min(tune.tuning.strings)


def from_root(tune: Tune, part: str) -> list[int]:
    """Semitones above the root of a start, from the root below its first note."""
    (notes,) = (start.notes for start in tune.starts if start.part == part)
    key = tune.key or Key("C")
    first = notes[0].pitch.midi
    base = first - (first - key.root_class) % 12
    return [note.pitch.midi - base for note in notes]


@pytest.mark.parametrize(("one", "other", "shared"), [(9, 12, 8), (10, 14, 12), (24, 25, 9)])
def test_twins_share_their_first_notes_from_the_root(
    one: int, other: int, shared: int, tunes: dict[int, Tune]
) -> None:
    first, second = from_root(tunes[one], "A"), from_root(tunes[other], "A")
    assert first[:shared] == second[:shared]
    assert first[shared] != second[shared]


def test_no_other_tune_begins_with_a_whole_bar_like_another(tunes: dict[int, Tune]) -> None:
    begins = defaultdict(set)
    for number, tune in tunes.items():
        if tune.starts:
            begins[tuple(from_root(tune, "A")[:8])].add(number)
    assert sorted(sorted(group) for group in begins.values() if len(group) > 1) == [
        [9, 12],
        [10, 14],
        [24, 25],
    ]


def test_the_three_pairs_and_no_others_are_twins(tunes: dict[int, Tune]) -> None:
    numbers = {tune.uuid: number for number, tune in tunes.items()}
    pairs = {
        tuple(sorted((numbers[found.tune], numbers[found.other])))
        for found in LikenessIndex(tunes.values()).all_pairs()
    }
    assert pairs == {(9, 12), (10, 14), (24, 25)}


HISTORY = (FOLDER / "history.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(io.StringIO(HISTORY)))


def test_the_script_makes_the_history_to_the_letter() -> None:
    script = runpy.run_path(str(FOLDER / "make_history.py"))
    assert script["history"](BOOK, YEAR["came_in"]) == HISTORY


@pytest.mark.slow
def test_what_was_learned_is_what_the_history_says() -> None:
    script = runpy.run_path(str(FOLDER / "make_learned.py"))
    found = script["learned"]()
    kept = json.loads((FOLDER / "learned.json").read_text(encoding="utf-8"))
    assert [made["active"] for made in found] == [made["active"] for made in kept]
    assert found[0]["evidence"] == pytest.approx(kept[0]["evidence"], abs=0.5)
    # The last digits of a fit are the processor's.
    assert found[1]["numbers"] == pytest.approx(kept[1]["numbers"], abs=2e-3, rel=2e-3)


def test_the_history_is_seven_months_with_a_summer_gap() -> None:
    days = sorted({int(row["days_before_end"]) for row in ROWS})
    assert days[0] == 0
    assert days[-1] == YEAR["began"] == 212
    gaps = [later - earlier for earlier, later in pairwise(days)]
    assert sorted(gaps)[-2] <= 8
    assert 33 <= max(gaps) <= 42
    assert 1200 <= len(ROWS) <= 1600


def test_rounds_are_short_and_in_order_of_time() -> None:
    rounds = defaultdict(list)
    for row in ROWS:
        if row["round"]:
            rounds[int(row["round"])].append(row)
    assert list(rounds) == list(range(1, len(rounds) + 1))
    when = [(-int(row["days_before_end"]), row["time"]) for row in ROWS]
    assert when == sorted(when)
    firsts = [found for found in rounds.values() if found[0]["round_kind"] == "first"]
    lasts = [found for found in rounds.values() if found[0]["round_kind"] == "last"]
    assert all(7 <= len(found) <= 9 for found in firsts)
    assert all(1 <= len(found) <= 4 for found in lasts)
    assert all(len({row["round_kind"] for row in found}) == 1 for found in rounds.values())

    def seconds(row: dict[str, str]) -> int:
        hours, minutes, rest = map(int, row["time"].split(":"))
        return 3600 * hours + 60 * minutes + rest

    lengths = sorted(seconds(found[-1]) - seconds(found[0]) for found in firsts)
    assert 150 <= lengths[len(lengths) // 2] <= 270


def test_levels_hints_and_seconds_agree() -> None:
    # Seconds behind the levels: at most 3 for level 4, up to 10 for level 3; a hint caps at 2.
    for row in ROWS:
        levels = dict(pair.split(":") for pair in row["levels"].split())
        if int(row["hints"]):
            assert set(levels.values()) <= {"1", "2"}
        if row["seconds"]:
            level = levels.get("A", levels.get("name", ""))
            least, most = {"4": (0, 3), "3": (3, 10), "2": (5, 30), "1": (10, 60)}[level]
            assert least <= float(row["seconds"]) <= most
        assert row["wrong_key"] == "0" or levels["key"] in "23"


def test_twins_are_strayed_into_and_names_are_the_weaker_for_some() -> None:
    twins = {9: 12, 12: 9, 10: 14, 14: 10, 24: 25, 25: 24}
    strayed = [(int(row["tune"]), int(row["strayed_into"])) for row in ROWS if row["strayed_into"]]
    assert len(strayed) >= 15
    assert all(twins[tune] == other for tune, other in strayed)
    came: dict[tuple[str, str], list[bool]] = defaultdict(list)
    for row in ROWS:
        for pair in row["levels"].split():
            strand, level = pair.split(":")
            if strand in {"A", "name"}:
                came[row["tune"], strand].append(int(level) >= 3)
    weaker = [
        tune
        for tune, strand in came
        if strand == "name"
        and sum(came[tune, "name"]) / len(came[tune, "name"]) + 0.1
        < sum(came[tune, "A"]) / len(came[tune, "A"])
    ]
    assert len(weaker) >= 4


def test_sets_and_dates_name_tunes_that_are_there(tunes: dict[int, Tune]) -> None:
    assert len(YEAR["sets"]) == 3
    names = {found["name"] for found in YEAR["sets"]}
    for found in (*YEAR["sets"], *YEAR["dates"]):
        assert set(found["tunes"]) <= set(tunes)
        assert set(found.get("sets", ())) <= names
    playable = {n for n, tune in tunes.items() if tune.status is Status.KEPT}
    assert all(set(found["tunes"]) <= playable for found in YEAR["sets"])
    rules = [found.get("rule") for found in YEAR["dates"]]
    assert rules == ["FREQ=WEEKLY;BYDAY=TH", "FREQ=MONTHLY;BYDAY=2SA", None]
    # Loaded today the history ends yesterday: the festival is in twelve days.
    assert YEAR["dates"][2]["days_after_end"] == 13


def test_only_roles_and_printed_books_are_named() -> None:
    for printed, role in SOURCES.values():
        assert re.match(r"(O'Neill 1903|Ryan 1883|Aird), ", printed)
        assert role in ROLES | {""}
    assert sum(bool(role) for _, role in SOURCES.values()) >= 6
    for path in FOLDER.iterdir():
        if path.is_file():
            words = path.read_text(encoding="utf-8").lower()
            assert not re.search(r"https?:|www\.|@[a-z]+\.", words), path.name
