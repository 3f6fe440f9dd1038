"""What it costs a rating that its raters have to agree before any verdict is given: simulated."""

from __future__ import annotations

import numpy as np
from scipy.special import fdtri, ndtri, stdtrit

from slackwater.analysis.planning.power import Design, Noise


def told_by_raters(
    design: Design, noise: Noise, effect: float, confidence: float, *, trials: int = 4000
) -> float:
    """The chance that a difference is established and the raters agree. [1]

    Parameters
    ----------
    design : Design
        Sessions with each of two configurations, and raters in the place of double runs.
    noise : Noise
        Between sessions, and of one score about session and rater. [points]
    effect : float
        [points]
    confidence : float
        Of the verdict and of the agreement, 0 to 1.
    trials : int
        Simulated from one seed; the Monte Carlo error is below one point.

    Notes
    -----
    Scores are taken as normal, and rater levels cancel where all raters score every session. The comparison
    of one position is Student's t on the session values, never narrower than the scores alone allow; agreement is F of sessions over residuals.
    """
    n, k = design.sessions, design.double_runs
    if n < 2 or k < 2:
        return 0.0
    rng = np.random.default_rng(20260907)
    modified = np.arange(2 * n) % 2 == 1
    of_session = np.hypot(noise.between_sessions, noise.session_by_set_point)
    shared = rng.normal(0, of_session, (trials, 2 * n)) + effect * modified
    df = (2 * n - 1) * (k - 1)
    residual = noise.within_session**2 * rng.chisquare(df, trials) / df
    values = shared + rng.normal(0, noise.within_session / np.sqrt(k), (trials, 2 * n))
    sides = values[:, modified], values[:, ~modified]
    apart = sides[0].mean(axis=1) - sides[1].mean(axis=1)
    pooled = (sides[0].var(axis=1, ddof=1) + sides[1].var(axis=1, ddof=1)) / 2
    tail = 1 - (1 - confidence) / 2
    bound = np.maximum(
        stdtrit(2 * n - 2, tail) * np.sqrt(2 * pooled / n),
        ndtri(tail) * np.sqrt(2 * residual / k / n),
    )
    established = apart > bound
    ratio = k * values.var(axis=1, ddof=1) / residual
    return float((established & (ratio > fdtri(2 * n - 1, df, confidence))).mean())
