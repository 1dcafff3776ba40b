"""The fixed column a strand has in every array."""

from __future__ import annotations

from tunememory.tunes.check import KEY, NAME

KEY_COLUMN = 0
NAME_COLUMN = 1
FIRST_START_COLUMN = 2
"""Column of the A start; later parts follow in the order of the alphabet."""

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def column_of(strand: str) -> int:
    """Return the column of a strand: key 0, name 1, ``"A"`` 2, ``"B"`` 3 …, ``"AA"`` 28.

    Raises:
        ValueError: ``strand`` is neither key, name nor a part letter.
    """
    if strand == KEY:
        return KEY_COLUMN
    if strand == NAME:
        return NAME_COLUMN
    number = 0
    for letter in strand:
        place = _LETTERS.find(letter)
        if place < 0:
            raise ValueError(f"no such strand: {strand!r}")
        number = number * 26 + place + 1
    if number == 0:
        raise ValueError("a strand has a name")
    return FIRST_START_COLUMN + number - 1


def strand_of(column: int) -> str:
    """Return the strand of a column, the inverse of ``column_of``.

    Raises:
        ValueError: ``column`` is negative.
    """
    if column < 0:
        raise ValueError(f"no such column: {column}")
    if column == KEY_COLUMN:
        return KEY
    if column == NAME_COLUMN:
        return NAME
    number = column - FIRST_START_COLUMN + 1
    letters = ""
    while number:
        number, place = divmod(number - 1, 26)
        letters = _LETTERS[place] + letters
    return letters
