"""What a design can see: chance of establishing a difference, and smallest difference it shows.

The noise floors that a design will have are drawn through the analysis itself: session values and
run noise are simulated and handed to `compare`, as those of a trial are. Given its floor, the
chance that a difference passes it is known exactly, for the residuals that a floor is made of are
independent of the difference. So a few thousand draws give the power to a fraction of a point,
and one set of floors serves every size of difference.

That raters agree is asked of a rating as well. It takes the sessions to differ by enough, the difference
included; so it is a floor of its own, independent of the difference too, and the larger of both counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb, log

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from slackwater.analysis.reduction.run_noise import pool_run_noise
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.statistics.panel import agree, least_agreed

Array = NDArray[np.float64]

SEED = 20260504
QUANTILES = 96  # that stand for the distribution of a floor
_DRAWN_SESSIONS = 24_000  # over all trials of a design; floors from many sessions vary little


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard deviations on the scale of the analysis: logarithms for ratios.

    Attributes
    ----------
    between_sessions : float
        Shared by the set points of a session.
    session_by_set_point : float
        Of a set point in one session.
    within_session : float
        Between double runs of one set point and session.
    df : float or None
        Degrees of freedom that they are known from; None when they are assumed.
    """

    between_sessions: float
    session_by_set_point: float
    within_session: float
    df: float | None = None

    def scaled(self, factor: float) -> Noise:
        """The same noise, so many times as large."""
        return Noise(
            self.between_sessions * factor,
            self.session_by_set_point * factor,
            self.within_session * factor,
            self.df,
        )


@dataclass(frozen=True, slots=True)
class Design:
    """Sessions with each configuration, and double runs at each set point of a session."""

    sessions: int
    double_runs: int


@dataclass(frozen=True, slots=True)
class Setting:
    """What a protocol fixes for every design.

    Attributes
    ----------
    set_points : int
    configurations : int
        Two are compared; sessions of further ones help to tell the noise.
    blocked : bool
        Each block holds one session of every configuration, and is compared within.
    confidence : float
        That the comparisons are computed with, 0 to 1.
    simultaneous : bool
    current : str
        How the current is taken out of the quantity; "double_run" where it carries none.
    prior : Noise or None
        What the protocol declares of earlier trials, which the analysis joins in.
    prior_by_set_point : bool
        The prior tells the part of each set point.
    known, common : float
        Variance of a difference from instruments that do not cancel: of errors at each set point
        by itself, and of one that all set points share.
    agreement : float or None
        Of a rating, the confidence at which its raters have to agree on the sessions before any verdict, 0 to 1.
    """

    set_points: int
    configurations: int = 2
    blocked: bool = False
    confidence: float = 0.95
    simultaneous: bool = True
    current: str = "double_run"
    prior: Noise | None = None
    prior_by_set_point: bool = True
    known: float = 0.0
    common: float = 0.0
    agreement: float | None = None

    def run_factor(self, double_runs: int) -> float:
        """Variance of a session value from its runs over that of one double run. [1]"""
        if self.current == "mean_of_means":
            n = 2 * double_runs
            return 2 * sum(comb(n - 1, k) ** 2 for k in range(n)) / 4.0 ** (n - 1)
        return 1 / double_runs

    def run_df(self, double_runs: int) -> float:
        """Degrees of freedom of the run noise that a set point and session give. [1]

        The fit of the current takes one degree of freedom from a short session and, as its degree
        is chosen by what the runs can carry, about 0.8 more with each e-fold beyond ten runs
        (seen in simulated sessions with 0.3 to 1 kn of tide).
        """
        if self.current == "tide_fit":
            runs = 2 * double_runs * self.set_points
            parameters = 1 + 0.8 * max(log(runs / 10), 0.0)
            return max(2 * double_runs - 1 - parameters / self.set_points, 0.0)
        return double_runs - 1.0

    def session_df(self, sessions: int) -> float:
        """Degrees of freedom between sessions, those of earlier trials included. [1]"""
        rows = self.configurations * sessions
        fixed = self.configurations + (sessions - 1 if self.blocked else 0)
        prior = self.prior.df if self.prior is not None and self.prior.df is not None else 0.0
        return rows - fixed + prior

    def variance(self, design: Design, noise: Noise) -> float:
        """Variance of one session value."""
        runs = noise.within_session**2 * self.run_factor(design.double_runs)
        return noise.between_sessions**2 + noise.session_by_set_point**2 + runs

    def spread(self, design: Design, noise: Noise) -> float:
        """Standard deviation of a difference."""
        known = self.known + self.common
        return float(np.sqrt(2 / design.sessions * self.variance(design, noise) + known))

    def prior_noise(self, design: Design) -> PriorNoise | None:
        """The declared noise as the analysis takes it, for one design."""
        prior = self.prior
        if prior is None:
            return None
        return PriorNoise(
            between_sessions=prior.between_sessions**2,
            session_by_set_point=prior.session_by_set_point**2 if self.prior_by_set_point else None,
            within_session=prior.within_session**2 / design.double_runs,
            df=float(prior.df or 0.0),
        )

    def layout(self, sessions: int) -> Contrasts:
        """Which sessions are compared: one of every configuration in turn."""
        letters = [chr(65 + c) for _ in range(sessions) for c in range(self.configurations)]
        blocks = [str(k) for k in range(sessions) for _ in range(self.configurations)]
        present = np.ones((len(letters), self.set_points), dtype=bool)
        return contrasts(letters, "A", "B", present, blocks if self.blocked else None)


def draw(
    design: Design, noise: Noise, setting: Setting, trials: int, rng: np.random.Generator
) -> tuple[Array, Array]:
    """Simulate session values of trials in which nothing has changed.

    Returns
    -------
    values : ndarray, shape (trials, sessions, set_points)
    runs : ndarray, shape (trials, set_points)
        Variance of a session value from its runs, as the scatter of the runs would tell it.
    """
    sessions, points = setting.configurations * design.sessions, setting.set_points
    runs_variance = noise.within_session**2 * setting.run_factor(design.double_runs)
    own = np.sqrt(noise.session_by_set_point**2 + runs_variance)
    values = noise.between_sessions * rng.standard_normal((trials, sessions, 1))
    values = values + own * rng.standard_normal((trials, sessions, points))
    # Raters have levels of their own, which take as much as a session from what tells their noise.
    telling = sessions if setting.agreement is None else sessions - 1
    df = telling * setting.run_df(design.double_runs)
    if df <= 0 or runs_variance == 0:
        return values, np.zeros((trials, points))
    told = runs_variance * rng.chisquare(df, (trials, points)) / df
    return values, pool_run_noise(told, np.full((trials, points), df))


def floors(
    design: Design,
    noise: Noise,
    setting: Setting,
    trials: int | None = None,
    seed: int = SEED,
) -> Array:
    """Noise floors that trials of this design will have.

    Parameters
    ----------
    design : Design
    noise : Noise
        The truth that is supposed.
    setting : Setting
    trials : int, optional
        Simulated trials; enough for a fraction of a point of power when not given.
    seed : int

    Returns
    -------
    ndarray, shape (QUANTILES,)
        Evenly spaced quantiles, on the scale of the analysis; infinite where a trial of this
        design could tell nothing.
    """
    if trials is None:
        trials = max(_DRAWN_SESSIONS // (setting.configurations * design.sessions), 400)
    rng = np.random.default_rng([seed, design.sessions, design.double_runs])
    values, runs = draw(design, noise, setting, trials, rng)
    found = compare(
        values,
        runs,
        setting.layout(design.sessions),
        confidence=setting.confidence,
        simultaneous=setting.simultaneous,
        prior=setting.prior_noise(design),
        known=setting.known,
        common=setting.common,
    )
    if found is None or (setting.agreement is not None and design.double_runs < 2):
        return np.full(QUANTILES, np.inf)  # one rater agrees with nobody
    width = found.half_width
    if setting.agreement is not None:
        sides = _fitted(design, setting) == np.array([[0], [1]])
        width = np.maximum(width, least_agreed(values[..., 0], runs[..., 0], sides, design.double_runs, setting.agreement)[:, None])  # fmt: skip
    at = (np.arange(QUANTILES) + 0.5) / QUANTILES
    return np.asarray(np.quantile(width, at))


def _fitted(design: Design, setting: Setting) -> NDArray[np.int_]:
    """Which configuration each session of `draw` has."""
    return np.arange(setting.configurations * design.sessions) % setting.configurations


def power_of(floor: Array, spread: ArrayLike, effect: ArrayLike) -> Array:
    """Chance that a difference at one set point is established on its side.

    Parameters
    ----------
    floor : ndarray, shape (..., QUANTILES)
    spread, effect : array_like, shape (...)
        Standard deviation of a difference, and its true size, on the scale of the analysis.
    """
    size = np.abs(np.asarray(effect, dtype=float))[..., None]
    width = np.asarray(spread, dtype=float)[..., None]
    return np.asarray(ndtr((size - floor) / width).mean(axis=-1))


def detectable_by(floor: Array, spread: ArrayLike, power: float) -> Array:
    """Smallest difference that has this power, on the scale of the analysis, shape (...)."""
    width = np.asarray(spread, dtype=float)
    told = np.isfinite(floor[..., -1])
    floor = np.where(told[..., None], floor, 0.0)
    low = np.zeros(np.broadcast_shapes(floor.shape[:-1], width.shape))
    high = floor[..., -1] + 6 * width
    for _ in range(40):
        middle = (low + high) / 2
        enough = power_of(floor, width, middle) >= power
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.asarray(np.where(told, high, np.inf))


def realised_power(
    design: Design,
    noise: Noise,
    setting: Setting,
    effect: float,
    trials: int = 4000,
    seed: int = SEED,
    everywhere: bool = False,
) -> tuple[float, float]:
    """Share of simulated trials in which the analysis establishes the difference at a set point.

    Parameters
    ----------
    effect : float
        True difference at the first set point, on the scale of the analysis.
    everywhere : bool
        It is there at every set point, not at the first alone.

    Returns
    -------
    share : float
        Of the trials, 0 to 1. Where the difference is everywhere, the mean over the set points.
    error : float
        Its Monte Carlo standard error.
    """
    rng = np.random.default_rng([seed, design.sessions, design.double_runs, 1])
    values, runs = draw(design, noise, setting, trials, rng)
    fitted = _fitted(design, setting)
    changed = slice(None) if everywhere else slice(0, 1)
    values[:, fitted == 1, changed] += effect
    if setting.common > 0:  # one and the same at all set points
        values[:, fitted == 1, :] += np.sqrt(setting.common) * rng.standard_normal((trials, 1, 1))
    if setting.known > 0:
        points = values.shape[-1]
        off = np.sqrt(setting.known) * rng.standard_normal((trials, 1, points))
        values[:, fitted == 1, :] += off
    found = compare(
        values,
        runs,
        setting.layout(design.sessions),
        confidence=setting.confidence,
        simultaneous=setting.simultaneous,
        prior=setting.prior_noise(design),
        known=setting.known,
        common=setting.common,
    )
    if found is None:
        return 0.0, 0.0
    seen = (found.established & (np.sign(found.difference) == np.sign(effect)))[:, changed]
    if setting.agreement is not None:
        seen &= agree(values[..., 0], runs[..., 0], design.double_runs, setting.agreement)[:, None]
    by_trial = seen.mean(axis=1)
    return float(by_trial.mean()), float(by_trial.std() / np.sqrt(trials))
