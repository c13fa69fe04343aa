"""K-weighting: the two biquads of ITU-R BS.1770-5, Annex 1.

The Recommendation prints coefficients for 48 kHz alone (Tables 1 and 2) and asks other rates to match
the same frequency response. For those pyloudnorm derives them: its "DeMan" class, which gives the printed
table back to 1e-12 at 48 kHz; its default class is another filter and reads 0.04 LU low. It is loaded only
where it is needed, because it brings scipy.signal, which costs a second to load: episodes are at 48 kHz.
"""

from __future__ import annotations

import numpy as np

#: ITU-R BS.1770-5, Annex 1, Tables 1 and 2: b0 b1 b2 a0 a1 a2.
AT_48_KHZ = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585),
    (1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621),
)


def k_weighting(rate: int) -> np.ndarray:
    """Coefficients at a sample rate in Hz: (2, 6), shelf then high-pass, rows b0 b1 b2 a0 a1 a2."""
    return np.array(AT_48_KHZ) if rate == 48_000 else derived(rate)


def derived(rate: int) -> np.ndarray:
    """The same filters at any rate in Hz, as pyloudnorm derives them.

    The high-pass numerator stays 1 -2 1 as in Table 2: at 1 kHz the chain moves by less than 0.03 dB
    between 32 and 192 kHz.
    """
    import pyloudnorm

    stages = pyloudnorm.Meter(rate, filter_class="DeMan")._filters.values()
    return np.array([np.concatenate([stage.b, stage.a]) for stage in stages])
