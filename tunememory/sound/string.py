"""A plucked string: Karplus and Strong 1983, *Digital Synthesis of Plucked-String and Drum
Timbres*, Computer Music Journal 7(2):43-55.
"""  # noqa: D205 - the source belongs in one sentence

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.sound.rate import RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

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
    soften_ends(note)
    loudest = float(np.abs(note).max())
    if loudest:
        note /= loudest
    return note


def soften_ends(samples: NDArray[np.float64]) -> None:
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
