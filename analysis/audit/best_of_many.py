"""What choosing does to a figure: the best of many, set points left out, claims made afterwards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr, ndtri

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.arithmetic import stated_change
from slackwater.analysis.audit.outcome import DISAGREES, FINDING, Reason
from slackwater.analysis.audit.rounding import bounded, span_of
from slackwater.analysis.audit.sources import PRACTICE, SWITCHED
from slackwater.protocol.claims.claim import Claim, Claims

_LUCK = f"order statistics of normal noise; {PRACTICE}"
_SWITCHED = f"{SWITCHED}; {PRACTICE}"


@dataclass(frozen=True, slots=True)
class BestOf:
    """How large the best of several differences comes out when nothing but noise is at work.

    Attributes
    ----------
    typical, seldom : float
        Exceeded in one of two, and in one of twenty, such selections; in standard deviations of
        one difference. [1]
    """

    typical: float
    seldom: float


def best_of(count: int, shared: float = 0.0) -> BestOf:
    """The best of `count` differences from noise alone.

    Parameters
    ----------
    count : int
        Set points among which the best is chosen.
    shared : float
        Part of the variance that all set points of a session share, 0 to 1. What is shared cannot
        be chosen from, so 0, the default, is the largest that choosing can do.

    Notes
    -----
    With what is shared held fixed the differences are independent; the shared part is integrated
    out by Gauss-Hermite quadrature.
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(61)
    weights = weights / weights.sum()
    common, own = np.sqrt(shared), np.sqrt(max(1.0 - shared, 1e-12))

    def below(size: float) -> float:
        return float(weights @ ndtr((size - common * nodes) / own) ** count)

    def quantile(part: float) -> float:
        if shared <= 0:
            return float(ndtri(part ** (1 / count)))
        low, high = -10.0, 10.0
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if below(middle) < part else (low, middle)
        return (low + high) / 2

    return BestOf(quantile(0.5), quantile(0.95))


def chosen_from(claims: Claims, claim: Claim, trial_set_points: int = 0) -> int:
    """Among how many the figure of a claim was chosen, as far as that is known; else 1."""
    if claim.best_of is not None:
        return claim.best_of
    change = claim.stated.change
    if claim.at is None and change is not None and change.bound == "up to":
        return max(claims.selection.set_points or 0, trial_set_points, 1)
    return 1


def check_selection(
    claims: Claims,
    trial_set_points: Sequence[str] = (),
    deviation: Mapping[str, float] | None = None,
) -> list[list[Reason]]:
    """Findings on the choice of what is claimed, for each claim in order.

    Parameters
    ----------
    claims : Claims
    trial_set_points : sequence of str
        Those of the trial behind the claims, as text; empty when there is none.
    deviation : mapping, optional
        Standard deviation of one difference by claim id, as a fraction, where the noise is known.
    """
    groups = _groups(claims)
    out: list[list[Reason]] = []
    for index, claim in enumerate(claims.claims):
        reasons = [
            *_best(claims, claim, len(trial_set_points), (deviation or {}).get(claim.id)),
            *_unlike(claim),
            *_afterwards(claims, claim),
            *_against_table(claims, index, groups[_key(claim)]),
        ]
        out.append(reasons)
    for indices in groups.values():
        for reason in _left_out(claims, indices, trial_set_points):
            out[indices[0]].append(reason)
    return out


def same_table(claim: Claim, other: Claim) -> bool:
    """Whether another claim is a line of the table that a claim for the whole of it speaks of."""
    return other.at is not None and _key(claim) == _key(other)


def _key(claim: Claim) -> tuple[str, str, str]:
    return claim.quantity, claim.baseline, claim.modified


def _groups(claims: Claims) -> dict[tuple[str, str, str], list[int]]:
    groups: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for index, claim in enumerate(claims.claims):
        groups[_key(claim)].append(index)
    return groups


def _best(claims: Claims, claim: Claim, of_trial: int, deviation: float | None) -> Iterator[Reason]:
    count = chosen_from(claims, claim, of_trial)
    if count < 2:
        return
    found = best_of(count)
    message = (
        f"The figure is the best of {count}. With noise alone the best of {count} typically comes "
        f"out at {found.typical:.1f} standard deviations of a difference, and in one of twenty at "
        f"{found.seldom:.1f} or more, against {ndtri(0.95):.1f} for one fixed beforehand"
    )
    if deviation is not None:
        message += (
            f": here {shown.change(found.typical * deviation, '')} and "
            f"{shown.change(found.seldom * deviation, '')}"
        )
    settle = "the whole sweep, not its best set point"
    yield Reason("best-of-several", FINDING, message + ".", settle=settle, source=_LUCK)


def _unlike(claim: Claim) -> Iterator[Reason]:
    if claim.at is not None and claim.at_modified is not None and claim.at != claim.at_modified:
        message = (
            f"The baseline at {claim.at} is compared with the modified at {claim.at_modified}; a "
            "difference between set points is not one between configurations."
        )
        settle = "both configurations at one and the same set point"
        yield Reason("unlike-set-points", FINDING, message, settle=settle, source=PRACTICE)


def _afterwards(claims: Claims, claim: Claim) -> Iterator[Reason]:
    if (claim.chosen or claims.selection.chosen) == "afterwards":
        message = (
            "What is claimed was chosen after the data were seen; its interval and confidence hold "
            "for claims fixed beforehand."
        )
        settle = "a new trial of the claim, fixed and sealed beforehand"
        yield Reason("chosen-afterwards", FINDING, message, settle=settle, source=_SWITCHED)


def _against_table(claims: Claims, index: int, group: list[int]) -> Iterator[Reason]:
    """A claim for the whole sweep held against the set points that are published beside it."""
    claim = claims.claims[index]
    table = [
        (claims.claims[i], change)
        for i in group
        if claims.claims[i].at is not None
        and (change := stated_change(claims.claims[i], claims.rounding)) is not None
        and bounded(change)
    ]
    if len(table) < 2:
        return
    stated = claim.stated.change
    mean = sum(float(change.middle) for _, change in table) / len(table)
    if claim.at is None and stated is not None and stated.bound == "up to":
        sign = 1 if stated.high >= 0 else -1
        most = max((c for _, c in table), key=lambda c: sign * c.middle)
        reached = span_of(replace(stated, bound=""), "%", rounding=claims.rounding)
        complete = (claims.selection.set_points or 0) <= len(table)
        far = most.high < reached.low if sign > 0 else most.low > reached.high
        message = (
            f"'{stated}' is said; of the {len(table)} set points published the largest is "
            f"{shown.span(most, '%', signed=True)}, the mean {mean:+.1f} %."
        )
        outcome = DISAGREES if far and complete else FINDING
        yield Reason("up-to", outcome, message, across=True)
        return
    own = stated_change(claim, claims.rounding)
    if claim.at is None or own is None or not bounded(own):
        return
    sizes = [abs(float(change.middle)) for _, change in table]
    if abs(float(own.middle)) >= max(sizes) and len(table) > 2:
        message = (
            f"This is the largest of the {len(table)} changes published for {claim.quantity}; "
            f"their mean is {mean:+.1f} %."
        ).replace("_", " ")
        yield Reason("whole-sweep", FINDING, message, source=PRACTICE)


def _left_out(
    claims: Claims, indices: list[int], trial_set_points: Sequence[str]
) -> Iterator[Reason]:
    published = {str(claims.claims[i].at) for i in indices if claims.claims[i].at is not None}
    if trial_set_points and published:
        missing = [at for at in trial_set_points if at not in published]
        if missing:
            listed = ", ".join(missing[:12])
            message = f"The trial also ran {listed}; nothing is published of {_them(missing)}."
            yield Reason("left-out", FINDING, message, source=_SWITCHED)
    elif claims.selection.set_points and len(published) < claims.selection.set_points:
        missing_count = claims.selection.set_points - len(published)
        if published:
            message = (
                f"{claims.selection.set_points} set points were measured and {len(published)} are "
                f"published; {missing_count} are left out."
            )
            yield Reason(
                "left-out", FINDING, message, settle="the set points left out", source=_SWITCHED
            )


def _them(names: Sequence[str]) -> str:
    return "it" if len(names) == 1 else "them"
