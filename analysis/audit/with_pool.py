"""A claim held against a pool: the mean over boats, by the same rules as a trial, and the next boat.

A claim of what a change does speaks of boats at large, so the mean decides. Whoever reads it has one boat
in mind, her own: what the pool says of the next boat stands beside the verdict.
"""

from __future__ import annotations

from slackwater.analysis.audit.against_data import Held, hold
from slackwater.analysis.audit.outcome import FINDING, Reason
from slackwater.analysis.audit.rounding import ends_of
from slackwater.analysis.audit.with_data import Evidence, no_evidence
from slackwater.analysis.many.pool_result import PooledSweep, PoolResult
from slackwater.protocol.catalogue.recipes import changes_as
from slackwater.protocol.claims.claim import Claim

_KINDS = ("equal speed", "set points", "whole sweep")


def evidence_of_pool(claim: Claim, pool: PoolResult, rounding: str) -> Evidence:
    """Hold one claim against a pool."""
    figures = claim.stated.figures
    if (
        not {"change", "difference"} & figures.keys()
        and not {"baseline", "modified"} <= figures.keys()
    ):
        return no_evidence("a pool is of changes, and has no values of any one boat")
    named = _as_pooled(claim, pool)
    if named is None:
        return no_evidence(
            f"the pool compares {pool.modified} with {pool.baseline}, and neither more nor less"
        )
    sweep = _sweep_of(claim, pool)
    if sweep is None:
        return no_evidence(f"the pool gives no {claim.quantity.replace('_', ' ')}")
    held = hold(named, [place.mean for place in sweep.places], rounding)
    other = hold(named, [place.next_boat for place in sweep.places], rounding)
    row = held.row
    why = _of_pool(held.message, f"Held against {sweep.title}, the mean of {len(pool.boats)} boats")
    return Evidence(
        verdict=held.verdict,
        why=why,
        reasons=(Reason("against-data", str(held.verdict), why), _next_boat(other)),
        stated=None if held.stated is None else ends_of(held.stated),
        recomputed=None if row is None else row.change,
        low=None if row is None else row.low,
        high=None if row is None else row.high,
        unit="" if row is None or row.scale == "ratio" else (row.unit or "1"),
        day=None,
        sessions=None if row is None else min(row.sessions_baseline, row.sessions_modified),
        sheets=(),
        times=held.times,
    )


def _as_pooled(claim: Claim, pool: PoolResult) -> Claim | None:
    """The claim with the pool's names; None where it names other configurations."""
    given = claim.model_fields_set
    for side in ("baseline", "modified"):
        titles = {getattr(each, side) for each in pool.trials if each.state == "pooled"}
        if side in given and getattr(claim, side) not in {getattr(pool, side), *titles}:
            return None
    return claim.model_copy(update={"baseline": pool.baseline, "modified": pool.modified})


def _sweep_of(claim: Claim, pool: PoolResult) -> PooledSweep | None:
    """The figure that a claim is held against: the one that decides, else at equal speed."""
    for quantity in (claim.quantity, changes_as(claim.quantity)[0]):
        mine = [sweep for sweep in pool.sweeps if sweep.quantity == quantity]
        if mine:
            return min(mine, key=lambda sweep: (not sweep.deciding, _KINDS.index(sweep.kind)))
    return None


def _of_pool(message: str, lead: str) -> str:
    told = message.replace("the trial", "the pool").replace("the runs", "the boats").rstrip(".")
    return f"{lead}: {told}."


def _next_boat(held: Held) -> Reason:
    lead = f"For the next boat the same claim would be {held.verdict}"
    return Reason("next-boat", FINDING, _of_pool(held.message, lead))
