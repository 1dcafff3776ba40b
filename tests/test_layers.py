"""Who may import whom, and what a quick command may load."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "tunememory"

MAY_IMPORT = {
    "tunes": set(),
    "notation": {"tunes"},
    "memory": {"tunes"},
    "planning": {"tunes", "memory"},
    "store": {"tunes", "clock"},
    "sound": {"tunes"},
    "ways": {"tunes"},
    "cards": {"tunes"},
    "service": {
        "tunes",
        "notation",
        "memory",
        "planning",
        "ways",
        "cards",
        "store",
        "sound",
        "clock",
        "places",
        "__version__",
    },
    "ui": {"tunes", "ways", "planning", "store", "service", "sound", "clock", "places"},
    "cli": {"tunes", "planning", "store", "service", "clock", "places", "ui", "__version__"},
    "clock": set(),
    "places": set(),
}
"""Rooms and loose modules of the package, and those each may use beside itself."""

ONLY_IN = {"music21": "notation", "textual": "ui", "rich": "ui", "sqlite3": "store",
           "sqlite_utils": "store"}  # fmt: skip
"""Outside packages that one room keeps to itself."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(module: Path) -> list[tuple[str, bool]]:
    """Every imported name with whether it is imported when the module is."""
    found: list[tuple[str, bool]] = []
    tree = ast.parse(module.read_text(encoding="utf-8"))
    top = {id(node) for node in tree.body}
    for node in ast.walk(tree):
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
            assert not at_top, f"{module.name} imports {name} before it is needed"


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
