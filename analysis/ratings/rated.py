"""Scores to session values: an item is a quantity at one position, and the raters are a block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.ratings.guessed import Blinding, blinding_of
from slackwater.analysis.statistics.agreement import (
    Estimate,
    complete,
    intraclass,
    kendall_w,
    krippendorff_alpha,
)
from slackwater.analysis.statistics.panel import Panel, panel_of, ranks_within, shared_excess
from slackwater.protocol.declared.protocol_agreement import LEAST_SESSIONS

if TYPE_CHECKING:
    from slackwater.analysis.intake.rating_table import Rating, RatingTable
    from slackwater.protocol.declared.ratings import RatedItem
    from slackwater.protocol.declared.trial import Trial

Array = NDArray[np.float64]

#: Appended to the name of an item whose scores are taken as ranks.
BY_RANKS = "_by_ranks"


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far the raters of one item agree.

    Attributes
    ----------
    raters, whole_raters : int
        All of them, and those who scored every session; ICC and W rest on the latter.
    single, mean : Estimate
        ICC, two-way and absolute: of one rater, and of the mean of those raters.
    w, w_p : float
        Kendall's coefficient of concordance, and its p.
    alpha : float
        Krippendorff's, ordinal.
    p : float
        How often raters who agree on nothing differ as much over the sessions: F of sessions over
        residuals, of the scores, or of the ranks for an ordinal item.
    """

    raters: int
    whole_raters: int
    single: Estimate
    mean: Estimate
    w: float
    w_p: float
    alpha: float
    p: float


@dataclass(frozen=True, slots=True)
class RatedFigure:
    """One item of a trial, from scores to its session values.

    Attributes
    ----------
    name : str
    item : RatedItem
    scores : ndarray, shape (sessions, raters)
        NaN where a rater did not score a session. [points]
    raters : tuple of str
    table : SessionValues
        What is judged. [points]
    ranks : SessionValues
        The same by ranks within each rater, -1 to 1; never judged for a verdict of its own.
    agreement : Agreement
    lowest_part, highest_part : float
        Part of the scores at either end of the scale. [1]
    """

    name: str
    item: RatedItem
    scores: Array
    raters: tuple[str, ...]
    table: SessionValues
    ranks: SessionValues
    agreement: Agreement
    lowest_part: float
    highest_part: float


@dataclass(frozen=True, slots=True)
class Rated:
    """All ratings of a trial.

    Attributes
    ----------
    read : RatingTable
    blinding : Blinding
    figures : tuple of RatedFigure
        In the order of the protocol; an item that nobody scored is none.
    """

    read: RatingTable
    blinding: Blinding
    figures: tuple[RatedFigure, ...]

    @property
    def tables(self) -> dict[str, SessionValues]:
        """What is judged, by key."""
        return {each.table.key: each.table for each in self.figures}


def rated_of(trial: Trial, read: RatingTable, sessions: tuple[str, ...]) -> Rated:
    """Put the scores of a trial into tables of session values.

    Parameters
    ----------
    trial : Trial
    read : RatingTable
    sessions : tuple of str
        Those with runs, tries or scores that are used, in the order run.
    """
    asked = trial.protocol.ratings
    assert asked is not None
    blinding = blinding_of(trial, read)
    fitted = {each.id: each.configuration for each in trial.sessions}
    groups = [fitted[session] for session in sessions]
    trend = trial.protocol.analysis.trend == "linear"
    confidence = trial.protocol.analysis.confidence.to("%").value / 100
    figures = []
    for name, item in asked.items.items():
        mine = [each for each in read.used if each.item == name]
        if mine:
            figures.append(
                _figure(name, item, mine, sessions, groups, blinding, confidence, trend=trend)
            )
    return Rated(read, blinding, tuple(figures))


def _figure(
    name: str,
    item: RatedItem,
    mine: Sequence[Rating],
    sessions: tuple[str, ...],
    fitted: Sequence[str],
    blinding: Blinding,
    confidence: float,
    *,
    trend: bool,
) -> RatedFigure:
    raters = tuple(dict.fromkeys(each.rater for each in mine))
    scores = np.full((len(sessions), len(raters)), np.nan)
    for each in mine:
        scores[sessions.index(each.session), raters.index(each.rater)] = each.score
    panel, ranked = panel_of(scores), panel_of(ranks_within(scores))
    agreed = agreement_of(scores, panel, ranked, ordinal=item.scale == "ordinal")
    reason = untestable(panel, agreed, raters, confidence)
    label = f"{blinding.word}, {_count(len(raters))}"
    values = session_values(name, item.better, label, panel, scores, sessions, fitted, reason)
    ranks = session_values(
        name + BY_RANKS, item.better, label, ranked, scores, sessions, fitted, reason
    )
    ranks = replace(ranks, unit="rank")
    if trend:
        values, ranks = _with_trend(values), _with_trend(ranks)
    seen = scores[np.isfinite(scores)]
    return RatedFigure(
        name,
        item,
        scores,
        raters,
        values,
        ranks,
        agreed,
        float((seen == item.lowest).mean()),
        float((seen == item.highest).mean()),
    )


def _count(raters: int) -> str:
    return f"{raters} rater" if raters == 1 else f"{raters} raters"


def _with_trend(table: SessionValues) -> SessionValues:
    from slackwater.analysis.sweep.corrections import with_trend

    return with_trend(table) if len(table.sessions) >= LEAST_SESSIONS else table


def session_values(
    quantity: str,
    better: str | None,
    label: str,
    panel: Panel,
    scores: Array,
    sessions: tuple[str, ...],
    fitted: Sequence[str],
    reason: str = "",
) -> SessionValues:
    """The panel's levels of the sessions as the one table that every quantity goes through.

    The variance of a value from its runs is that of its scores about session and rater. What raters
    who missed sessions add to a difference stands with what reading off curves adds elsewhere.
    """
    names = list(dict.fromkeys(fitted))
    groups = np.array([[one == name for one in fitted] for name in names])
    excess = shared_excess(panel, groups)
    shared = np.array([excess[names.index(one)] for one in fitted])
    runs = np.diag(panel.covariance) * panel.residual_variance
    there = np.isfinite(panel.values)
    return SessionValues(
        quantity=quantity,
        unit="points",
        scale="difference",
        better=better,
        sessions=sessions,
        positions=np.array([np.nan]),
        labels=(label,),
        values=panel.values[:, None],
        run_variance=np.where(there, runs, np.nan)[:, None],
        double_runs=np.isfinite(scores).sum(axis=1)[:, None],
        instrument_variance=np.zeros(1),
        untestable=reason,
        kind="whole sweep",
        curve_variance=shared[:, None] if excess.any() else None,
    )


def agreement_of(scores: Array, panel: Panel, ranked: Panel, *, ordinal: bool) -> Agreement:
    """Every coefficient of agreement of one item."""
    whole = complete(scores)
    single, mean = intraclass(whole)
    w, w_p = kendall_w(whole)
    raters = int(np.isfinite(scores).any(axis=0).sum())
    p = ranked.agreement_p if ordinal else panel.agreement_p
    alpha = krippendorff_alpha(scores)
    return Agreement(raters, whole.shape[1], single, mean, w, w_p, alpha, p)


def untestable(panel: Panel, agreed: Agreement, raters: Sequence[str], confidence: float) -> str:
    """Why an item can be given no verdict; empty where it can."""
    if len(raters) == 1:
        return (
            f"{raters[0]} alone scored it, so nothing tells what another rater would have felt; "
            "have two or more score every session"
        )
    if not panel.connected:
        return (
            "the raters fall into groups that share no session, so their levels cannot be told from "
            "the sessions'; let raters score sessions of both configurations together"
        )
    if not np.isfinite(agreed.p):
        return (
            "the scores are too few to tell whether the raters agree; have two or more raters score "
            "two or more sessions in common"
        )
    if agreed.p > 1 - confidence:
        return (
            "the raters do not agree on how the sessions differ "
            f"(p {agreed.p:.2f}, ICC of one rater {_plain(agreed.single.value)}): either they feel "
            "no difference, or each feels another"
        )
    return ""


def _plain(value: float) -> str:
    return f"{value:.2f}".replace("-", "−") if np.isfinite(value) else "not known"


def by_ranks(figures: Sequence[RatedFigure]) -> dict[str, SessionValues]:
    """The tables of all items by ranks, by key."""

    return {one.ranks.key: one.ranks for one in figures}
