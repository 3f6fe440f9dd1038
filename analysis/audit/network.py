"""Whether some figures can all be true: logarithms of true values, tied by the equations of the catalogue.

Each figure confines a value, or a ratio of two, to an interval; each equation is a sum of logarithms. The
intervals are narrowed by the sums until nothing changes. One that comes out empty proves that the figures
cannot all be true; what is not proven so is let pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

Node = tuple[str, ...]  # a value: of a configuration, a place and a quantity; or a ratio of two
Interval = tuple[float, float]

_SLACK = 1e-9  # of a logarithm, for the arithmetic's own rounding
_ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Tie:
    """A sum of nodes, each with its factor, that is zero with a constant; at most zero, if `most`."""

    terms: tuple[tuple[Node, float], ...]
    constant: float = 0.0
    most: bool = False


def possible(given: Iterable[tuple[Node, Interval]], ties: Iterable[Tie]) -> bool:
    """Whether values may exist that lie in all intervals and keep all ties."""
    bounds: dict[Node, Interval] = {}
    for node, interval in given:
        if not _narrow(bounds, node, interval):
            return False
    kept = list(ties)
    for _ in range(_ROUNDS):
        before = dict(bounds)
        if not all(_apply(bounds, tie) for tie in kept):
            return False
        if bounds == before:
            return True
    return True


def _narrow(bounds: dict[Node, Interval], node: Node, interval: Interval) -> bool:
    low, high = bounds.get(node, (-math.inf, math.inf))
    low, high = max(low, interval[0]), min(high, interval[1])
    if low > high + _SLACK:
        return False
    bounds[node] = (low, max(low, high))
    return True


def _apply(bounds: dict[Node, Interval], tie: Tie) -> bool:
    """Narrow every node of a tie by the others."""
    for node, factor in tie.terms:
        rest = tie.constant, tie.constant
        for other, times in tie.terms:
            if other != node:
                rest = _plus(rest, _times(_of(bounds, other), times))
        # factor x node = -rest, or at most that
        ends = _times(rest, -1.0 / factor)
        if tie.most:
            ends = (-math.inf, ends[1]) if factor > 0 else (ends[0], math.inf)
        if not _narrow(bounds, node, ends):
            return False
    return True


def _of(bounds: Mapping[Node, Interval], node: Node) -> Interval:
    return bounds.get(node, (-math.inf, math.inf))


def _plus(one: Interval, other: Interval) -> Interval:
    return one[0] + other[0], one[1] + other[1]


def _times(one: Interval, factor: float) -> Interval:
    ends = one[0] * factor, one[1] * factor
    return min(ends), max(ends)
