"""Verdict, p-value, interval and noise floor are one decision: not one contradiction, ever.

Simulated comparisons of every kind: orders, missing values, families and single figures, known
errors, prior noise, levels that a look or a seal raises, equivalence and no loss.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms

Array = np.ndarray
ORDERS = ("ABBA", "ABBAAB", "ABBAABBA", "AABBB", "ABBAABBAABBA", "ABCCBAABC")
PRIOR = PriorNoise(36e-6, 9e-6, 0.0, df=8)


def draw(rng: np.random.Generator, order: str, points: int, trials: int, effect: Array) -> Array:
    fitted = np.array([letter == "B" for letter in order])[:, None]
    values = rng.normal(0, 0.006, (trials, len(order), 1)) + fitted * effect
    return values + rng.normal(0, 0.003, (trials, len(order), points))


def contradictions(found: Differences, level: float) -> int:
    """Positions at which the four ways of saying it differ."""
    p, given = found.p_values(), np.isfinite(found.difference)
    ways = [
        found.established,
        p <= level,
        (found.low > 0) | (found.high < 0),
        np.abs(found.difference) > found.floor,
    ]
    count = sum(int((way != ways[0])[given].sum()) for way in ways[1:])
    for beyond, distance in (
        (found.inside(-0.01, 0.012), _inside(found.difference, -0.01, 0.012)),
        (found.above(-0.01), found.difference + 0.01),
        (found.above(0.01, -1), 0.01 - found.difference),
    ):
        ways = [beyond.established, beyond.p_values <= level, distance - beyond.reach > 0]
        count += sum(int((way != ways[0])[given].sum()) for way in ways[1:])
    # An interval that lies inside the margins is equivalent: the test asks no more than it.
    inside = (found.low > -0.01) & (found.high < 0.012)
    return count + int((inside & ~found.inside(-0.01, 0.012).established)[given].sum())


def _inside(difference: Array, low: float, high: float) -> Array:
    return np.minimum(difference - low, high - difference)


BOTH = pytest.mark.parametrize("simultaneous", [True, False])
EACH_CONFIDENCE = pytest.mark.parametrize("confidence", [0.90, 0.95, 0.99])


@BOTH
@EACH_CONFIDENCE
def test_thousands_of_comparisons(confidence: float, simultaneous: bool) -> None:
    """2,250 at the usual confidence, half of them at the others, each twice."""
    agree(confidence, simultaneous, trials=15)


@pytest.mark.full
@BOTH
@EACH_CONFIDENCE
def test_tens_of_thousands_of_comparisons(confidence: float, simultaneous: bool) -> None:
    """10,500 at the usual confidence, half of them at the others, each twice."""
    agree(confidence, simultaneous, trials=70)


def agree(confidence: float, simultaneous: bool, trials: int) -> None:
    orders = ORDERS if confidence == 0.95 else ORDERS[::2]
    rng = np.random.default_rng(int(1000 * confidence) + simultaneous)
    compared = 0
    for order in orders:
        for points, more in (
            (1, {}),
            (3, {"known": np.full(3, 4e-5)}),
            (6, {"common": np.full(6, 4e-5)}),
            (7, {"prior": PRIOR}),
            (8, {}),
        ):
            effect = rng.choice([0.0, 0.005, 0.02, -0.02], points)
            values = draw(rng, order, points, trials, effect)
            if points == 8:  # a session without its tail, and a set point that one side never had
                values[:, 1, -2:] = np.nan
                values[:, [s for s, c in enumerate(order) if c == "A"], 0] = np.nan
            layout = contrasts(list(order), "A", "B", np.isfinite(values[0]))
            found = compare(
                values,
                np.full((trials, points), 1e-6),
                layout,
                confidence=confidence,
                simultaneous=simultaneous,
                **more,
            )
            assert found is not None
            assert contradictions(found, round(1 - confidence, 12)) == 0
            compared += trials * points
    assert compared == 25 * trials * len(orders)


def table(values: Array, **more: Any) -> SessionValues:
    sessions, points = values.shape
    given: dict[str, Any] = {
        "quantity": "speed",
        "unit": "kn",
        "scale": "ratio",
        "better": "more",
        "sessions": tuple(f"S{n + 1}" for n in range(sessions)),
        "positions": np.arange(1.0, points + 1),
        "labels": tuple(f"{p} rpm" for p in range(1, points + 1)),
        "values": 10 * np.exp(values),
        "run_variance": np.zeros(values.shape),
        "double_runs": np.full(values.shape, 3),
        "instrument_variance": np.zeros(points),
    }
    return SessionValues(**(given | more))


@pytest.mark.parametrize("better", ["more", "less", None])
def test_rows_as_users_get_them(better: str | None) -> None:
    """Through the judgement: words, worth, looks that ask for more, untestable without figures."""
    rng = np.random.default_rng(12)
    seen = set()
    for trial in range(105):
        order = ORDERS[trial % len(ORDERS)]
        values = draw(rng, order, 6, 1, rng.choice([0.0, 0.01, 0.03, -0.03], 6))[0]
        if trial % 5 == 0:
            keep = order.index("B")
            lost = [s for s, c in enumerate(order) if c == "B" and s != keep]
            values[lost, 3:] = np.nan
        terms = Terms(
            worthwhile=0.015,
            one_sided=trial % 4 == 1,
            level=0.99 if trial % 3 == 0 else None,
            simultaneous=trial % 7 != 0,
        )
        more = {"instrument_variance": np.full(6, 2e-5)} if trial % 2 else {}
        judged = judge_sweep(table(values, better=better, **more), list(order), "A", "B", terms)
        for row in judged.rows:
            seen.add(row.verdict)
            check(row, terms)
    words = {"higher", "lower"} if better is None else {"gain", "loss"}
    assert words | {"within noise", "equivalent", "untestable"} <= seen


def check(row: Compared, terms: Terms) -> None:
    figures = ("p_value", "low", "high", "noise_floor", "equivalence_p", "no_loss_p")
    if row.verdict == "untestable":
        assert all(getattr(row, name) is None for name in figures)
        return
    alpha = 1 - row.confidence
    established = row.verdict in ("gain", "loss", "higher", "lower")
    assert established == (row.p_value <= alpha)
    assert established == (row.low > 0 or row.high < 0)
    assert established == (abs(row.change) > row.noise_floor)
    assert row.low <= row.change <= row.high
    if terms.one_sided:
        assert row.verdict != "equivalent"
        if row.better is not None:
            shown = row.no_loss_p <= alpha
            lost = row.no_loss_bound if row.better == "less" else -row.no_loss_bound
            limit = 0.015 if row.better == "less" else 1 - 1 / 1.015
            assert shown == (lost < limit)
            assert shown == ("not ruled out" not in row.reason)
        return
    inside = row.equivalence_p <= alpha
    assert inside == (row.equivalence_low > 1 / 1.015 - 1 and row.equivalence_high < 0.015)
    assert (row.verdict == "equivalent") == (inside and not established)
    assert (row.worth == "less than") == inside
    if row.low > 1 / 1.015 - 1 and row.high < 0.015:
        assert inside
