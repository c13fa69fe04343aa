"""K-weighting: the two biquads of ITU-R BS.1770-5, Annex 1.

The Recommendation prints coefficients for 48 kHz alone (Tables 1 and 2) and asks other rates to match
the same frequency response. The analogue parameters below give the printed table back to 1e-13; they are
not in the Recommendation but in the open libraries that recovered them (B. De Man; libebur128; pyloudnorm's
"DeMan" class, which the tests compare with at every rate). pyloudnorm itself is not imported
here: it loads scipy.signal, which costs more time than many a whole check.
"""

from __future__ import annotations

import math

import numpy as np

#: ITU-R BS.1770-5, Annex 1, Tables 1 and 2: b0 b1 b2 a0 a1 a2.
AT_48_KHZ = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585),
    (1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621),
)

SHELF_HZ, SHELF_Q, SHELF_DB, SHELF_BAND = 1681.974450955533, 0.7071752369554196, 3.999843853973347, 0.4996667741545416
HIGH_PASS_HZ, HIGH_PASS_Q = 38.13547087602444, 0.5003270373238773


def k_weighting(rate: int) -> np.ndarray:
    """Coefficients at a sample rate: (2, 6), shelf then high-pass, rows b0 b1 b2 a0 a1 a2."""
    return np.array(AT_48_KHZ if rate == 48_000 else derived(rate))


def derived(rate: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The same filters from their parameters, by the bilinear transform, at any rate in Hz.

    The high-pass numerator stays 1 -2 1 as in Table 2: at 1 kHz the chain moves by less than 0.03 dB
    between 32 and 192 kHz.
    """
    k = math.tan(math.pi * SHELF_HZ / rate)
    high = 10 ** (SHELF_DB / 20)
    band = high**SHELF_BAND
    d = 1 + k / SHELF_Q + k * k
    shelf = (
        (high + band * k / SHELF_Q + k * k) / d,
        2 * (k * k - high) / d,
        (high - band * k / SHELF_Q + k * k) / d,
        1.0,
        2 * (k * k - 1) / d,
        (1 - k / SHELF_Q + k * k) / d,
    )
    k = math.tan(math.pi * HIGH_PASS_HZ / rate)
    d = 1 + k / HIGH_PASS_Q + k * k
    return shelf, (1.0, -2.0, 1.0, 1.0, 2 * (k * k - 1) / d, (1 - k / HIGH_PASS_Q + k * k) / d)
