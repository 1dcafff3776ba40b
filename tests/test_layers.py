"""Who may import whom, and what a quick command may load."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "tunememory"

SMALL = {"charset", "clock", "errors", "paths", "text", "words", "__version__"}
"""Small modules used everywhere; they use one another at most."""

BELOW_ROOMS = SMALL | {"session", "settings", "store", "recall", "music", "paper"}
"""What every subject room may use."""

AMONG_ROOMS = {
    "history": set(),
    # a tune that was not met since the player came back is not called lost; joins of sets
    "library": {"history"},
    # dates name tunes and sets; what was played at one is recorded
    "dates": {"history", "library"},
    # a date takes its share of a round; what is asked is shown with starts and twins
    "rounds": {"history", "library", "dates"},
    # the sitting begins and ends with rounds; the work-list looks at dates
    "practice": {"history", "library", "dates", "rounds"},
    # a pupil's page shows tunes, a card the tunes of a date; a sheet says what was worked on
    "teaching": {"history", "library", "dates", "practice"},
    # a year is lived at the player's pace; what was said is held against the history
    "forecast": {"history"},
}
"""Which subject room may use which other, each for the reason above it; never in a circle."""

FRONT = BELOW_ROOMS | AMONG_ROOMS.keys()
"""What front ends may use."""

MAY_IMPORT = {
    "music": SMALL,
    "recall": SMALL | {"music"},
    "store": SMALL | {"music", "recall"},
    "settings": SMALL | {"music"},
    "paper": SMALL,
    "session": SMALL | {"settings", "store", "recall", "music"},
    "demo": FRONT - {"demo"},
    "ui": FRONT | {"demo"},
    "cli": FRONT | {"demo", "ui"},
    **{room: BELOW_ROOMS | others for room, others in AMONG_ROOMS.items()},
    **dict.fromkeys(SMALL, SMALL),
}
"""Rooms and loose modules of the package, and those each may use beside itself."""

ONLY_IN = {"music21": "music", "textual": "ui", "rich": "ui", "sqlite3": "store",
           "sqlite_utils": "store"}  # fmt: skip
"""Outside packages that one room keeps to itself."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(module: Path, *, typed: bool = True) -> list[tuple[str, bool]]:
    """Every imported name with whether it is imported when the module is.

    ``typed=False`` leaves out what only the type checker reads.
    """
    found: list[tuple[str, bool]] = []
    tree = ast.parse(module.read_text(encoding="utf-8"))
    top = {id(node) for node in tree.body}
    unread = {
        id(inner)
        for node in tree.body
        if not typed and isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in unread:
            continue
        if isinstance(node, ast.Import):
            found += [(name.name, id(node) in top) for name in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: relative import"
            found += [(f"{node.module}.{name.name}", id(node) in top) for name in node.names]
    return found


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_imports_keep_to_the_layers(module: Path) -> None:
    room = room_of(module)
    if room in {"__init__", "__main__"}:
        return
    for name, at_top in imported(module):
        parts = name.split(".")
        if parts[0] == "tunememory" and len(parts) > 1:
            assert parts[1] == room or parts[1] in MAY_IMPORT[room], f"{room} imports {name}"
        owner = ONLY_IN.get(parts[0])
        assert owner in {None, room}, f"{room} imports {name}, which belongs to {owner}"
        if parts[0] == "music21":
            assert module.parent.name == "scores", f"{module} imports music21"
            assert not at_top, f"{module.name} imports {name} before it is needed"


def test_no_import_goes_in_a_circle() -> None:
    """Neither among rooms nor among modules, imports inside a function included."""
    names = {
        ".".join(module.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(
            ".__init__"
        ): module
        for module in MODULES
    }
    arrows = {
        name: {
            found
            for target, _ in imported(module, typed=False)
            for found in (target, target.rpartition(".")[0])
            if found in names and found != name
        }
        for name, module in names.items()
    }
    packages = {name for name, module in names.items() if module.name == "__init__.py"}
    between = {name: targets - packages for name, targets in arrows.items()}
    TopologicalSorter(between).prepare()
    TopologicalSorter(AMONG_ROOMS).prepare()


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_the_system_clock_is_read_in_one_place(module: Path) -> None:
    if module.name in {"clock.py", "errors.py", "app.py"}:
        return  # an error report may be stamped with the hour
    source = module.read_text(encoding="utf-8")
    for read in ("datetime.now(", "date.today(", "time.time(", "utcnow("):
        assert read not in source, f"{module.name} reads the clock: {read}"


def loaded(arguments: list[str], folder: Path) -> set[str]:
    script = (
        "import sys\nfrom tunememory.cli import main\n"
        f"code = main({arguments!r})\n"
        "sys.stderr.write('LOADED ' + ' '.join(sorted(sys.modules)))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        cwd=PACKAGE.parent,
        env={**os.environ, "TUNEMEMORY_REPERTOIRE": str(folder / "own.tunes")},
    )
    return set(run.stderr.rpartition("LOADED ")[2].split())


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["show", "--help"]])
def test_help_loads_next_to_nothing(arguments: list[str], tmp_path: Path) -> None:
    modules = loaded(arguments, tmp_path)
    assert not modules & {"textual", "music21", "numpy", "sqlite3", "sqlite_utils", "platformdirs"}


def test_a_look_up_loads_neither_screen_nor_music_library(tmp_path: Path) -> None:
    loaded(["add", "The", "Saltpan", "--key", "D"], tmp_path)
    modules = loaded(["show", "salt"], tmp_path)
    assert not modules & {"textual", "music21", "sqlite_utils", "rich"}


def test_dates_load_nothing_for_calendar_files(tmp_path: Path) -> None:
    loaded(["dates", "add", "every thursday", "--title", "Kitchen session"], tmp_path)
    modules = loaded(["dates"], tmp_path)
    assert "tunememory.dates.words" in modules
    assert not modules & {"textual", "music21", "icalendar", "rich"}
