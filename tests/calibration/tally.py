"""Error rates, coverage and power of the analysis in an invented world, with their uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats
from world import SPEEDS, World, analyse_runs, simulate

Array = NDArray[np.float64]

USUAL = ("one way", "all runs", "double runs")


@dataclass(frozen=True)
class Tally:
    """Shares over the simulated trials of one world; `trials` gives their Monte Carlo error.

    Attributes
    ----------
    false : float
        Trials with any gain or loss where the truth is no change.
    covered : float
        Trials whose simultaneous intervals all hold the truth.
    both : float
        Trials in which nothing false was said: neither an interval missed nor a false verdict.
    found, oracle : float
        Set points with a true change that were named; by the analysis, and by a
        step-down oracle that knows the current and the variances.
    usual : dict
        Trials with any false gain or loss by three usual ways.
    """

    trials: int
    false: float
    covered: float
    both: float
    found: float
    oracle: float
    usual: dict[str, float]

    def error(self, share: float) -> float:
        """Monte Carlo standard error of a share."""
        return sqrt(share * (1 - share) / self.trials)


def tally(world: World, trials: int, seed: int, usual: bool = True) -> Tally:
    """Simulate trials of a world and count what is said of them."""
    rng = np.random.default_rng(seed)
    truth = np.log1p(np.array(world.effect))
    changed = truth != 0
    bounds = oracle_bounds(world, rng)
    false = covered = both = 0
    found, oracle = np.zeros(len(SPEEDS)), np.zeros(len(SPEEDS))
    wrong = dict.fromkeys(USUAL, 0)
    for _ in range(trials):
        frame = simulate(world, rng)
        judged = analyse_runs(world, frame).differences
        if judged is None:
            raise RuntimeError("a world with repeated sessions gave no comparison")
        said = judged.established & np.isfinite(judged.difference)
        right_side = np.sign(judged.difference) == np.sign(truth)
        is_false = bool((said & ~(changed & right_side)).any())
        inside = (judged.low <= truth) & (truth <= judged.high)
        is_covered = bool((inside | ~np.isfinite(judged.difference)).all())
        false += is_false
        covered += is_covered
        both += is_covered and not is_false
        found += said & changed & right_side
        if changed.any():
            size = np.abs(judged.difference) / np.sqrt(_difference_variance(world))
            oracle += step_down_oracle(size, bounds) & changed & right_side
        if usual:
            for way, share in usual_ways(world, frame).items():
                wrong[way] += bool((share & ~changed).any())
    number = max(int(changed.sum()), 1) * trials
    return Tally(
        trials=trials,
        false=false / trials,
        covered=covered / trials,
        both=both / trials,
        found=float(found.sum()) / number,
        oracle=float(oracle.sum()) / number,
        usual={way: count / trials for way, count in wrong.items()},
    )


def _difference_variance(world: World) -> Array:
    sessions = [world.order.count("A"), world.order.count("B")]
    return np.asarray(world.session_variance() * sum(1 / n for n in sessions))


def oracle_bounds(world: World, rng: np.random.Generator) -> Array:
    """95 % quantiles of the largest |difference| in units of its true standard error.

    Over families of 0 (never used), 1, 2… set points, drawn at random from the sweep: what an
    oracle that knows the noise holds differences against, step by step.
    """
    shared = world.between * np.array(world.loading)
    own = world.session_variance() - shared**2
    draws = shared * rng.standard_normal((40_000, 1))
    draws = draws + np.sqrt(own) * rng.standard_normal((40_000, len(SPEEDS)))
    sizes = np.abs(draws / np.sqrt(world.session_variance()))
    largest = np.maximum.accumulate(rng.permuted(sizes, axis=1), axis=1)
    return np.array([np.inf, *np.quantile(largest, 0.95, axis=0)])


def step_down_oracle(size: Array, bounds: Array) -> NDArray[np.bool_]:
    """Which differences the oracle names, shape (..., set points); named ones leave the family."""
    named = np.zeros(size.shape, dtype=bool)
    for _ in range(size.shape[-1]):
        left = size.shape[-1] - named.sum(axis=-1, keepdims=True)
        named = named | (size > bounds[left])
    return named


def usual_ways(world: World, frame: pd.DataFrame) -> dict[str, NDArray[np.bool_]]:
    """Set points called different at 5 % by three usual ways, each with Student's t-test."""
    modified = np.array([fitted == "B" for fitted in world.order])
    session = frame["session"].str.slice(1).astype(int).to_numpy() - 1
    point = ((frame["set_point"].to_numpy() - 1000.0) / 500.0).round().astype(int)
    speed = frame["speed_over_ground"].to_numpy()
    group = point + len(SPEEDS) * modified[session]
    pair = (group * len(world.order) + session) * 100 + frame["double_run"].to_numpy()
    _, first, pair = np.unique(pair, return_index=True, return_inverse=True)
    means = np.bincount(pair, speed) / np.bincount(pair)
    out = frame["direction"].to_numpy() == "out"
    return {
        "one way": _t_tests(speed[out], group[out]),
        "all runs": _t_tests(speed, group),
        "double runs": _t_tests(means, group[first]),
    }


def _t_tests(values: Array, group: NDArray[np.int_]) -> NDArray[np.bool_]:
    """One two-sample t-test a set point; groups are set point, then set point as modified."""
    n = np.bincount(group, minlength=2 * len(SPEEDS)).astype(float)
    mean = np.bincount(group, values, minlength=n.size) / np.maximum(n, 1)
    squares = np.bincount(group, (values - mean[group]) ** 2, minlength=n.size)
    spread = np.sqrt(squares / np.maximum(n - 1, 1))
    (na, nb), (ma, mb), (sa, sb) = (x.reshape(2, -1) for x in (n, mean, spread))
    testable = (na > 0) & (nb > 0) & (na + nb > 2)
    with np.errstate(all="ignore"):
        p = stats.ttest_ind_from_stats(mb, sb, nb, ma, sa, na).pvalue
    return np.asarray(testable & (p < 0.05))
