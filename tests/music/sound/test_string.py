"""The plucked string, its pitch against NumPy's and SciPy's transforms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.signal import periodogram

from tunememory.music.sound.samples import frequency, plucked
from tunememory.music.sound.tempo import RATE

SEED = 1983


def heard_pitch(samples: np.ndarray, near: float) -> float:
    """Frequency whose harmonics hold the most power, within a half tone of ``near``.

    The window's transform is summed at the exact frequencies instead of read off bins, so its
    answer is far finer than a bin.
    """
    part = samples * np.hanning(samples.size)
    times = np.arange(samples.size) / RATE

    def missed(hertz: float) -> float:
        waves = np.exp(-2j * np.pi * hertz * np.outer([1, 2, 3], times))
        return -float((np.abs(waves @ part) ** 2).sum())

    rough = near * 2 ** (np.linspace(-0.5, 0.5, 41) / 12)
    best = min(rough, key=missed)
    step = 2 ** (1 / 40 / 12)
    found = minimize_scalar(
        missed, bounds=(best / step, best * step), method="bounded", options={"xatol": 1e-4}
    )
    return float(found.x)


def test_measuring_is_exact_on_a_known_wave() -> None:
    times = np.arange(RATE // 2) / RATE
    partials = np.array([[1.0], [2.0], [3.0]])
    wave = (np.sin(2 * np.pi * 311.3 * partials * times) / partials).sum(axis=0)
    assert 1200 * np.log2(heard_pitch(wave, 311.3 * 1.01) / 311.3) == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize("midi", range(55, 84))
def test_every_note_from_g3_to_b5_is_in_tune(midi: int) -> None:
    """Within 2 cents: less than the 5 or so that a trained ear can tell (common practice)."""
    wanted = frequency(midi)
    note = plucked(wanted, 0.5, np.random.default_rng(SEED + midi))
    cents = 1200 * np.log2(heard_pitch(note, wanted) / wanted)
    assert abs(cents) < 2


def test_the_fundamental_is_where_the_octave_is_not_mistaken() -> None:
    note = plucked(frequency(62), 1.0, np.random.default_rng(SEED))
    hertz, power = periodogram(note, RATE)
    assert power[np.abs(hertz - 293.66) < 3].sum() > 50 * power[np.abs(hertz - 146.83) < 3].sum()


def test_frequencies_of_equal_temperament() -> None:
    """ISO 16: A is 440 Hz; the octave doubles; middle C is 261.63 Hz (from memory)."""
    assert frequency(69) == 440
    assert frequency(81) == pytest.approx(880)
    assert frequency(60) == pytest.approx(261.63, abs=0.005)


@pytest.mark.parametrize("seconds", [0.00001, 0.05, 0.3, 2.0])
def test_length_size_and_ends(seconds: float) -> None:
    note = plucked(440, seconds, np.random.default_rng(SEED))
    assert note.size == max(1, round(seconds * RATE))
    assert np.isfinite(note).all()
    assert np.abs(note).max() <= 1
    if note.size > 1:
        assert note[0] == note[-1] == 0
        assert np.abs(note).max() == 1


def test_it_fades_and_does_not_drift_off_the_middle() -> None:
    note = plucked(frequency(69), 2.0, np.random.default_rng(SEED))
    early, late = note[: RATE // 4], note[-RATE // 2 : -RATE // 4]
    assert np.sqrt((late**2).mean()) < 0.3 * np.sqrt((early**2).mean())
    assert abs(note.mean()) < 1e-3


def test_the_same_generator_gives_the_same_note() -> None:
    first = plucked(440, 0.2, np.random.default_rng(SEED))
    assert np.array_equal(first, plucked(440, 0.2, np.random.default_rng(SEED)))
    assert not np.array_equal(first, plucked(440, 0.2, np.random.default_rng(SEED + 1)))


@pytest.mark.parametrize(
    ("hertz", "seconds", "decay"),
    [(0, 1, 0.9), (-1, 1, 0.9), (20_000, 1, 0.9), (440, 0, 0.9), (440, -1, 0.9), (440, 1, 1.1),
     (440, 1, 0), (float("nan"), 1, 0.9)],
)  # fmt: skip
def test_what_cannot_sound_is_refused(hertz: float, seconds: float, decay: float) -> None:
    with pytest.raises(ValueError, match="no string sounds"):
        plucked(hertz, seconds, np.random.default_rng(SEED), decay=decay)
