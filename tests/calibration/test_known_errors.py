"""Coverage where instruments that did not serve both sides add errors of a known size.

An error that is independent from set point to set point, or one that moves all alike, as large as
the standard error of a difference or five times that.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts

BETWEEN, SPECIFIC = 0.006, 0.003
TRIALS, POINTS = 2000, 7


@pytest.mark.parametrize("order", ["ABBA", "ABBAAB", "ABBAABBA"])
@pytest.mark.parametrize("times", [1.0, 5.0])
@pytest.mark.parametrize("common", [False, True], ids=["independent", "common"])
def test_coverage_and_false_claims(order: str, times: float, common: bool) -> None:
    fitted = np.array([letter == "B" for letter in order])
    spread = 1 / fitted.sum() + 1 / (~fitted).sum()
    size = times * sqrt(spread * (BETWEEN**2 + SPECIFIC**2))
    rng = np.random.default_rng(29)
    values = rng.normal(0, BETWEEN, (TRIALS, len(order), 1))
    values = values + rng.normal(0, SPECIFIC, (TRIALS, len(order), POINTS))
    error = rng.normal(0, size, (TRIALS, 1, 1 if common else POINTS))
    values = values + fitted[:, None] * error
    layout = contrasts(list(order), "A", "B", np.ones(values.shape[1:], dtype=bool))
    variance, none = np.full(POINTS, size**2), np.zeros(POINTS)
    found = compare(
        values,
        np.zeros(POINTS),
        layout,
        known=none if common else variance,
        common=variance if common else none,
    )
    assert found is not None
    false = found.established.any(axis=-1).mean()
    covered = ((found.low <= 0) & (found.high >= 0)).all(axis=-1).mean()
    print(f"{order} u/SE {times:g} {'common' if common else 'independent'}: "
          f"false {100 * false:.1f} %, covered {100 * covered:.1f} %")  # fmt: skip
    monte_carlo = sqrt(0.05 * 0.95 / TRIALS)
    assert false <= 0.05 + 3 * monte_carlo
    assert covered >= 0.95 - 3 * monte_carlo
    assert false >= 0.002  # wide enough to be of use, and the count counts
