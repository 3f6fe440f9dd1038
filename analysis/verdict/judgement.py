"""One comparison of a trial: session values to rows of the result."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.decisions import natural
from slackwater.analysis.verdict.rows import rows_of
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.numbers import (
    change_scale,
    uncertainty_text,
    with_unit,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Judged:
    """The comparison of two configurations in one quantity along the sweep.

    `prior` tells whether noise of earlier trials was declared for it.
    """

    table: SessionValues
    layout: Contrasts
    differences: Differences | None
    rows: tuple[Compared, ...]
    configurations: tuple[str, ...] = ()
    prior: bool = False

    @property
    def pair(self) -> tuple[str, str]:
        """Baseline and modified."""
        return self.rows[0].baseline, self.rows[0].modified

    def mean_of(self, name: str) -> Array:
        """Mean of a configuration's sessions on the scale of the analysis, shape (positions,)."""
        mine = self.table.on_scale()[np.array(self.configurations) == name]
        count = np.isfinite(mine).sum(axis=0)
        total = np.nansum(mine, axis=0)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def judge_sweep(
    table: SessionValues,
    configurations: Sequence[str],
    baseline: str,
    modified: str,
    terms: Terms,
    blocks: Sequence[str] | None = None,
    refused: Mapping[int, str] | None = None,
) -> Judged:
    """Compare two configurations along the sweep and give each comparison its verdict.

    Parameters
    ----------
    table : SessionValues
    configurations : sequence of str, length sessions
        What was fitted in each session of the table.
    baseline, modified : str
    terms : Terms
    blocks : sequence of str, optional
        Sessions of one block are compared with each other only.
    refused : mapping, optional
        Positions (by index) on which no verdict may be given, with the reason.

    Returns
    -------
    Judged
        `rows` are rows of the result's table of comparisons.
    """
    values, beyond = _within_reach(table, configurations, (baseline, modified))
    layout = contrasts(
        configurations, baseline, modified, np.isfinite(values), blocks, table.covariates
    )
    runs = table.run_variance_on_scale()
    known, common = known_variances(table, configurations, baseline, modified)
    declared = table.loading if terms.loading is None else terms.loading
    loading = np.ones(len(table.positions)) if declared is None else declared
    differences = None
    if not table.untestable:
        differences = compare(
            values / loading,
            runs / loading**2,
            layout,
            confidence=terms.level or terms.confidence,
            simultaneous=terms.simultaneous,
            prior=terms.prior,
            known=known / loading**2,
            common=common / loading**2,
        )
    if differences is not None and declared is not None:
        differences = differences.scaled(loading)
    sides = _Sides(table, list(configurations), baseline, modified)
    if differences is None:
        rows = _rows_without_noise(table, layout, runs, sides, terms, beyond)
    else:
        no_verdict = sides.too_few(terms) | beyond | dict(refused or {})
        rows = rows_of(
            table, differences, sides, terms, no_verdict, _holding(differences, table, terms)
        )
    return Judged(
        table,
        layout,
        differences,
        tuple(rows),
        tuple(configurations),
        prior=terms.prior is not None,
    )


def known_variances(
    table: SessionValues, configurations: Sequence[str], baseline: str, modified: str
) -> tuple[Array, Array]:
    """Variance of a difference that does not come from the sessions, shape (positions,) each.

    Independent from position to position, and common to all: from instruments that do not cancel,
    as they are declared, and from reading between the set points, which is independent.
    """
    fitted = np.array(configurations)
    sides = fitted == baseline, fitted == modified
    if table.curve_errors is not None and all(side.any() for side in sides):
        curve = table.curve_errors.of_difference(*sides)
    else:
        curve = sum((table.curve_variance_of(side) for side in sides), np.zeros(1))
    none = np.zeros(len(table.positions))
    if table.common_errors:
        return curve, np.broadcast_to(table.instrument_variance, none.shape)
    return table.instrument_variance + curve, none


def _within_reach(
    table: SessionValues, configurations: Sequence[str], pair: tuple[str, str]
) -> tuple[Array, dict[int, str]]:
    """Values on the scale of the analysis without the positions that not all sessions reach.

    Sessions of the pair that happened to reach a position are not the same as all of them, so
    the others may not be left out. A session without any value is missing and forbids nothing.
    """
    values = table.on_scale()
    there = np.isfinite(values)
    mine = np.isin(configurations, pair) & there.any(axis=1)
    beyond = {
        p: reason
        for p, reason in enumerate(table.beyond)
        if reason and not (mine.any() and there[mine, p].all())
    }
    if beyond:
        values = values.copy()
        values[:, list(beyond)] = np.nan
    return values, beyond


class _Sides:
    """The two sides of a comparison: their means and how many sessions stand behind them."""

    scattering = "sessions"

    def __init__(
        self, table: SessionValues, configurations: list[str], baseline: str, modified: str
    ) -> None:
        fitted = np.array(configurations)
        self.baseline, self.modified = baseline, modified
        self.table = table
        self.values = {name: table.values[fitted == name] for name in (baseline, modified)}

    def mean(self, name: str, p: int) -> float | None:
        """Mean of the sessions: geometric where ratios are compared."""
        values = self.values[name][:, p]
        values = values[np.isfinite(values)]
        if not values.size:
            return None
        if self.table.scale == "ratio" and (values > 0).all():
            return float(np.exp(np.log(values).mean()))
        return float(values.mean())

    def sessions(self, name: str, p: int) -> int:
        return int(np.isfinite(self.values[name][:, p]).sum())

    def missing(self, p: int) -> str:
        """Why there is no difference at a position."""
        for name in (self.baseline, self.modified):
            if self.sessions(name, p) == 0:
                if self.table.kind == "whole sweep":
                    return f"no session with {name} has a value of it"
                return f"{name} has no whole double run here that gives a value of it"
        if self.table.covariates is not None:
            return (
                "what is to be allowed for differed with the configuration, or the sessions are too "
                "few to estimate its effect"
            )
        return "no block holds sessions of both configurations here"

    def too_few(self, terms: Terms) -> dict[int, str]:
        """Positions at which a side has one session, and nothing else tells of its noise.

        Sessions of the other side tell how those differ from each other, not how much this one
        differs from what it would have been on another day.
        """
        if terms.prior is not None:
            return {}
        found = {}
        for p in range(len(self.table.positions)):
            for name in (self.baseline, self.modified):
                if self.sessions(name, p) == 1:
                    found[p] = (
                        f"{name} has one session here, and one session may have been out of the "
                        "ordinary; the difference is that of the day"
                    )
        return found

    def untestable(self, p: int, terms: Terms, reason: str) -> Compared:
        """The comparison at one position before, or without, any interval."""
        table = self.table
        return Compared(
            baseline=self.baseline,
            modified=self.modified,
            quantity=table.quantity,
            at=table.labels[p],
            position=float(table.positions[p]),
            baseline_mean=self.mean(self.baseline, p),
            modified_mean=self.mean(self.modified, p),
            unit=table.unit,
            scale=table.scale,
            better=table.better,
            sessions_baseline=self.sessions(self.baseline, p),
            sessions_modified=self.sessions(self.modified, p),
            confidence=terms.confidence,
            simultaneous=terms.simultaneous,
            worthwhile=terms.worthwhile_at(p),
            deciding=terms.deciding,
            verdict=Word.UNTESTABLE,
            reason=reason,
        )


def _holding(found: Differences, table: SessionValues, terms: Terms) -> Callable[[int], str]:
    """What verdicts rest on besides, where nothing in the trial checks the noise declared."""
    if terms.prior is None or found.noise.prior_fits is not None:
        return lambda p: ""
    return lambda p: _only_if(found, table, p)


def _only_if(found: Differences, table: SessionValues, p: int) -> str:
    """Up to which noise a verdict holds that rests on earlier trials alone."""
    if not found.established[p]:
        return "; the noise is that of earlier trials, which nothing here can check"
    ratio = np.abs(found.difference[p]) / found.floor[p]
    most = float(np.sqrt(found.noise.total[p]) * ratio)
    scale = change_scale(table.scale, table.unit)
    size = with_unit(uncertainty_text(scale.of(natural(most, table.scale))), scale.unit)
    return f"; holds only if session values scatter by no more than {size} when nothing is changed"


def _rows_without_noise(
    table: SessionValues,
    layout: Contrasts,
    runs: Array,
    sides: _Sides,
    terms: Terms,
    beyond: Mapping[int, str],
) -> list[Compared]:
    """Nothing tells the noise between sessions: the difference on the day, and no verdict."""
    values = np.where(np.isfinite(table.on_scale()), table.on_scale(), 0.0)
    rows = []
    for p in range(len(table.positions)):
        weights = layout.weights[:, p]
        if table.untestable:
            rows.append(sides.untestable(p, terms, table.untestable))
            continue
        if not np.isfinite(weights).all():
            rows.append(sides.untestable(p, terms, beyond.get(p) or sides.missing(p)))
            continue
        difference = float(weights @ values[:, p])
        spread = float((weights**2).sum())
        vanishing = vanishing_noise(difference, spread, float(runs[p]))
        reason = (
            "no configuration was run in more than one session, so nothing tells how much sessions "
            "differ when nothing is changed; the difference is that of the day"
        )
        if terms.prior is not None:
            reason = (
                "the noise of earlier trials leaves open how much one set point differs from the "
                "others by itself (session_by_set_point), and no session is repeated to tell"
            )
        rows.append(
            replace(
                sides.untestable(p, terms, reason),
                change=natural(difference, table.scale),
                vanishes_at=natural(vanishing, table.scale),
            )
        )
    return rows


def vanishing_noise(difference: float, spread: float, runs: float) -> float:
    """Standard deviation between sessions at which a difference would drown in it.

    Parameters
    ----------
    difference : float
        On the scale of the analysis.
    spread : float
        Variance of the difference per unit variance of a session value. [1]
    runs : float
        Variance of a session value from its runs, which counts in any case.

    Returns
    -------
    float
        The one whose 95 % interval, were the noise known exactly, just reaches zero.
    """
    whole = (difference / 1.959963984540054) ** 2 / spread
    return float(np.sqrt(max(whole - runs, 0.0)))
