"""Starts as samples and as WAV files."""

from __future__ import annotations

import io
import wave
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunememory.music.pitch import Note, Pitch
from tunememory.music.sound.samples import (
    BETWEEN_SECONDS,
    LEAD_SECONDS,
    LONGEST_SECONDS,
    QUIET,
    TAIL_SECONDS,
    USUAL,
    frequency,
    start_samples,
    together,
    wav_bytes,
)
from tunememory.music.sound.tempo import RATE
from tunememory.music.tune import Start

EIGHTH = Fraction(1, 2)


def notes_of(letters: str, quarters: Fraction = EIGHTH) -> list[Note]:
    return [
        Note(Pitch(5 if letter.islower() else 4, letter.upper()), quarters) for letter in letters
    ]


def made(notes: list[Note], tempo: float, pickup: Fraction = Fraction(0), **more) -> np.ndarray:
    start = Start("A", tuple(notes), pickup)
    return start_samples(start, tempo, np.random.default_rng(7), **more)


def strongest(samples: np.ndarray) -> float:
    """Frequency of the strongest line below 1.2 kHz, to about 2 Hz."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(samples.size), 1 << 16))
    hertz = np.fft.rfftfreq(1 << 16, 1 / RATE)
    return float(hertz[np.argmax(np.where(hertz < 1200, spectrum, 0))])


def holds(samples: np.ndarray, hertz: float) -> float:
    """Power within 4 Hz of a frequency."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(samples.size))) ** 2
    lines = np.fft.rfftfreq(samples.size, 1 / RATE)
    return float(spectrum[np.abs(lines - hertz) < 4].sum())


@pytest.mark.parametrize("tempo", [60, 165, 180, 187.3])
def test_the_length_is_that_of_the_notes_at_the_tempo(tempo: float) -> None:
    notes = notes_of("DFAdAFD") + notes_of("D", Fraction(3, 2))
    quarters = 7 / 2 + 3 / 2
    assert abs(made(notes, tempo).size - quarters * 60 / tempo * RATE) <= 1


def test_each_note_sounds_at_its_time_and_pitch() -> None:
    letters = "DAdfGB"
    samples = made(notes_of(letters), 120)
    each = RATE // 4
    for place, note in enumerate(notes_of(letters)):
        heard = samples[place * each : (place + 1) * each]
        wanted = frequency(note.pitch.midi)
        cents = 1200 * np.log2(strongest(heard) / wanted)
        # The octave may be the strongest of the harmonics.
        assert abs((cents + 600) % 1200 - 600) < 10


def test_repeated_notes_are_plucked_again() -> None:
    samples = made(notes_of("AAAA"), 120)
    each = RATE // 4
    sizes = [
        [np.abs(samples[at : at + 2000]).max(), np.abs(samples[at + each - 400 : at + each]).max()]
        for at in range(0, 4 * each, each)
    ]
    for begin, end in sizes:
        assert begin > 0.8
        assert end < 0.2


def test_the_drone_lies_under_the_tune_all_along() -> None:
    notes = notes_of("BcBcBcBc")
    plain, droned = made(notes, 120), made(notes, 120, drone=(62, 69), metre="4/4")
    assert plain.size == droned.size
    # The tune is plucked first and alike in both, so what differs is the drone.
    under = droned - plain
    half = plain.size // 2
    for part in (slice(0, half), slice(half, None)):
        loudness = np.sqrt((under[part] ** 2).mean() / (plain[part] ** 2).mean())
        assert 0.05 < loudness < 0.7
        for midi in (62, 69):
            wrong = (holds(under[part], frequency(midi + off)) for off in (-1, 1))
            assert holds(under[part], frequency(midi)) > 50 * max(wrong)


def test_the_drone_begins_again_with_each_bar() -> None:
    notes = [Note(Pitch(9, "C"), Fraction(13, 2))]
    droned = made(notes, 60, EIGHTH, drone=(50,), metre="3/4") - made(notes, 60)
    beginnings = [0, RATE // 2, RATE // 2 + 3 * RATE]
    for at in beginnings[1:]:
        before, after = droned[at - 1000 : at], droned[at : at + 1000]
        assert np.abs(after).max() > 3 * np.abs(before).max()


@pytest.mark.parametrize("peak", [QUIET, USUAL, -6.0])
def test_the_peak_is_the_one_asked_for(peak: float) -> None:
    drone = made(notes_of("DFAd"), 150, drone=(62,))
    samples = together([made(notes_of("DFAd"), 150), drone], peak)
    assert 20 * np.log10(np.abs(samples).max()) == pytest.approx(peak, abs=0.01)
    parts = np.split(samples, [samples.size // 2])
    for part in parts:
        assert 20 * np.log10(np.abs(part).max()) == pytest.approx(peak, abs=0.01)


def test_quiet_is_the_default_and_is_quiet() -> None:
    samples = together([made(notes_of("DFAd"), 150)])
    assert np.abs(samples).max() == pytest.approx(0.1, abs=0.0005)


def test_starts_follow_one_another_with_silence_around() -> None:
    one, two = made(notes_of("DF"), 120), made(notes_of("A"), 120)
    samples = together([one, two])
    gaps = LEAD_SECONDS + BETWEEN_SECONDS + TAIL_SECONDS
    assert abs(samples.size - one.size - two.size - gaps * RATE) <= 3
    assert not samples[: round(LEAD_SECONDS * RATE)].any()
    assert not samples[-round(TAIL_SECONDS * RATE) :].any()


def test_no_step_in_the_sound_clicks() -> None:
    """Where one note ends and the next begins the wave passes through silence."""
    samples = made(notes_of("DAdfGB"), 120)
    each = RATE // 4
    for at in range(each, 6 * each, each):
        assert np.abs(samples[at - 2 : at + 2]).max() < 0.05


@pytest.mark.parametrize("peak", [0.0, 1.0, float("nan")])
def test_full_scale_is_refused(peak: float) -> None:
    with pytest.raises(ValueError, match="full scale"):
        together([np.ones(3)], peak)


def test_nothing_at_all_is_silence() -> None:
    assert made([], 120).size == 0
    assert not together([]).any()
    assert not together([np.zeros(0), np.zeros(5)]).any()


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(-1, 11), st.sampled_from("CDEFGAB"), st.integers(-2, 2),
                  st.fractions(min_value=Fraction(1, 64), max_value=4, max_denominator=64)),
        max_size=6,
    ),
    st.fractions(min_value=Fraction(1, 4), max_value=8, max_denominator=16),
    st.booleans(),
)  # fmt: skip
def test_whatever_the_notes_nothing_clips_or_goes_on_for_ever(rows, bar, drone) -> None:
    notes = [Note(Pitch(octave, letter, alter), q) for octave, letter, alter, q in rows]
    metre = f"{bar.numerator}/{4 * bar.denominator}"
    samples = made(notes, 110, bar / 2, drone=(55, 62) if drone else (), metre=metre)
    assert samples.size <= LONGEST_SECONDS * RATE
    whole = together([samples], USUAL)
    assert np.isfinite(whole).all()
    assert np.abs(whole).max() <= 10 ** (USUAL / 20) + 1e-9
    wav_bytes(whole)


def test_a_start_that_goes_on_too_long_is_cut() -> None:
    endless = [Note(Pitch(4, "A"), Fraction(10**9))]
    assert made(endless, 110, drone=(62,)).size == LONGEST_SECONDS * RATE


def test_the_wav_file_reads_back() -> None:
    samples = together([made(notes_of("DFAd"), 150)])
    with wave.open(io.BytesIO(wav_bytes(samples))) as file:
        assert file.getparams()[:4] == (1, 2, 44_100, samples.size)
        assert file.getcomptype() == "NONE"
        back = np.frombuffer(file.readframes(samples.size), "<i2") / 32_767
    assert np.abs(back - samples).max() <= 0.5 / 32_767 + 1e-12


def test_clipping_is_refused() -> None:
    with pytest.raises(ValueError, match="clipped"):
        wav_bytes(np.array([0.0, 1.01]))
    with pytest.raises(ValueError, match="clipped"):
        wav_bytes(np.array([0.0, np.nan]))
    assert wav_bytes(np.array([-1.0, 1.0]))[-4:] == b"\x01\x80\xff\x7f"


def test_what_is_struck_under_a_note_sounds_with_it_and_rings_a_quarter() -> None:
    notes = notes_of("ddddd")
    under = ((), (), (50, 57), (), ())
    alone, both = made(notes, 120), made(notes, 120, under=under)
    assert both.size == alone.size
    eighth = RATE // 4
    for midi in (50, 57):
        sounding = [
            holds(both[place * eighth : (place + 1) * eighth], frequency(midi))
            for place in range(5)
        ]
        assert min(sounding[2:4]) > 20 * max(sounding[0], sounding[1], sounding[4])
    # Before it is struck nothing is changed.
    assert np.array_equal(both[: 2 * eighth], alone[: 2 * eighth])
