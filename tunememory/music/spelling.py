"""Names of pitches: letters in a key, scale steps, and the spelling of a MIDI number."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.music.key import Key, alters_of
from tunememory.music.pitch import LETTERS, SEMITONES, SIGN_OF, Pitch

if TYPE_CHECKING:
    from collections.abc import Mapping


_C_MAJOR = Key("C")

# Which degree (and accidental) of the major scale on the root names each semitone that is neither
# in the key nor a natural: O'Neill's, Ryan's and Aird's printed collections write #1, #2, #4, #5
# and b7 (829 notes against 11 of the other spellings).
_DEGREES = (
    (1, 0), (1, 1), (2, 0), (2, 1), (3, 0), (4, 0), (4, 1), (5, 0), (5, 1), (6, 0), (7, -1), (7, 0),
)  # fmt: skip


def abc_letter(pitch: Pitch, key: Key | None) -> str:
    """One pitch as an ABC note (2.1, sections 4.1 and 4.2): ``"^c"``, ``"D,"``, ``"a'"``.

    The accidental is written where the pitch differs from the signature of ``key``, whatever
    stood before it in the bar.
    """
    sign = "" if alters_of(key)[pitch.letter] == pitch.alter else SIGN_OF[pitch.alter]
    return sign + abc_name(pitch)


def abc_name(pitch: Pitch) -> str:
    """Letter and octave marks of a pitch as in ABC, without its accidental."""
    if pitch.octave >= 5:
        return pitch.letter.lower() + "'" * (pitch.octave - 5)
    return pitch.letter + "," * (4 - pitch.octave)


def spell(midi: int, key: Key | None) -> Pitch:
    """Spell a MIDI number as a player of ``key`` would write it.

    A note of the key takes its letter there; any other is a natural where it can be, else it
    takes the usual accidental of its degree (``_DEGREES``). Without a key, sharps and B flat.
    """
    name = _spellings(key or _C_MAJOR)[midi % 12]
    letter, alter = name
    return Pitch((midi - SEMITONES[letter] - alter) // 12 - 1, letter, alter)


class BarAccidentals:
    """Which accidentals have to be written, after those before them in the bar.

    An accidental holds for its letter in all octaves to the end of the bar (ABC 2.1, 11.3).

    Args:
        alters: Accidental of each letter in the signature.
        by_place: As on a staff: it holds on its own line or space, so it is written again in
            another octave, and so is the natural after it.
    """

    def __init__(self, alters: Mapping[str, int], *, by_place: bool = False) -> None:
        self._signature = alters
        self._by_place = by_place
        self._written: dict[str | int, int] = {}

    def before(self, pitch: Pitch) -> int | None:
        """The accidental to write before a note, ``None`` for none."""
        places = (pitch.letter, pitch.step) if self._by_place else (pitch.letter,)
        signature = self._signature[pitch.letter]
        if all(self._written.get(place, signature) == pitch.alter for place in places):
            return None
        self._written.update(dict.fromkeys(places, pitch.alter))
        return pitch.alter

    def end_bar(self) -> None:
        """Forget the accidentals of the bar."""
        self._written.clear()


def step_of(pitch: Pitch, key: Key) -> str:
    """Scale step of a pitch: ``"1"``, ``"b7"``, ``"5,"``, ``"1'"``.

    Numbers count from the root; ``b`` and ``#`` are measured against the major scale, whatever
    the mode, and ``=`` marks a major-scale step that the mode has flat or sharp. Step 1 is the
    root written as a capital letter in ABC (C4 to B4); ``'`` is an octave up, ``,`` down.
    """
    octave, degree = divmod(pitch.step - key.tonic.step, 7)
    natural, usual = _degree_alters(key, pitch.letter)
    alter = pitch.alter - natural
    if alter == 0:
        sign = "=" if usual else ""
    elif alter < 0:
        sign = "b" * -(alter if usual <= 0 else alter - usual)
    else:
        sign = "#" * (alter if usual >= 0 else alter - usual)
    return f"{sign}{degree + 1}{chr(39) * octave}{',' * -octave}"


def pitch_of_step(sign: str, degree: int, octave: int, key: Key) -> Pitch | None:
    """Pitch of a scale step, the inverse of ``step_of``; ``None`` when it cannot be written.

    Without a sign the step is the mode's own (3 in E minor is G). ``b7`` is the flat seventh of
    the major scale, also where the mode has it already; ``#7`` in minor raises the mode's.

    Args:
        sign: ``""``, ``"="``, or any number of ``"b"`` or ``"#"``.
        degree: 1 to 7.
        octave: Octaves above the root's capital letter.
        key: Gives root and mode.
    """
    tonic = key.tonic
    number, place = divmod(tonic.step + degree - 1 + 7 * octave, 7)
    letter = LETTERS[place]
    natural, usual = _degree_alters(key, letter)
    if not sign:
        alter = usual
    elif sign == "=":
        alter = 0
    elif sign[0] == "b":
        alter = -len(sign) if usual <= 0 else usual - len(sign)
    else:
        alter = len(sign) if usual >= 0 else usual + len(sign)
    alter += natural
    if not (-2 <= alter <= 2 and 0 <= number <= 9):
        return None
    return Pitch(number, letter, alter)


def _degree_alters(key: Key, letter: str) -> tuple[int, int]:
    """Accidental of the letter in the major scale on the root, and what the mode adds to it."""
    natural = Key(key.root).alters()[letter]
    return natural, key.alters()[letter] - natural


@lru_cache(maxsize=256)
def _spellings(key: Key) -> tuple[tuple[str, int], ...]:
    """Letter and accidental of each pitch class in ``key``."""
    in_key = {
        (SEMITONES[letter] + alter) % 12: (letter, alter)
        for letter, alter in key.alters().items()
        if -2 <= alter <= 2
    }
    naturals = {semitones: (letter, 0) for letter, semitones in SEMITONES.items()}
    major = Key(key.root).alters()
    root = LETTERS.index(key.root[0])
    names = []
    for pitch_class in range(12):
        degree, sign = _DEGREES[(pitch_class - key.root_class) % 12]
        letter = LETTERS[(root + degree - 1) % 7]
        alter = major[letter] + sign
        if not -2 <= alter <= 2:
            # Keys of more than seven sharps: any name that can be written.
            letter, alter = naturals[pitch_class - 1][0], 1
        names.append(in_key.get(pitch_class) or naturals.get(pitch_class) or (letter, alter))
    return tuple(names)
