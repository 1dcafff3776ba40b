"""A start as the player types it."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING

from tunememory.tunes.abc_notes import parse_notes
from tunememory.tunes.entry_letters import read_letters, read_steps
from tunememory.tunes.entry_signs import MOST_NOTES, EntryError, Sign, lay_out
from tunememory.tunes.entry_strings import ONLY_FINGERS, read_fingers, read_frets
from tunememory.tunes.spelling import abc_letter
from tunememory.tunes.tune import Start
from tunememory.tunes.tuning import STANDARD, Tuning

if TYPE_CHECKING:
    from fractions import Fraction

    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note

__all__ = ["EntryError", "Form", "form_of", "read_start"]


class Form(StrEnum):
    """How a start is typed. The values are the prefixes (``"steps: 1 3 5"``) and the setting."""

    ABC = "abc"
    LETTERS = "letters"
    STEPS = "steps"
    FINGERS = "fingers"
    FRETS = "frets"
    UPDOWN = "updown"


_PREFIX = re.compile(r"\s*([A-Za-z]+)\s*:(?![:|])")
_PREFIXES = {name: form for form in Form for name in (form.value, form.value.rstrip("s"))}
_STEPS_FIRST = re.compile(r"[\s|]*[b#=]{0,2}\d")
_UPDOWN = re.compile(r"[\s*|]*(?:[udrUDR]|up|down|same)(?:[\s|,]*(?:[udrUDR]|up|down|same))*[\s|]*")
_ONLY_UPDOWN = re.compile(r"[uUrR]|same")
_MEANS_NO_KEY = "the key is not known, so sharps and flats may be missing"
_MEANS_NO_BARS = "the metre is not known, so bar lines are not kept"
_NO_NOTES = "only ups and downs are given, no notes"


def form_of(text: str, usual: str) -> Form:
    """Return the form ``text`` is typed in.

    A prefix decides (``"fingers: A1 D3"``); then what only one form can be: a number in front
    (scale steps), an open string, ``low`` or ``high`` (fingers), ``u``, ``d`` and ``r`` alone
    (up, down, same); else the usual form.

    Args:
        text: As typed.
        usual: One of ``Form``.
    """
    prefix = _PREFIX.match(text)
    if prefix is not None and prefix[1].lower() in _PREFIXES:
        return _PREFIXES[prefix[1].lower()]
    form = Form(usual)
    if _STEPS_FIRST.match(text):
        return Form.STEPS
    if _UPDOWN.fullmatch(text) and _ONLY_UPDOWN.search(text):
        return Form.UPDOWN
    if form in {Form.ABC, Form.LETTERS, Form.STEPS} and ONLY_FINGERS.search(text):
        return Form.FINGERS
    return form


def read_start(
    text: str,
    *,
    part: str,
    key: Key | None,
    metre: str,
    tuning: Tuning | None,
    form: str = Form.ABC,
) -> Start:
    """Read a start. An empty text is a start that is not written down yet.

    Args:
        text: As typed, cleaned; kept as ``written``.
        part: Part letter.
        key: The part's key; without it scale steps cannot be read and letters are doubtful.
        metre: As in ABC ``M:``, may be empty.
        tuning: Strings that fingers name and that notes must be in reach of; ``None``: standard
            for fingers, and any note is in reach.
        form: The player's usual way of typing, one of ``Form``; see ``form_of``.

    Returns:
        The start, with a doubt where something had to be guessed or lies below the strings.

    Raises:
        EntryError: One line: which sign at which place, and what to write instead.
    """
    if not text.strip():
        return Start(part)
    form = form_of(text, form)
    body = text
    prefix = _PREFIX.match(text)
    if prefix is not None and prefix[1].lower() in _PREFIXES:
        # Blanks instead, so that places in an error count from the first sign typed.
        body = " " * prefix.end() + text[prefix.end() :]
    body = body.replace("’", "'")
    if form is Form.UPDOWN:
        if not _UPDOWN.fullmatch(body):
            raise EntryError("up and down is written u for up, d for down, r for the same again")
        return Start(part, written=text, doubt=_NO_NOTES)
    notes, pickup, doubt = _notes(body, form, key, metre, tuning)
    if not notes:
        raise EntryError("there is no note in it; write for example d2 fa")
    if len(notes) > MOST_NOTES:
        raise EntryError(f"{len(notes)} notes are too many; a start is about two bars")
    barred = "|" in body and "[M:" not in body and not metre
    doubt = doubt or _reach_doubt(notes, tuning) or (_MEANS_NO_BARS if barred else "")
    return Start(part, notes, pickup, text, doubt=doubt)


def _notes(
    body: str, form: Form, key: Key | None, metre: str, tuning: Tuning | None
) -> tuple[tuple[Note, ...], Fraction, str]:
    """Notes, pickup and doubt of a text in a known form."""
    strings = tuning or STANDARD
    doubt = ""
    signs: list[Sign]
    match form:
        case Form.STEPS:
            signs = read_steps(body, key)
        case Form.FINGERS:
            signs = read_fingers(body, key, strings)
        case Form.FRETS:
            signs = read_frets(body, key, strings)
        case Form.LETTERS:
            signs, doubt = read_letters(body, key, tuning)
            doubt = doubt or ("" if key else _MEANS_NO_KEY)
        case _:
            parsed = parse_notes(body, key, metre)
            if parsed.problem:
                raise EntryError(parsed.problem)
            return parsed.notes, parsed.pickup, "" if key else _MEANS_NO_KEY
    notes, pickup = lay_out(signs, metre)
    return notes, pickup, doubt


def _reach_doubt(notes: tuple[Note, ...], tuning: Tuning | None) -> str:
    """Say which note lies below every string. Above first position a player can shift."""
    if tuning is None:
        return ""
    lowest = min(tuning.strings)
    for number, note in enumerate(notes, 1):
        if note.pitch.midi < lowest:
            return (
                f"note {number} ({abc_letter(note.pitch, None)}) is below the lowest string "
                f"of {tuning.letters}"
            )
    return ""
