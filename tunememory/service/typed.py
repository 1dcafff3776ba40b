"""Single fields as the player types them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.errors import ServiceError
from tunememory.tunes.text import clean_text
from tunememory.tunes.tuning import Tuning, parse_tuning

if TYPE_CHECKING:
    from tunememory.tunes.key import Key


def key_of(text: str) -> Key | None:
    """Return the key typed, ``None`` for an empty text.

    Raises:
        ServiceError: The text is not a key.
    """
    text = clean_text(text)
    if not text:
        return None
    # Loads the reader of tune books, which planning a day has no use for.
    from tunememory.notation.abc_key import read_key  # noqa: PLC0415

    key = read_key(text).key
    if key is None:
        raise ServiceError(f"“{text}” is not a key: write for example D, Em, Amix or B dorian")
    return key


def tuning_of(text: str) -> Tuning | None:
    """Return the tuning typed, ``None`` for an empty text (the usual one).

    Raises:
        ServiceError: The text is not a tuning.
    """
    text = clean_text(text)
    if not text:
        return None
    try:
        return parse_tuning(text)
    except ValueError as error:
        raise ServiceError(str(error)) from error
