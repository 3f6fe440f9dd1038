"""Looks at assumptions: false alarms at the rate they promise, and what they find.

The base world: 0.6 % shared by a session, 0.3 % by set point, seven set points.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.assumptions import drift, outlying, randomised, session_levels
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts

POINTS = 7


def trials(order: str, count: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    shared = rng.normal(0, 0.006, (count, len(order), 1))
    return shared + rng.normal(0, 0.003, (count, len(order), POINTS))


def layout(order: str, covariates: np.ndarray | None = None):
    present = np.ones((len(order), POINTS), dtype=bool)
    return contrasts(list(order), "A", "B", present, None, covariates)


@pytest.mark.parametrize(
    ("order", "least"), [("ABBAAB", 0.75), ("ABBAABBA", 0.95), ("ABBAABBAABBA", 0.99)]
)
def test_an_outlying_session_is_found_and_others_are_not(order: str, least: float) -> None:
    laid, count = layout(order), 1200
    plain, found = 0, 0
    for number, values in enumerate(trials(order, count, len(order))):
        told = outlying(session_levels(values, laid))
        plain += told[2] <= 0.05
        session = number % len(order)
        values[session] += 0.06
        at, deviation, p = outlying(session_levels(values, laid))
        found += at == session and p <= 0.05 and deviation > 0
    error = np.sqrt(0.05 * 0.95 / count)
    assert plain / count <= 0.05 + 3 * error
    assert found / count >= least - 3 * np.sqrt(least * (1 - least) / count)


def test_a_session_that_is_alone_is_not_counted_among_those_that_can_be_far() -> None:
    """Beside four of one kind and one of the other: Bonferroni over the four, each against the rest."""
    values = trials("AAAAB", 1, 9)[0]
    session, _, p = outlying(session_levels(values, layout("AAAAB")))
    level = values.mean(axis=1)
    four = level[:4]
    alone = [stats.ttest_ind([four[i]], np.delete(four, i)).pvalue for i in range(4)]
    assert session == int(np.argmin(alone))
    assert_allclose(p, min(4 * min(alone), 1.0), rtol=1e-9)
    assert p < 1.0  # so that the count is put to the test


def test_a_drift_is_found_and_none_is_not() -> None:
    order, count = "ABBAABBAABBA", 1500
    laid, alarms, found = layout(order), 0, 0
    ramp = np.linspace(0, 1, len(order))[:, None]
    for values in trials(order, count, 5):
        alarms += drift(session_levels(values, laid))[1] <= 0.05
        change, p = drift(session_levels(values + 0.03 * ramp, laid))
        found += p <= 0.05 and change > 0
    assert abs(alarms / count - 0.05) <= 3 * np.sqrt(0.05 * 0.95 / count)
    assert found / count > 0.9


def test_a_declared_trend_gives_back_what_a_drift_costs() -> None:
    """2 % of drift over six sessions costs more than half of the power; allowed for, it does not."""
    order, count = "ABBAAB", 1500
    values = trials(order, count, 6)
    values += 0.02 * np.array([[c == "B"] for c in order])
    ramp = 0.02 * np.linspace(0, 1, len(order))[:, None]
    runs = np.zeros((count, POINTS))
    place = np.arange(len(order), dtype=float)[:, None]
    steady = compare(values, runs, layout(order)).established.mean()
    drifting = compare(values + ramp, runs, layout(order)).established.mean()
    allowed = compare(values + ramp, runs, layout(order, place)).established.mean()
    assert drifting < steady - 0.1
    assert allowed > drifting + 0.05
    unchanged = trials(order, count, 7) + ramp
    false = compare(unchanged, runs, layout(order, place)).established.any(axis=-1).mean()
    assert false <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / count)


@pytest.mark.parametrize("seed", range(4))
def test_randomisation_against_scipy(seed: int) -> None:
    order = "ABBAABBA"
    values = trials(order, 1, seed)[0]
    levels = session_levels(values, layout(order))
    fitted = np.array(list(order))
    p, least = randomised(levels, fitted == "B", fitted == "A", None)
    mean = values.mean(axis=1)

    def statistic(x, y):
        return abs(x.mean() - y.mean())

    known = stats.permutation_test(
        (mean[fitted == "B"], mean[fitted == "A"]), statistic, alternative="greater"
    )
    assert p == pytest.approx(known.pvalue, abs=1e-12)
    assert least == pytest.approx(2 / 70)


def test_randomisation_leaves_a_third_configuration_where_it_is() -> None:
    order, pair = "ABCCBAC", [0, 1, 4, 5]
    values = trials(order, 1, 3)[0]
    names = np.array(list(order))
    found = randomised(session_levels(values, layout(order)), names == "B", names == "A", None)
    alone = session_levels(values[pair], layout("ABBA"))
    assert_allclose(found, randomised(alone, names[pair] == "B", names[pair] == "A", None))


def test_randomisation_within_days() -> None:
    order, days = "ABBAAB", list("112233")
    values = trials(order, 1, 2)[0]
    laid = contrasts(list(order), "A", "B", np.ones((6, POINTS), dtype=bool), days)
    fitted = np.array(list(order))
    p, least = randomised(session_levels(values, laid), fitted == "B", fitted == "A", days)
    assert least == pytest.approx(2 / 8)
    assert p >= least


def test_studentised_residuals_against_statsmodels() -> None:
    """Externally studentised residuals of the same regression."""
    from statsmodels.api import OLS

    order = "ABBAABB"
    values = trials(order, 1, 9)[0]
    found = outlying(session_levels(values, layout(order)))
    design = np.array([[c == "A", c == "B"] for c in order], dtype=float)
    influence = OLS(values.mean(axis=1), design).fit().get_influence()
    sizes = np.abs(influence.resid_studentized_external)
    assert found[0] == sizes.argmax()
    assert_allclose(found[2], min(2 * stats.t.sf(sizes.max(), 4) * 7, 1.0), rtol=1e-9)
