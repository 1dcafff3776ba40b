"""Tune books damaged at random: nothing raises, no tune is lost, neighbours are unharmed.

``TUNEMEMORY_MUTATIONS`` sets how many are tried; 2,000 when it is not set.
"""

from __future__ import annotations

import os
import random
import re
from dataclasses import replace

import pytest

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune

pytestmark = pytest.mark.slow

MUTATIONS = int(os.environ.get("TUNEMEMORY_MUTATIONS", "2000"))
SIGNS = [
    *"ABCcdefgzxXZ|:[](){}<>-^_=/',\"!+&%\\~.0123456789 \t\n\r",
    "\n\n", "X:", "\nX:9\n", "K:", "\nK:", "M:", "L:", "P:", "V:2", "[K:", "(3", "(9:8:99", "|:",
    ":|", "::", "[1", "|2", "%%", "%%begintext\n", "é", "ſ", "\u202e", "\x00", "\x1b[2J",
    "99999999999999", "A////////////", "A0", "z0", "Z999", "T:", "+:", "w:", "\\\n",
]  # fmt: skip


def damaged(text: str, chance: random.Random) -> str:
    """``text`` with up to eight random slips."""
    for _ in range(chance.randint(1, 8)):
        at = chance.randrange(len(text) + 1)
        to = min(len(text), at + chance.randint(0, 12))
        match chance.randrange(6):
            case 0:
                text = text[:at] + text[to:]
            case 1:
                text = text[:at] + chance.choice(SIGNS) + text[at:]
            case 2:
                text = text[:at] + chance.choice(SIGNS) + text[to:]
            case 3:
                text = text[:at] + text[at:to] * chance.randint(2, 30) + text[to:]
            case 4:
                text = text[:at] + text[at:to][::-1] + text[to:]
            case _:
                text = text[:at] + text[at:].swapcase()
    return text


def facts(tune: ReadTune) -> tuple[object, ...]:
    starts = tuple(replace(start, doubt="") for start in tune.starts)
    return tune.titles, tune.kind, tune.key, tune.metre, starts, tune.source, tune.note


def test_damaged_books(texts):
    chance = random.Random(1850)
    for _ in range(MUTATIONS):
        first, middle, last = (chance.choice(texts)[1].strip() for _ in range(3))
        spoilt = damaged(middle, chance)
        book = f"{first}\n\n{spoilt}\n\n{last}\n"
        read = list(read_book(book.encode("utf-8", "replace")).tunes)
        if "\x00" in book:
            assert [item.why for item in read] == ["this is not a text file"]
            continue
        # Every X: line comes back as a tune or a refusal with its line.
        lines = re.split(r"\r\n|\n|\r", book)
        numbers = {number for number, line in enumerate(lines, 1) if re.match(r"\s*X:", line)}
        assert numbers <= {item.line for item in read}
        before = next(read_book(first.encode()).tunes)
        after = next(read_book(last.encode()).tunes)
        assert isinstance(read[0], ReadTune)
        assert isinstance(before, ReadTune)
        assert isinstance(after, ReadTune)
        # What stands before the damage may gain music from it, never lose its own.
        assert read[0].titles == before.titles
        assert isinstance(read[-1], ReadTune)
        assert facts(read[-1]) == facts(after)
