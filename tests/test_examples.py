"""The examples in the docstrings of the package."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
WITH_EXAMPLES = [
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for path in sorted((ROOT / "tunememory").rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_examples_are_true(module: str) -> None:
    result = doctest.testmod(importlib.import_module(module))
    assert result.attempted
    assert not result.failed
