"""Rules of this room: how strings are handed to Textual, what is imported when, what keys say."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from textual.binding import Binding

import tunememory.ui
from tunememory.clock import system_clock
from tunememory.session import open_session
from tunememory.ui.actions import AREAS, screen_class
from tunememory.ui.screen import SessionScreen

ROOM = Path(tunememory.ui.__file__).parent
MODULES = sorted(ROOM.rglob("*.py"))

MOVES = {"up", "down", "pageup", "pagedown", "home", "end", "enter", "left", "right"}
"""Keys that move about and need no words."""

PARSED = {"from_markup", "escape"}
"""Calls that read markup, or pretend to make it safe."""


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.relative_to(ROOM).as_posix())
def test_no_string_is_handed_to_textual_as_markup(module: Path) -> None:
    """Content alone goes to ``Static`` and ``update``; only ``ui.text`` may notify."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            name = (
                node.func.attr
                if isinstance(node.func, ast.Attribute)
                else getattr(node.func, "id", "")
            )
            assert name not in PARSED, f"line {node.lineno}: {name}"
            if name in {"Static", "Label", "update", "Button", "Option"} and node.args:
                first = node.args[0]
                assert not isinstance(first, ast.JoinedStr), f"line {node.lineno}"
                assert "[" not in str(getattr(first, "value", "")), f"line {node.lineno}"
            if name == "notify":
                assert module.name == "text.py", f"line {node.lineno}: use say()"
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            assert node.attr not in {"border_title", "border_subtitle", "tooltip"}, (
                f"line {node.lineno}"
            )


def test_the_check_above_finds_what_it_is_for() -> None:
    tree = ast.parse('Static(f"[b]{title}[/]")')
    (call,) = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    assert isinstance(call.args[0], ast.JoinedStr)


def loaded_after(code: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print(*sorted(sys.modules), sep='\\n')"],
        capture_output=True, text=True, check=True, cwd=ROOM.parents[1],
    )  # fmt: skip
    return set(done.stdout.split())


def test_the_first_picture_loads_nothing_slow(tmp_path: Path) -> None:
    file = tmp_path / "my.tunes"
    open_session(file, system_clock()).close()
    code = (
        f"FILE = {str(file)!r}"
        + """
import asyncio
from pathlib import Path
from tunememory.clock import system_clock
from tunememory.ui.app import TuneApp
from tunememory.store.glance import glance
FIRST = glance(Path(FILE), system_clock())
assert FIRST is not None
class Stopped(TuneApp):
    def _read(self):
        self.exit(0)
async def main():
    app = Stopped(lambda: open_session(Path(FILE), system_clock()), first=FIRST)
    async with app.run_test() as pilot:
        await pilot.pause()
asyncio.run(main())
"""
    )
    slow = {"numpy", "sqlite_utils", "music21", "scipy", "dateutil", "tunememory.store.connection"}
    widgets = {
        "textual.widgets._markdown",
        "textual.widgets._data_table",
        "textual.widgets._text_area",
    }
    assert not loaded_after(code) & (slow | widgets)


def test_the_day_is_worked_out_without_music21(tmp_path: Path) -> None:
    code = f"""
from pathlib import Path
from tunememory.clock import system_clock
from tunememory.practice.today import today_view
from tunememory.session import open_session
open_session(Path({str(tmp_path / "new.tunes")!r}), system_clock()).close()
today_view(open_session(Path({str(tmp_path / "new.tunes")!r}), system_clock()))
"""
    assert "music21" not in loaded_after(code)


@pytest.mark.parametrize("name", AREAS)
def test_every_screen_of_the_registry_is_there(name: str) -> None:
    assert issubclass(screen_class(name), SessionScreen)


@pytest.mark.parametrize("name", AREAS)
def test_every_key_says_what_it_does(name: str) -> None:
    """What the help and the palette show; without a sentence a key would be a secret."""
    bindings = list(Binding.make_bindings(screen_class(name).BINDINGS))
    assert bindings
    for binding in bindings:
        if binding.key in MOVES and not binding.show:
            continue
        assert binding.tooltip, binding.key
        assert binding.tooltip[0].isupper() or not binding.tooltip[0].isalpha()


@pytest.mark.parametrize("name", AREAS)
def test_no_key_is_bound_twice(name: str) -> None:
    keys = [binding.key for binding in Binding.make_bindings(screen_class(name).BINDINGS)]
    assert len(keys) == len(set(keys))
