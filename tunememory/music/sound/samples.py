"""Starts as samples: notes one after the other on plucked strings, with or without a drone."""

from __future__ import annotations

import io
import wave
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tunememory.music.metre import usual_bar
from tunememory.music.sound.tempo import RATE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tunememory.music.tune import Start


DECAY = 0.996
"""What is left of the tone after each period, by ear: 1 never fades."""

PLUCKED_AT = 0.3
"""Where along the string it is plucked, as a part of its length; nearer the middle is softer."""

RISE_SECONDS = 0.002
FADE_SECONDS = 0.040
"""Lengths of the ramps that keep the ends of a note from clicking."""

_REFERENCE_MIDI, _REFERENCE_HERTZ = 69, 440.0


def frequency(midi: int) -> float:
    """Return the frequency in hertz of a MIDI note, equal temperament on A4 = 440 Hz (ISO 16)."""
    return float(_REFERENCE_HERTZ * 2.0 ** ((midi - _REFERENCE_MIDI) / 12))


def plucked(
    hertz: float, seconds: float, random: np.random.Generator, *, decay: float = DECAY
) -> NDArray[np.float64]:
    """Return one note of a plucked string, at most 1 in size, with soft ends.

    A burst of noise of ``N`` samples goes round a loop that averages neighbours, so that
    ``y[n] = decay * (y[n-N] + y[n-N-1]) / 2`` (equation of the paper, with its loss factor). The
    loop sounds at ``RATE / (N + 1/2)``; reading it in steps of ``(N + 1/2) * hertz / RATE`` gives
    the wanted pitch exactly.

    Args:
        hertz: Frequency, from 20 Hz to a quarter of ``RATE``.
        seconds: Length, positive.
        random: Where the noise comes from.
        decay: What is left of the tone after each period, above 0 to 1.

    Returns:
        Shape ``(round(seconds * RATE),)``, at least one sample.

    Raises:
        ValueError: An argument is out of its range.
    """
    if not 20 <= hertz <= RATE / 4 or not seconds > 0 or not 0 < decay <= 1:
        raise ValueError(f"no string sounds at {hertz} Hz for {seconds} s with decay {decay}")
    count = max(1, round(seconds * RATE))
    period = int(RATE / hertz - 0.5)
    step = (period + 0.5) * hertz / RATE
    loop = _loop(period, int(count * step) + 2, decay, random)
    note: NDArray[np.float64] = np.interp(np.arange(count) * step, np.arange(loop.size), loop)
    _soften_ends(note)
    loudest = float(np.abs(note).max())
    if loudest:
        note /= loudest
    return note


def _soften_ends(samples: NDArray[np.float64]) -> None:
    """Ramp the two ends of ``samples`` in place, each by at most half of them."""
    rise = min(round(RISE_SECONDS * RATE), samples.size // 2)
    fade = min(round(FADE_SECONDS * RATE), samples.size // 2)
    if rise:
        samples[:rise] *= np.linspace(0, 1, rise, endpoint=False)
    if fade:
        samples[-fade:] *= np.linspace(1, 0, fade)


def _loop(
    period: int, count: int, decay: float, random: np.random.Generator
) -> NDArray[np.float64]:
    """At least ``count`` samples of the loop, each period made from the one before at once."""
    burst = random.uniform(-1, 1, period)
    burst -= np.roll(burst, round(PLUCKED_AT * period))
    # The loop keeps what does not swing, and no loudspeaker can play it.
    burst -= burst.mean()
    periods = -(-count // period)
    loop = np.empty(1 + periods * period)
    loop[0] = burst[-1]
    loop[1 : period + 1] = burst
    for at in range(period + 1, loop.size, period):
        before = loop[at - period - 1 : at]
        loop[at : at + period] = decay / 2 * (before[1:] + before[:-1])
    return loop[1:]


QUIET, USUAL = -20.0, -12.0
"""Highest peaks of a sound in decibels below full scale. What a program sounds starts quiet, never
at full scale (World Health Organization and ITU 2019, *Safe listening devices and systems*); the
two figures are common practice, no source.
"""

LEAD_SECONDS = 0.15
"""Silence in front: a device that wakes up swallows the first moments (common practice)."""

TAIL_SECONDS = 0.15
"""Silence behind, so that a player that stops early does not cut the last note."""

BETWEEN_SECONDS = 0.7
"""Silence between two starts."""

LONGEST_SECONDS = 60.0
"""A start is two bars; whatever goes on longer than this is cut."""

_DRONE_DECAY = 0.999
_DRONE_SIZE = 0.35
"""A drone rings on and stays under the tune: common practice, no source."""

RINGS = 1
"""Quarter notes that what is struck under a note rings at least: common practice, no source."""

_UNDER_SIZE = 0.8
"""Of all that is struck under a note together, beside the note itself."""

_LOWEST_MIDI, _HIGHEST_MIDI = 21, 120


def start_samples(
    start: Start,
    quarters_per_minute: float,
    random: np.random.Generator,
    *,
    drone: Sequence[int] = (),
    metre: str = "",
    under: Sequence[Sequence[int]] = (),
) -> NDArray[np.float64]:
    """Sound a start.

    Args:
        start: A note of it beyond the reach of ears and strings is silent.
        quarters_per_minute: Speed, positive.
        random: Where the noise of the strings comes from.
        drone: MIDI numbers of open strings, plucked together at the beginning and at each bar.
        metre: As in ABC ``M:``; where it is free the drone is plucked every four quarters.
        under: For each note the MIDI numbers struck together with it; none at all is no note.

    Returns:
        Samples at ``RATE``: shape ``(n,)`` with ``n`` the whole length of the notes at that speed
        to within a sample, cut at ``LONGEST_SECONDS``. Not yet of any agreed size.
    """
    each = Fraction(60) / Fraction(quarters_per_minute)
    ends = _times([note.quarters for note in start.notes], each)
    whole = np.zeros(ends[-1])
    for note, (begin, end) in zip(start.notes, pairwise(ends), strict=True):
        _add(whole, note.pitch.midi, begin, end, random)
    ring = int(RINGS * each * RATE)
    for struck, begin in zip(under, ends, strict=False):
        # Rings on under what follows, as a chord does; a note of its own length if that is more.
        after = next((end for end in ends if end - begin >= ring), ends[-1])
        for midi in struck:
            size = _UNDER_SIZE / len(struck)
            _add(whole, midi, begin, after, random, size=size)
    if drone:
        length = sum((note.quarters for note in start.notes), Fraction(0))
        hum = np.zeros(ends[-1])
        marks = _times(_gaps(length, usual_bar(metre), start.pickup), each)
        for begin, end in pairwise(marks):
            for midi in drone:
                _add(hum, midi, begin, end, random, decay=_DRONE_DECAY)
        whole += _DRONE_SIZE * hum / max(1, len(drone))
    return whole


def together(starts: Sequence[NDArray[np.float64]], peak: float = QUIET) -> NDArray[np.float64]:
    """Put starts after one another, with silence around them, at a peak in decibels.

    Args:
        starts: Samples of each.
        peak: Size of the largest sample, in decibels below full scale; below 0.

    Raises:
        ValueError: The peak is at full scale or above.
    """
    if not peak < 0:
        raise ValueError(f"a peak of {peak} dB would be at full scale")
    pieces = [_silence(LEAD_SECONDS)]
    for place, samples in enumerate(starts):
        if place:
            pieces.append(_silence(BETWEEN_SECONDS))
        # Each is brought to the same peak, so that a drone on one does not hush another.
        loudest = float(np.abs(samples).max(initial=0))
        pieces.append(samples * (10 ** (peak / 20) / loudest) if loudest else samples)
    pieces.append(_silence(TAIL_SECONDS))
    return np.concatenate(pieces)


def _add(
    whole: NDArray[np.float64],
    midi: int,
    begin: int,
    end: int,
    random: np.random.Generator,
    size: float = 1.0,
    **more: float,
) -> None:
    if end > begin and _LOWEST_MIDI <= midi <= _HIGHEST_MIDI:
        whole[begin:end] += size * plucked(frequency(midi), (end - begin) / RATE, random, **more)


def _times(lengths: Sequence[Fraction], each: Fraction) -> list[int]:
    """Sample numbers of the beginnings and the end; rounding does not add up."""
    most = int(LONGEST_SECONDS * RATE)
    at = Fraction(0)
    marks = [0]
    for length in lengths:
        at += length * each
        marks.append(min(round(at * RATE), most))
    return marks


def _gaps(length: Fraction, bar: Fraction, pickup: Fraction) -> list[Fraction]:
    """Lengths in quarters between the plucks of a drone over ``length`` quarters."""
    gaps: list[Fraction] = []
    left = length
    gap = pickup if 0 < pickup < bar else bar
    while left > 0 and len(gaps) < LONGEST_SECONDS * 4:
        gaps.append(min(gap, left))
        left -= gaps[-1]
        gap = bar
    return gaps


def _silence(seconds: float) -> NDArray[np.float64]:
    return np.zeros(round(seconds * RATE))


_FULL_SCALE = 32_767


def wav_bytes(samples: NDArray[np.float64]) -> bytes:
    """Return a WAV file.

    Args:
        samples: Shape ``(n,)``, from -1 to 1.

    Raises:
        ValueError: A sample is larger than 1 or not a number; it would be clipped.
    """
    if not np.all(np.abs(samples) <= 1):
        raise ValueError("samples beyond full scale would be clipped")
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(np.rint(samples * _FULL_SCALE).astype("<i2").tobytes())
    return file.getvalue()
