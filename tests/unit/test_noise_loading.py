"""What past trials propose of the loading along the sweep."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from slackwater.analysis.planning.noise_budget import BETWEEN, Budget, Component
from slackwater.analysis.planning.noise_loading import LoadingFound, bartlett, loading_found
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.report.noise.text import render
from slackwater.analysis.report.noise.yaml_block import block
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts

LEVEL = np.array([6.0, 8.0, 12.0, 18.0, 24.0])  # kn
ORDER = list("ABBAABBA")

Array = NDArray[np.float64]


def past(strengths: Array, seed: int, points: Array = LEVEL) -> tuple[SessionValues, Contrasts]:
    """An invented trial whose sessions differ by 0.8 % where the strength is one."""
    rng = np.random.default_rng(seed)
    shape = (len(ORDER), len(points))
    noise = 0.008 * strengths * rng.standard_normal((len(ORDER), 1))
    values = points * np.exp(noise + 0.002 * strengths * rng.standard_normal(shape))
    table = SessionValues(
        quantity="speed",
        unit="kn",
        better="more",
        scale="ratio",
        positions=np.arange(1.0, len(points) + 1),
        labels=tuple(f"{1000 * k} rpm" for k in range(1, len(points) + 1)),
        sessions=tuple(f"S{s}" for s in range(len(ORDER))),
        values=values,
        run_variance=np.full(shape, 1e-6),
        double_runs=np.ones(shape),
        instrument_variance=np.zeros(len(points)),
    )
    return table, contrasts(ORDER, "A", "B", np.isfinite(values))


def proposed(strengths: Array) -> LoadingFound:
    trials = [past(strengths, seed) for seed in range(4)]
    found = loading_found([t for t, _ in trials], [c for _, c in trials])
    assert found is not None
    return found


def test_bartlett_is_that_of_scipy() -> None:
    rng = np.random.default_rng(3)
    samples = [size * rng.standard_normal(n) for size, n in ((1, 8), (2, 6), (1.5, 12))]
    squares = np.array([each.var(ddof=1) for each in samples])
    df = np.array([len(each) - 1.0 for each in samples])
    assert bartlett(squares, df) == pytest.approx(stats.bartlett(*samples).pvalue, rel=1e-9)


def test_even_noise_proposes_nothing() -> None:
    found = proposed(np.ones(5))
    assert found.shape == "even"
    assert found.evenness > 0.05
    assert found.strengths == pytest.approx([1.0] * 5)
    assert found.trials == 4
    assert found.df == pytest.approx(24)


def test_as_much_in_knots_everywhere() -> None:
    found = proposed(12 / LEVEL)
    assert found.shape == "constant"
    assert found.evenness < 1e-4
    assert found.fit > 0.05
    strengths = np.array(found.strengths)
    assert strengths / strengths[2] == pytest.approx(12 / LEVEL, rel=0.02)


def test_a_hump_is_proposed_point_by_point() -> None:
    found = proposed(np.array([1.0, 1.0, 4.0, 1.0, 1.0]))
    assert found.shape == "by set point"
    strengths = np.array(found.strengths)
    assert strengths.argmax() == 2
    assert 2.5 < strengths[2] / np.median(strengths) < 6
    assert strengths.min() >= 0.5 * np.median(strengths)


def test_noise_of_runs_is_no_loading() -> None:
    """Slow set points whose runs scatter more are no reason to believe that sessions do."""
    rng = np.random.default_rng(9)
    tables, layouts = [], []
    for seed in range(4):
        table, layout = past(np.ones(5), seed)
        runs = np.array([0.4, 0.2, 0.1, 0.05, 0.05]) / 10  # as fractions
        noisy = table.values * np.exp(runs * rng.standard_normal(table.values.shape))
        variance = (runs * table.values) ** 2
        tables.append(replace(table, values=noisy, run_variance=variance))
        layouts.append(layout)
    found = loading_found(tables, layouts)
    assert found is not None
    assert found.shape == "even"


def unlike() -> LoadingFound | None:
    """Set points that scatter unlike where runs alone are known to scatter by more than all of it."""
    table, layout = past(np.ones(3), 1, LEVEL[:3])
    own = np.random.default_rng(4).standard_normal(table.values.shape)
    runs = (0.05 * LEVEL[:3]) ** 2 * np.ones_like(own)
    values = LEVEL[:3] * np.exp(own * [0.002, 0.01, 0.01])
    return loading_found([replace(table, values=values, run_variance=runs)], [layout])


def test_set_points_unlike_by_their_runs_alone_propose_nothing() -> None:
    found = unlike()
    assert found is not None
    assert found.evenness < 0.05
    assert found.shape == "even"
    assert found.strengths == (1.0, 1.0, 1.0)


def test_other_set_points_are_left_out_and_too_few_sessions_tell_nothing() -> None:
    first, other = past(np.ones(5), 1), past(np.ones(3), 2, LEVEL[:3])
    both = loading_found([first[0], other[0]], [first[1], other[1]])
    assert both is not None
    assert both.trials == 1
    table, _ = first
    few = contrasts(ORDER, "A", "B", np.isfinite(table.values) & (np.arange(8) < 4)[:, None])
    assert loading_found([table], [few]) is None
    assert loading_found([], []) is None


@pytest.mark.parametrize(
    ("strengths", "told", "line"),
    [
        (None, "Set points scatter less alike than chance would have them: speed (p", None),
        (np.ones(5), "No set point where sessions differ more", None),
        (12 / LEVEL, "by as much in its unit everywhere", "loading: {speed: constant}"),
        (np.array([1, 1, 4.0, 1, 1]), "most at 3000 rpm", "loading: {speed: ["),
    ],
)
def test_it_is_told_and_can_be_declared(
    strengths: Array | None, told: str, line: str | None
) -> None:
    found = unlike() if strengths is None else proposed(strengths)
    assert found is not None
    component = Component(BETWEEN, 0.008, 0.006, 0.012, 24.0)
    rest = [Component(name, None, None, None, 0.0) for name in (
        "session by set point", "between double runs", "between passes")]  # fmt: skip
    budget = Budget(
        quantity="speed", unit="", scale="ratio", trials=4, sessions=32,
        components=(component, *rest), within_session=0.004, repeatability=0.004,
        reproducibility=0.009, double_runs=2.0, between_df=24.0, loading=found,
    )  # fmt: skip
    noise = NoiseResult((budget,), ("one", "two", "three", "four"))
    text = " ".join(render(noise).split())
    assert told in text
    made = block(noise)
    assert (line is None) == ("loading" not in made)
    assert line is None or f"#   {line}" in made
    row = noise.to_dict()["loading"][0]
    assert row["strengths"] == list(found.strengths)
