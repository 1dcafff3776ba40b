"""The tokens of ABC music code (ABC 2.1, chapter 4).

One regular expression covers every character of a line: what it cannot read comes out as
``other``, so nothing is skipped unseen.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

# Every repetition is bounded or excludes its own opening sign: reading stays linear in the
# length of the line, whatever is on it.
_LENGTH = r"\d{0,12}(?:/+\d{0,12})?"
_SIGN = r"\^{1,2}|_{1,2}|="
_NOTE = rf"(?:{_SIGN})?[A-Ga-g][,']*{_LENGTH}"

TOKEN = re.compile(
    rf"""
      (?P<space>\s+|x(?=\s*[|:\]]))                        # an x before a bar carries a sign
    | (?P<note>(?P<sign>{_SIGN})?(?P<name>[A-Ga-g])(?P<marks>[,']*)(?P<length>{_LENGTH}))   # 4.1
    | \[(?P<field>[A-Za-z]):(?P<value>[^\[\]\n]*)\]          # 3.2 inline field
    | (?P<text>"[^"\n]*")                                  # 4.18, 4.19
    | (?P<bar>\.?(?:\[(?=\|)|[|:])(?:\[(?=\|)|[|:\]])*)
      (?:\s*\[?(?P<ending>\d{{1,3}}(?:[,-]\d{{1,3}})*))?    # 4.8, 4.9
    | \[(?P<alone>\d{{1,3}}(?:[,-]\d{{1,3}})*)              # an ending without its bar line
    | \[(?P<chord>[^\[\]|:\n]+)\](?P<times>{_LENGTH})      # 4.17
    | \((?P<tuplet>\d)(?::(?P<time_of>\d?)(?::(?P<for_notes>\d{{0,2}}))?)?   # 4.13
    | (?P<rest>[zx])(?P<rest_length>{_LENGTH})             # 4.5
    | (?P<bars>[ZX])(?P<bars_count>\d{{0,3}})
    | (?P<broken>>{{1,3}}|<{{1,3}})                          # 4.4
    | (?P<tie>-)                                           # 4.11
    | (?P<grace>\{{[^{{}}\n]*\}})                            # 4.12
    | \+(?P<old_chord>(?:{_NOTE}){{2,8}})\+                 # chords of ABC 1
    | (?P<decoration>![^!\s|\[\]]{{1,60}}!|\+[^+\s|\[\]]{{1,60}}\+)   # 4.14
    | (?P<skip>[().~HLMOPSTuv`$*;?@\#!]|y{_LENGTH}|\[(?="))  # 4.7, 4.9, 4.11, 4.14, 6.1.2, 8.1
    | (?P<letter>[H-Wh-w])                                 # 4.16, may mean anything
    | (?P<overlay>&)                                       # 7.4
    | (?P<other>\d+|.)
    """,
    re.VERBOSE,
)
"""One token of a line of music code. ``lastgroup`` tells which: the named group that closed
last in the alternative that matched (``"times"`` for a chord, ``"value"`` for an inline field)."""

NOTE = re.compile(
    rf"(?P<sign>{_SIGN})?(?P<name>[A-Ga-g])(?P<marks>[,']*)(?P<length>{_LENGTH})(?P<tie>-?)"
)
"""A note of a chord."""

SIGNS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
"""Semitones of each accidental sign (4.2)."""

TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""Notes in whose time ``(p`` is played, where the metre does not matter (4.13)."""


_LONGEST = 1024
"""Unit lengths; anything longer is a slip, and would make a bar without end."""


@lru_cache(maxsize=1024)
def length_of(text: str) -> Fraction | None:
    """Note length in unit lengths (4.3), or ``None`` when it is zero, endless or absurd.

    >>> length_of(""), length_of("3"), length_of("/"), length_of("//"), length_of("3/2")
    (Fraction(1, 1), Fraction(3, 1), Fraction(1, 2), Fraction(1, 4), Fraction(3, 2))
    """
    number, slash, rest = text.partition("/")
    top = int(number) if number else 1
    if not slash:
        return Fraction(top) if 0 < top <= _LONGEST else None
    slashes = 1 + len(rest) - len(rest.lstrip("/"))
    digits = rest.lstrip("/")
    # ``A//`` halves twice; with a number the last stroke belongs to the number.
    bottom = 2 ** min(slashes - 1, 12) * int(digits) if digits else 2 ** min(slashes, 12)
    return Fraction(top, bottom) if 0 < top <= _LONGEST * bottom else None
