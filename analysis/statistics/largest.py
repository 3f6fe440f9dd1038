"""How far the largest of several equally correlated normal deviates reaches, as tables of tails."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Array = NDArray[np.float64]

#: What counts as large. "both": either sign, for differences from zero. "one": one and the same
#: sign everywhere, for losses of at most so much. "margins": one sign at each position, whichever
#: mixture of signs is the least favourable, for differences inside two margins.
Sides = Literal["both", "one", "margins"]

# Axes: bound in standard deviations, and the part of the noise not shared.
_BOUND = np.linspace(0.0, 9.0, 91)
_OWN = np.linspace(0.0, 1.0, 21)


@lru_cache(maxsize=16)
def unit_nodes(n: int) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights on 0 to 1."""
    x, w = np.polynomial.legendre.leggauss(n)
    return np.asarray((x + 1) / 2, dtype=float), np.asarray(w / 2, dtype=float)


@lru_cache(maxsize=1)
def _below_given_shared() -> tuple[Array, Array, Array]:
    """P(deviate < bound | shared part z), the same given -z, shape (own, bound, node), weights."""
    u, w = unit_nodes(200)
    z = 6.0 * u
    weights = 12.0 * w * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)  # both signs
    own = np.maximum(_OWN, 1e-3)[:, None, None]
    shift = np.sqrt(1 - own**2) * z
    bound = _BOUND[:, None]
    return ndtr((bound - shift) / own), ndtr((bound + shift) / own), weights / weights.sum()


@lru_cache(maxsize=512)
def log_tail(k: int, sides: Sides) -> Array:
    """log P(largest of k equally correlated deviates > bound), shape (bound, own)."""
    with_shared, against, weights = _below_given_shared()
    # One own part at a time stays in the processor's cache, five times as fast.
    below = [_below(*pair, k, sides) @ weights for pair in zip(with_shared, against, strict=True)]
    tail = 1 - np.transpose(below)
    # All of the noise shared: one deviate, whose sign counts or does not.
    doubled = sides == "both" or (sides == "margins" and k > 1)
    tail[:, 0] = (2 if doubled else 1) * ndtr(-_BOUND)
    return np.log(np.maximum(tail, 1e-16))


def _below(with_shared: Array, against: Array, k: int, sides: Sides) -> Array:
    """P(none of k deviates is large | shared part), over both signs of it."""
    if sides == "both":
        return _power(with_shared + against - 1, k)
    if sides == "one":
        return (_power(with_shared, k) + _power(against, k)) / 2
    # Half at either margin is the least favourable; the tests hold every other split to it.
    one, two = k - k // 2, k // 2
    mixed = _power(with_shared, one) * _power(against, two)
    return (mixed + _power(against, one) * _power(with_shared, two)) / 2


def _power(base: Array, k: int) -> Array:
    """A whole power by repeated squaring, several times as fast as numpy's own."""
    power = np.ones(())
    while k:
        power = power * base if k & 1 else power
        k >>= 1
        base = base * base if k else base
    return power


class Spot:
    """Where to read `log_tail`: bilinear, for bounds and own parts of any shape."""

    def __init__(self, bound: Array, own: Array) -> None:
        x, y = position(bound, _BOUND), position(own, _OWN)
        i = np.minimum(x.astype(np.intp), len(_BOUND) - 2)
        j = np.minimum(y.astype(np.intp), len(_OWN) - 2)
        self.at = i * len(_OWN) + j
        self.a, self.b = x - i, y - j

    def tail(self, k: int, sides: Sides = "both") -> Array:
        """P(largest of k > bound)."""
        flat = log_tail(k, sides).ravel()
        n = len(_OWN)
        low, high = flat.take(self.at), flat.take(self.at + n)
        low += (flat.take(self.at + 1) - low) * self.b
        high += (flat.take(self.at + n + 1) - high) * self.b
        return np.asarray(np.exp(low + (high - low) * self.a))


def position(x: Array, axis: Array) -> Array:
    """Fractional index of x on an evenly spaced axis, held at its ends."""
    step = (axis[-1] - axis[0]) / (len(axis) - 1)
    return np.asarray(np.minimum(np.maximum((x - axis[0]) / step, 0.0), len(axis) - 1.0))
