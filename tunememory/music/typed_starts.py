"""Starts, keys and tunings as the player types them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.abc.key import read_key
from tunememory.music.abc.notes import parse_notes
from tunememory.music.key import alters_of
from tunememory.music.metre import bar_quarters
from tunememory.music.pitch import LETTERS, MIDI_NUMBERS, SIGNS, Note, Pitch
from tunememory.music.spelling import abc_letter, pitch_of_step, spell
from tunememory.music.strings import HIGHEST, SET, STANDARD, Place, Tuning, pitch_at
from tunememory.music.tune import Start
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tunememory.music.key import Key


MOST_NOTES = 64
"""Longest start taken. Two bars of the busiest dance metre hold 32 notes."""


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

_ONLY_FINGERS = re.compile(r"\b(?:low|high)\b|[A-Ga-g],*\s*[LH][1-4]|[A-Ga-g],*0")
"""What no other form has: low and high, L and H, an open string."""

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
    if form in {Form.ABC, Form.LETTERS, Form.STEPS} and _ONLY_FINGERS.search(text):
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
        NotDoneError: One line: which sign at which place, and what to write instead.
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
            raise NotDoneError("up and down is written u for up, d for down, r for the same again")
        return Start(part, written=text, doubt=_NO_NOTES)
    notes, pickup, doubt = _notes(body, form, key, metre, tuning)
    if not notes:
        raise NotDoneError("there is no note in it; write for example d2 fa")
    if len(notes) > MOST_NOTES:
        raise NotDoneError(f"{len(notes)} notes are too many; a start is about two bars")
    barred = "|" in body and "[M:" not in body and not metre
    doubt = doubt or _reach_doubt(notes, tuning) or (_MEANS_NO_BARS if barred else "")
    return Start(part, notes, pickup, text, doubt=doubt)


def _notes(
    body: str, form: Form, key: Key | None, metre: str, tuning: Tuning | None
) -> tuple[tuple[Note, ...], Fraction, str]:
    """Notes, pickup and doubt of a text in a known form."""
    strings = tuning or STANDARD
    doubt = ""
    signs: list[_Sign]
    match form:
        case Form.STEPS:
            signs = _read_steps(body, key)
        case Form.FINGERS:
            signs = _read_fingers(body, key, strings)
        case Form.FRETS:
            signs = _read_frets(body, key, strings)
        case Form.LETTERS:
            signs, doubt = _read_letters(body, key, tuning)
            doubt = doubt or ("" if key else _MEANS_NO_KEY)
        case _:
            parsed = parse_notes(body, key, metre)
            if parsed.problem:
                raise NotDoneError(parsed.problem)
            return parsed.notes, parsed.pickup, "" if key else _MEANS_NO_KEY
    notes, pickup = _lay_out(signs, metre)
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


def key_of(text: str) -> Key | None:
    """Return the key typed, ``None`` for an empty text.

    Raises:
        NotDoneError: The text is not a key.
    """
    text = clean_text(text)
    if not text:
        return None
    key = read_key(text).key
    if key is None:
        raise NotDoneError(f"“{text}” is not a key: write for example D, Em, Amix or B dorian")
    return key


@dataclass(frozen=True, slots=True)
class _BarSign:
    """A bar line in the text."""


@dataclass(frozen=True, slots=True)
class _HoldSign:
    """The note before it lasts ``units`` longer, as the dash does in numbered notation."""

    units: int


_Sign = Pitch | _BarSign | _HoldSign
# A dash with a blank or bar line on both sides lengthens the note before it; between two notes
# it only parts them.
_COMMON = re.compile(r"(?P<bar>[|:\]\[]*\|[|:\]\[]*)|(?P<hold>(?<![^\s|])-+(?![^\s|]))|[\s.;·]+|-")


def _read_signs(
    text: str, note: re.Pattern[str], pitch_of: Callable[[re.Match[str]], Pitch | None], what: str
) -> list[_Sign]:
    """Read bar lines, holds and notes in order.

    Args:
        text: As typed; a prefix blanked out, so that places count from its first sign.
        note: One note of the form.
        pitch_of: Gives the pitch of a match (``None`` where it only prepares the next one), or
            raises ``NotDoneError``.
        what: What the form is made of, for the error: ``"a scale step; write 1 to 7, …"``.

    Raises:
        NotDoneError: At the first sign that is none of these.
    """
    signs: list[_Sign] = []
    place = 0
    while place < len(text):
        if found := note.match(text, place):
            pitch = pitch_of(found)
            if pitch is not None:
                signs.append(pitch)
        elif found := _COMMON.match(text, place):
            if found["bar"]:
                signs.append(_BarSign())
            elif found["hold"]:
                if not any(isinstance(sign, Pitch) for sign in signs):
                    raise NotDoneError(
                        f"“-” at place {place + 1} holds no note; put a note before it"
                    )
                signs.append(_HoldSign(len(found["hold"])))
        else:
            raise NotDoneError(f"“{text[place]}” at place {place + 1} is not {what}")
        place = found.end()
    return signs


def _lay_out(signs: Sequence[_Sign], metre: str) -> tuple[tuple[Note, ...], Fraction]:
    """Give the notes their lengths.

    Every note (and every hold) is one unit: an eighth, in halves (3/2) a quarter, in sixteenths
    a sixteenth. Where bar lines were typed and a unit twice or half as long fills more of the
    bars exactly, that is taken.

    Returns:
        The notes, and the length of the pickup: what stands before the first bar line where that
        is less than a bar.
    """
    pitches: list[Pitch] = []
    units: list[int] = []
    bars = [0]
    for sign in signs:
        if isinstance(sign, _BarSign):
            bars.append(0)
        elif isinstance(sign, Pitch):
            pitches.append(sign)
            units.append(1)
            bars[-1] += 1
        else:
            units[-1] += sign.units
            bars[-1] += sign.units
    bar_length = bar_quarters(metre)
    unit = _unit(metre, [bar for bar in bars if bar], bar_length)
    notes = tuple(Note(pitch, count * unit) for pitch, count in zip(pitches, units, strict=True))
    pickup = Fraction(0)
    if bar_length is not None and len(bars) > 1 and bars[0] * unit < bar_length:
        pickup = bars[0] * unit
    return notes, pickup


def _unit(metre: str, bars: list[int], bar: Fraction | None) -> Fraction:
    """Length of one unit in quarters, given the units in each bar typed."""
    usual = Fraction(1, 2)
    denominator = metre.partition("/")[2].strip()
    if denominator == "16":
        usual = Fraction(1, 4)
    elif denominator == "2" and bar != 4:
        usual = Fraction(1)
    if bar is None or len(bars) < 2:
        return usual
    candidates = (usual, 2 * usual, usual / 2, 4 * usual)
    return max(candidates, key=lambda unit: sum(count * unit == bar for count in bars))


_MIDDLE = 73
"""Mean pitch of the starts of fiddle tunes (O'Neill, Ryan, Aird: 72.5 over 9,384 parts); with it
most starts written without octaves come out in their own."""

_ALTERS = SIGNS | {"#": 1, "##": 2, "♯": 1, "♭": -1, "n": 0, "♮": 0}
_LETTER = re.compile(
    r"(?P<sign>\^{1,2}|_{1,2}|=)?(?P<letter>[A-Ga-g])(?P<after>##?|[♯♭♮n])?(?P<marks>[',]*)"
)
_ALONE_WITH_B = re.compile(r"(?<![^\s|])(?P<letter>[A-Ga-g])b(?=[',]*(?:[\s|]|$))")
_LETTER_WANTED = "a note; write letters A to G, # behind for sharp, ' or , behind for up or down"
_STEP = re.compile(r"(?P<sign>b{1,2}|#{1,2}|[=n♭♯♮])?(?P<degree>[1-8])(?P<marks>[',]*)")
_STEP_WANTED = "a scale step; write 1 to 7, b7 for flat, 1' for an octave up, 5, for down"
_PLAIN_SIGNS = str.maketrans({"♭": "b", "♯": "#", "n": "=", "♮": "="})

GUESSED = "octaves are guessed: mark up with ' and down with , or mix small and capital letters"
"""Doubt of plain letters that say nothing of octaves."""


def _read_letters(text: str, key: Key | None, tuning: Tuning | None) -> tuple[list[_Sign], str]:
    """Read plain letters; the key's sharps and flats are understood.

    Capitals and small letters mixed mean octaves as in ABC. Otherwise each note is the one
    nearest to the note before (as in LilyPond's relative entry), ``'`` takes the next one above
    it and ``,`` the next one below, and the line lies in the middle of the instrument.

    A ``b`` behind a letter that stands alone is a flat where the key has that flat or the letter
    is a capital (``Bb``); else it is the note b (``ab`` is two notes in D).

    Returns:
        The signs, and a doubt where the octaves are a guess.
    """
    alters = alters_of(key)

    def flat(found: re.Match[str]) -> str:
        letter = found["letter"]
        return letter + ("♭" if letter.isupper() or alters[letter.upper()] < 0 else "b")

    found_notes: list[re.Match[str]] = []

    def pitch_of(found: re.Match[str]) -> Pitch:
        found_notes.append(found)
        letter, sign = found["letter"], found["sign"] or found["after"]
        name = letter.upper()
        octave = 4 if letter == name else 5
        return Pitch(octave, name, _ALTERS[sign] if sign else alters[name])

    signs = _read_signs(_ALONE_WITH_B.sub(flat, text), _LETTER, pitch_of, _LETTER_WANTED)
    pitches = [sign for sign in signs if isinstance(sign, Pitch)]
    marks = [found["marks"] for found in found_notes]
    mixed = len({found["letter"].isupper() for found in found_notes}) > 1
    if mixed:
        placed = [
            Pitch(pitch.octave + mark.count("'") - mark.count(","), pitch.letter, pitch.alter)
            for pitch, mark in zip(pitches, marks, strict=True)
        ]
    else:
        placed = _nearest(pitches, marks, tuning)
    for found, pitch in zip(found_notes, placed, strict=True):
        if pitch.midi not in MIDI_NUMBERS:
            raise NotDoneError(_out_of_range(found))
    octaves_said = mixed or len(pitches) < 2 or any(marks)
    queue = iter(placed)
    in_place = [next(queue) if isinstance(sign, Pitch) else sign for sign in signs]
    return in_place, "" if octaves_said else GUESSED


def _nearest(pitches: Sequence[Pitch], marks: Sequence[str], tuning: Tuning | None) -> list[Pitch]:
    """Put each letter near the one before, then the whole line into the instrument's middle."""
    if not pitches:
        return []
    steps = [LETTERS.index(pitches[0].letter)]
    for pitch, mark in zip(pitches[1:], marks[1:], strict=True):
        up = (LETTERS.index(pitch.letter) - steps[-1]) % 7
        ups, downs = mark.count("'"), mark.count(",")
        if ups:
            move = (up or 7) + 7 * (ups - 1)
        elif downs:
            move = up - 7 - 7 * (downs - 1)
        else:
            move = up if up <= 3 else up - 7
        steps.append(steps[-1] + move)
    low, high = (
        (min(tuning.strings), max(tuning.strings) + HIGHEST) if tuning else (_MIDDLE - 18, 84)
    )

    def line(octave: int) -> list[Pitch]:
        return [
            Pitch(step // 7 + octave, pitch.letter, pitch.alter)
            for step, pitch in zip(steps, pitches, strict=True)
        ]

    def strangeness(octave: int) -> tuple[int, float]:
        midis = [pitch.midi for pitch in line(octave)]
        outside = sum(not low <= midi <= high for midi in midis)
        return outside, abs(sum(midis) / len(midis) - _MIDDLE)

    return line(min(range(1, 8), key=strangeness) + marks[0].count("'") - marks[0].count(","))


def _read_steps(text: str, key: Key | None) -> list[_Sign]:
    """Read scale steps (``pitch_of_step``); 8 is 1 an octave up."""
    if key is None:
        raise NotDoneError("scale steps need the tune's key; give the key too, or write letters")

    def pitch_of(found: re.Match[str]) -> Pitch:
        octave, degree = divmod(int(found["degree"]) - 1, 7)
        octave += found["marks"].count("'") - found["marks"].count(",")
        sign = (found["sign"] or "").translate(_PLAIN_SIGNS)
        pitch = pitch_of_step(sign, degree + 1, octave, key)
        if pitch is None or pitch.midi not in MIDI_NUMBERS:
            raise NotDoneError(_out_of_range(found))
        return pitch

    return _read_signs(text, _STEP, pitch_of, _STEP_WANTED)


def _out_of_range(found: re.Match[str]) -> str:
    return f"{_here(found)} cannot be written as a note; leave out an octave mark or a sign"


_STRING = r"(?:(?P<level>low|middle|high)\s+)?(?P<letter>[A-G])(?P<sign>[#♯♭]?)(?P<commas>,*):?"
_FINGER = re.compile(
    rf"{_STRING}|(?P<place>(?P<mark>low\s*|high\s*|[LH])?(?P<number>[0-4])(?!\d))", re.IGNORECASE
)
_FINGER_WANTED = "a string or finger; write for example A1, D3, E low 2 or EL2, fingers 0 to 4"
_FRET = re.compile(rf"{_STRING}|(?P<place>(?P<number>\d{{1,2}})(?!\d))", re.IGNORECASE)
_FRET_WANTED = "a string or fret; write for example d2 or a0"

_SEMITONES = {(how[:1], finger): semitones for (finger, semitones), how in SET.items()} | {
    ("h", 2): 4
}
"""Place of each finger in semitones above the open string; ``SET`` the other way round."""

_FLATS = {"B♭": "A#", "E♭": "D#", "A♭": "G#", "D♭": "C#", "G♭": "F#"}


def _read_fingers(text: str, key: Key | None, tuning: Tuning) -> list[_Sign]:
    """Read strings and fingers: ``A1 D3 E low 2 DL2 D0``; a string holds until the next one.

    A plain finger is the place ``SET`` gives it, ``L`` or ``low`` sets it a semitone
    lower, ``H`` or ``high`` higher; a plain second finger is a high one already.
    """

    def pitch_on(string: int, found: re.Match[str]) -> Pitch:
        finger = int(found["number"])
        semitones = _SEMITONES.get(((found["mark"] or "")[:1].lower(), finger))
        if semitones is None:
            raise NotDoneError(
                f"{_here(found)} is neither low nor high; write a plain 0 for the open string"
            )
        return pitch_at(Place(string, semitones, finger), key, tuning)

    return _read_on_strings(text, _FINGER, _FINGER_WANTED, pitch_on, tuning)


def _read_frets(text: str, key: Key | None, tuning: Tuning) -> list[_Sign]:
    """Read strings and fret numbers: ``d2 a0``; a string holds until the next one."""

    def pitch_on(string: int, found: re.Match[str]) -> Pitch:
        return spell(tuning.strings[string] + int(found["number"]), key)

    return _read_on_strings(text, _FRET, _FRET_WANTED, pitch_on, tuning)


def _read_on_strings(
    text: str,
    pattern: re.Pattern[str],
    wanted: str,
    pitch_on: Callable[[int, re.Match[str]], Pitch],
    tuning: Tuning,
) -> list[_Sign]:
    string: int | None = None
    waiting: re.Match[str] | None = None

    def pitch_of(found: re.Match[str]) -> Pitch | None:
        nonlocal string, waiting
        if found["letter"]:
            if waiting is not None:
                raise NotDoneError(_no_finger(waiting))
            waiting = found
            string = _string(found, tuning)
            return None
        waiting = None
        if string is None:
            raise NotDoneError(
                f"{_here(found)} names no string; write it first, "
                f"such as {tuning.string_names[-1]}{found[0]}"
            )
        pitch = pitch_on(string, found)
        if pitch.midi not in MIDI_NUMBERS:
            raise NotDoneError(f"{_here(found)} is too high to be written; take a lower place")
        return pitch

    signs = _read_signs(text, pattern, pitch_of, wanted)
    if waiting is not None:
        raise NotDoneError(_no_finger(waiting))
    return signs


def _here(found: re.Match[str]) -> str:
    return f"“{found[0].strip()}” at place {found.start() + 1}"


def _no_finger(found: re.Match[str]) -> str:
    return f"{_here(found)} is a string alone; write where it is stopped, such as {found[0]}0"


def _string(found: re.Match[str], tuning: Tuning) -> int:
    letter = found["letter"].upper() + found["sign"].replace("♯", "#")
    name = f"{(found['level'] or '').lower()} {_FLATS.get(letter, letter)}{found['commas']}".strip()
    string = _strings_by_name(tuning).get(name)
    if string is None:
        raise NotDoneError(
            f"{_here(found)} is no string here; the strings are {' '.join(tuning.string_names)}"
        )
    return string


@lru_cache(maxsize=64)
def _strings_by_name(tuning: Tuning) -> dict[str, int]:
    """Every name of each string: ``A``, ``A,``, ``low A``; for a letter used once, any of them."""
    names: dict[str, int] = {}
    for string, (short, long) in enumerate(
        zip(tuning.string_names, tuning.long_string_names, strict=True)
    ):
        names[short] = names[long] = string
        if short == long:
            names |= {f"{level} {short}": string for level in ("low", "high")}
    return names
