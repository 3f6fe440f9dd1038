"""Looks part-way keep the chance of any false difference, through the comparison that trials take."""

from __future__ import annotations

import numpy as np
import pytest

from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.sequential import look_confidences

TRIALS = 6000


def false_alarms(
    looks: tuple[int, ...],
    confidences: np.ndarray,
    points: int,
    between: float,
    simultaneous: bool,
    seed: int,
) -> float:
    """Share of unchanged trials in which any look establishes any difference."""
    rng = np.random.default_rng(seed)
    sessions = 2 * looks[-1]
    values = between * rng.standard_normal((TRIALS, sessions, 1))
    values = values + rng.standard_normal((TRIALS, sessions, points))
    fitted = list("AB" * looks[-1])
    false = np.zeros(TRIALS, dtype=bool)
    for count, confidence in zip(looks, confidences, strict=True):
        rows = slice(0, 2 * count)
        layout = contrasts(fitted[rows], "A", "B", np.ones((2 * count, points), dtype=bool))
        found = compare(
            values[:, rows],
            np.zeros((TRIALS, points)),
            layout,
            confidence=float(confidence),
            simultaneous=simultaneous,
        )
        if found is None:
            raise RuntimeError("repeated sessions gave no comparison")
        false |= found.established.any(axis=-1)
    return float(false.mean())


@pytest.mark.parametrize("boundary", ["obrien_fleming", "pocock"])
@pytest.mark.parametrize(
    ("looks", "points", "between"),
    [
        ((2, 4), 1, 1.0),
        ((2, 4), 5, 1.0),
        ((3, 6), 8, 0.3),
        ((2, 4, 6), 5, 3.0),
        ((3, 4, 8), 3, 0.0),
    ],
)
def test_declared_looks_keep_the_error_rate(
    boundary: str, looks: tuple[int, ...], points: int, between: float
) -> None:
    fractions = [count / looks[-1] for count in looks]
    confidences = look_confidences(fractions, boundary, 0.95, points)
    rate = false_alarms(looks, confidences, points, between, True, seed=3)
    error = np.sqrt(0.05 * 0.95 / TRIALS)
    assert rate <= 0.05 + 3 * error


@pytest.mark.parametrize("looks", [(2, 3, 4, 5, 6)])
def test_undeclared_looks_do_not(looks: tuple[int, ...]) -> None:
    """What the declaration is for: five looks at the plain level err twice as often."""
    rate = false_alarms(looks, np.full(len(looks), 0.95), 1, 1.0, True, seed=4)
    assert rate > 0.10
