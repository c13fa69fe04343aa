"""Cascaded biquads as matrix products: a recursive filter without a loop over samples.

A biquad cascade is a linear system with a small state s (two numbers a biquad). Over a block of B samples u

    y  = T u + O s        T (B, B) lower triangular: the impulse response
    s' = C u + M s        M = A**B

so a whole stretch of blocks is three products by BLAS. The states between blocks follow the same law
one level up (groups of blocks), and once more between groups: triangular block matrices again.
Mathematically the filter itself, not an approximation; tests hold it to scipy.signal.sosfilt.
"""

from __future__ import annotations

import math

import numpy as np

#: Samples in a block: divides every stretch, and near the fastest size measured.
BLOCK = 50

#: A state this small (-500 dBFS) is taken as rest, so that a silent channel costs nothing.
AT_REST = 1e-25


class BlockedFilter:
    """Filters stretches of a fixed number of samples, many channels at once; keeps their states.

    sections  (n, 6) biquads, rows b0 b1 b2 a0 a1 a2 with a0 = 1
    length    samples in a stretch, a multiple of BLOCK
    """

    def __init__(self, sections: np.ndarray, length: int, channels: int) -> None:
        a, b, c, d = _balanced(*_state_space(sections))
        order = len(a)
        self._order, self._length = order, length
        self._blocks = length // BLOCK
        self._group = max(1, round(0.6 * math.sqrt(self._blocks)))
        self._groups = -(-self._blocks // self._group)

        powers = [np.eye(order)]
        for _ in range(BLOCK):
            powers.append(a @ powers[-1])
        response = np.array([d, *(c @ power @ b for power in powers[:-1])])[:BLOCK]
        toeplitz = np.zeros((BLOCK, BLOCK))
        for row in range(BLOCK):
            toeplitz[row, : row + 1] = response[row::-1]
        observed = np.array([c @ power for power in powers[:BLOCK]])  # (B, order)
        self._output = np.ascontiguousarray(np.hstack([toeplitz, observed]).T)  # (B + order, B)
        self._drive = np.ascontiguousarray(np.array([powers[BLOCK - 1 - k] @ b for k in range(BLOCK)]))  # (B, order)
        self._within, self._carry = _scan(powers[BLOCK], self._group)
        self._between, self._far = _scan(np.linalg.matrix_power(powers[BLOCK], self._group), self._groups)
        self._state = np.zeros((channels, order))
        self._room: dict[int, tuple[np.ndarray, np.ndarray, np.ndarray]] = {}  # by channels: work space, used again

    def at_rest(self) -> np.ndarray:
        """(channels,) True where the state has died away; such a state is set to nought."""
        quiet = np.max(np.abs(self._state), axis=1) < AT_REST
        self._state[quiet] = 0.0
        return quiet

    def __call__(self, x: np.ndarray, channels: np.ndarray) -> np.ndarray:
        """Filtered samples, (chosen, length), of a stretch x (chosen, length) of the chosen channels.

        The result is valid until the next call.
        """
        chosen, order = len(x), self._order
        if chosen not in self._room:
            self._room[chosen] = (
                np.empty((chosen, self._blocks, BLOCK + order)),
                np.zeros((chosen, self._groups * self._group, order)),
                np.empty((chosen * self._blocks, BLOCK)),
            )
        fed, driven, out = self._room[chosen]
        fed[:, :, :BLOCK] = x.reshape(chosen, self._blocks, BLOCK)
        np.matmul(fed[:, :, :BLOCK], self._drive, out=driven[:, : self._blocks])
        # Level 2: states inside each group as if the group began at rest; the last is the group's own drive.
        inside = driven.reshape(chosen, self._groups, self._group * order) @ self._within
        own = inside[:, :, -order:].reshape(chosen, self._groups * order)
        # Level 3: states at the end of each group, from the state the stretch began with.
        ends = (own @ self._between + self._state[channels] @ self._far).reshape(chosen, self._groups, order)
        starts = np.concatenate([self._state[channels][:, None], ends[:, :-1]], axis=1)
        after = (inside + starts @ self._carry).reshape(chosen, self._groups * self._group, order)
        fed[:, 0, BLOCK:] = self._state[channels]
        fed[:, 1:, BLOCK:] = after[:, : self._blocks - 1]
        self._state[channels] = after[:, self._blocks - 1]
        return np.matmul(fed.reshape(-1, BLOCK + order), self._output, out=out).reshape(chosen, self._length)


def _state_space(sections: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """A (n, n), b (n,), c (n,), d of a cascade, each biquad in transposed direct form II."""
    a, b, c, d = np.zeros((0, 0)), np.zeros(0), np.zeros(0), 1.0
    for b0, b1, b2, _, a1, a2 in sections:
        own_a = np.array([[-a1, 1.0], [-a2, 0.0]])
        own_b = np.array([b1 - a1 * b0, b2 - a2 * b0])
        own_c = np.array([1.0, 0.0])
        a = np.block([[a, np.zeros((len(a), 2))], [np.outer(own_b, c), own_a]])
        b, c, d = np.concatenate([b, own_b * d]), np.concatenate([b0 * c, own_c]), b0 * d
    return a, b, c, d


def _balanced(
    a: np.ndarray, b: np.ndarray, c: np.ndarray, d: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """The same system in coordinates in which its states are as easily driven as seen.

    The high-pass has two poles almost upon each other near 1; in the plain form rounding errors
    come out 100 to 500 times larger than in this one.
    """
    lower = np.linalg.cholesky(_gramian(a, b))
    u, s, _ = np.linalg.svd(lower.T @ _gramian(a.T, c) @ lower)
    to = lower @ u * s**-0.25
    back = np.linalg.inv(to)
    return back @ a @ to, back @ b, c @ to, d


def _gramian(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Sum over k of (A**k b)(A**k b)', by doubling: 2**24 terms."""
    total, power = np.outer(b, b), a
    for _ in range(24):
        total = total + power @ total @ power.T
        power = power @ power
    return total


def _scan(step: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Matrices of s[k+1] = step s[k] + drive[k] over ``count`` steps, for row vectors.

    Returns (count * order, count * order), drives to states after each step, and
    (order, count * order), first state to states after each step.
    """
    order = len(step)
    powers = [np.eye(order)]
    for _ in range(count):
        powers.append(step @ powers[-1])
    drives = np.zeros((count, order, count, order))
    for gap in range(count):
        for start in range(count - gap):
            drives[start, :, start + gap, :] = powers[gap].T
    first = np.concatenate([power.T for power in powers[1:]], axis=1)
    return drives.reshape(count * order, count * order), first
