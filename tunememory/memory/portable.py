"""``exp`` and ``log`` made of additions, multiplications and divisions only.

IEEE 754 fixes the result of these, but not of ``exp`` and ``log``: libraries and vector units
differ in the last bit, sometimes even within one array. Beliefs are rebuilt from the history to
the bit, on any machine, alone or in a batch, so the update uses these two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tunememory.memory.arrays import Floats

_LOG2_E = 1.4426950408889634
_LN2_HIGH = 6.93147180369123816490e-01
_LN2_LOW = 1.90821492927058770002e-10
_EXP_TERMS = (
    1.66666666666666019037e-01,
    -2.77777777770155933842e-03,
    6.61375632143793436117e-05,
    -1.65339022054652515390e-06,
    4.13813679705723846039e-08,
)
_LOG_TERMS = (
    6.666666666666735130e-01,
    3.999999999940941908e-01,
    2.857142874366239149e-01,
    2.222219843214978396e-01,
    1.818357216161805012e-01,
    1.531383769920937332e-01,
    1.479819860511658591e-01,
)
_LIMIT = 230.0
_TO_INTEGER = 1.5 * 2.0**52
"""Added to a number, rounds it to an integer that then stands in the lowest bits."""


def exp(x: Floats) -> Floats:
    """Return e to the power ``x``, within 2 units in the last place.

    Reduction and rational approximation after the freely distributable C mathematical library
    of Sun Microsystems (1993), ``e_exp.c``. Arguments beyond ±230 are taken as ±230:
    odds of that size are certainties.
    """
    # In place throughout: most of the time of an update is spent here.
    rest = np.clip(x, -_LIMIT, _LIMIT)
    power = rest * _LOG2_E
    power += _TO_INTEGER
    bits = power.view(np.int64) << 52
    power -= _TO_INTEGER
    square = power * _LN2_HIGH
    rest -= square
    np.multiply(power, _LN2_LOW, out=square)
    rest -= square
    np.multiply(rest, rest, out=square)
    result = square * _EXP_TERMS[4]
    for term in _EXP_TERMS[3::-1]:
        result += term
        result *= square
    np.subtract(rest, result, out=result)
    divisor = 2.0 - result
    result *= rest
    result /= divisor
    result += rest
    result += 1.0
    scaled = result.view(np.int64)
    scaled += bits
    return result


def log(x: Floats) -> Floats:
    """Return the natural logarithm of positive, normal ``x``, within 2 units in the last place.

    Series after the same library, ``e_log.c``.
    """
    fraction, power = np.frexp(x)
    low = fraction < 0.7071067811865476
    fraction = np.where(low, 2.0 * fraction, fraction)
    power = np.where(low, power - 1, power).astype(np.float64)
    rest = fraction - 1.0
    s = rest / (2.0 + rest)
    square = s * s
    series = square * _LOG_TERMS[6]
    for term in _LOG_TERMS[5::-1]:
        series += term
        series *= square
    half_square = 0.5 * rest * rest
    tail = half_square - (s * (half_square + series) + power * _LN2_LOW)
    return np.asarray(power * _LN2_HIGH - (tail - rest))
