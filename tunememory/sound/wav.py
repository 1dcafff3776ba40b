"""Samples as a WAV file: 16 bit, one channel, 44.1 kHz."""

from __future__ import annotations

import io
import wave
from typing import TYPE_CHECKING

import numpy as np

from tunememory.sound.rate import RATE

if TYPE_CHECKING:
    from numpy.typing import NDArray

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
