"""What noise would make of a claim whose runs are not at hand.

The interval is that of a difference between two means of so many sessions, each with the noise of a
session and that of its double runs. It is only as good as the noise it is given: where that is
not known, the noise at which the claim would vanish is told instead.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scipy.special import stdtrit

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.outcome import FINDING, OPEN, Reason
from slackwater.analysis.audit.sources import NOISE, PRACTICE, SESSIONS_NEEDED
from slackwater.analysis.statistics.t_power import t_sample_size
from slackwater.analysis.verdict.judgement import vanishing_noise
from slackwater.protocol.claims.claim import Behind, Claim
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.declared.protocol_parts import PriorNoise
from slackwater.protocol.units.quantity import Quantity, convert, same_dimension

CONFIDENCE, POWER = 0.95, 0.90
_NORMAL = 1.959963984540054
_HOPELESS = 0.05  # of the noise of a session; below it thousands of sessions would be needed


@dataclass(frozen=True, slots=True)
class Budget:
    """The noise that a claim is reckoned with, on the scale of the analysis.

    Attributes
    ----------
    low, high : float
        Standard deviation between sessions; a range where it is not known better.
    within : float
        Between double runs of one session; 0 when it is not known.
    df : float or None
        Degrees of freedom that it is known from; None when it is assumed.
    told : str
        Where it comes from, in words.
    """

    low: float
    high: float
    within: float = 0.0
    df: float | None = None
    told: str = ""


def budget_of(
    noise: Mapping[str, PriorNoise], between: Figure | None, quantity: str, scale: str, unit: str
) -> Budget | None:
    """The noise budget for a quantity: what was given on the command line before what is declared."""
    if between is not None:
        spread = _on_scale(between, scale, unit)
        if spread is not None:
            return Budget(*spread, told=f"{between} between sessions, as assumed")
    prior = noise.get(quantity)
    if prior is None:
        return None
    sizes = [
        _size(q, scale, unit)
        for q in (prior.between_sessions, prior.session_by_set_point, prior.within_session)
    ]
    if sizes[0] is None:
        return None
    whole = math.hypot(sizes[0], sizes[1] or 0.0)
    told = f"{prior.between_sessions} between sessions, known from {prior.sessions} sessions"
    return Budget(whole, whole, sizes[2] or 0.0, float(prior.sessions - 1), told)


def _on_scale(figure: Figure, scale: str, unit: str) -> tuple[float, float] | None:
    if scale == "ratio":
        if figure.unit != "%":
            return None
        return abs(float(figure.low)) / 100, abs(float(figure.high)) / 100
    if not same_dimension(figure.unit, unit):
        return None
    low, high = (abs(convert(float(v), figure.unit, unit)) for v in (figure.low, figure.high))
    return low, high


def _size(quantity: Quantity | None, scale: str, unit: str) -> float | None:
    if quantity is None:
        return None
    if quantity.unit == "%" and scale == "ratio":
        return quantity.value / 100
    return quantity.to(unit).value if same_dimension(quantity.unit, unit) else None


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A claim with its noise.

    Attributes
    ----------
    low, high : float or None
        The interval that the claim would have, fractions or in the unit of a difference.
    verdict : str
        "within noise" when even the most favourable noise known leaves zero in; else empty.
    reasons : tuple of Reason
    """

    low: float | None
    high: float | None
    verdict: str
    reasons: tuple[Reason, ...]


def reckon(change: float, scale: str, unit: str, behind: Behind, budget: Budget | None) -> Reckoned:
    """What noise makes of a stated change.

    Parameters
    ----------
    change : float
        A fraction of the baseline, or a difference in `unit`.
    scale : str
        "ratio" or "difference".
    unit : str
        Of a difference; empty for a fraction.
    behind : Behind
        What is known of how the figures were got.
    budget : Budget or None
    """
    difference = math.log1p(change) if scale == "ratio" else change
    sessions, doubles = behind.sessions or 1, behind.double_runs or 1
    reasons = []
    if behind.sessions is None:
        reasons.append(
            Reason(
                "sessions",
                OPEN,
                "Nothing is said of how many sessions stand behind each figure; what follows takes "
                "one for each configuration.",
                settle="the number of sessions behind each figure",
            )
        )
    within = 0.0 if budget is None else budget.within**2 / doubles
    vanishes = vanishing_noise(difference, 2 / sessions, within)
    reasons.append(_vanishing(vanishes, scale, unit, sessions, behind))
    if budget is None:
        return Reckoned(None, None, "", tuple(reasons))
    ends = [_interval(difference, sessions, doubles, budget, b) for b in (budget.low, budget.high)]
    best, (low, high) = ((_natural(a, scale), _natural(b, scale)) for a, b in ends)
    reasons.append(_interval_reason((low, high), best, unit, sessions, budget))
    reasons.append(_needed(difference, doubles, budget))
    known = behind.sessions is not None
    verdict = "within noise" if known and best[0] <= 0 <= best[1] else ""
    return Reckoned(low, high, verdict, tuple(reasons))


def _interval(
    difference: float, sessions: int, doubles: int, budget: Budget, between: float
) -> tuple[float, float]:
    error = math.sqrt(2 / sessions * (between**2 + budget.within**2 / doubles))
    factor = _NORMAL if budget.df is None else float(stdtrit(budget.df, 0.5 + CONFIDENCE / 2))
    return difference - factor * error, difference + factor * error


def _natural(value: float, scale: str) -> float:
    return math.expm1(value) if scale == "ratio" else value


def _vanishing(vanishes: float, scale: str, unit: str, sessions: int, behind: Behind) -> Reason:
    size = _natural(vanishes, scale)
    counted = "one session" if sessions == 1 else f"{sessions} sessions"
    if size <= 0:
        message = "The scatter of the double runs alone would account for the difference."
    else:
        shown_size = shown.change(size, unit).lstrip("+")
        message = (
            f"With {counted} for each configuration the difference would vanish in a scatter of "
            f"{shown_size} between sessions (standard deviation, 95 % confidence)."
        )
    return Reason("vanishing-noise", FINDING, message, source=NOISE)


def _interval_reason(
    wide: tuple[float, float], best: tuple[float, float], unit: str, sessions: int, budget: Budget
) -> Reason:
    inside = wide[0] <= 0 <= wide[1]
    surely = best[0] <= 0 <= best[1]
    message = (
        f"With {budget.told}, and {sessions} session{'s' if sessions > 1 else ''} for each "
        f"configuration, the claim has the interval {shown.interval(*wide, unit)}"
    )
    if surely:
        return Reason("noise", "within noise", message + ", which holds zero.")
    if inside:
        message += (
            f"; it holds zero unless the noise is at the low end ({shown.interval(*best, unit)})."
        )
        return Reason("noise", FINDING, message)
    return Reason("noise", FINDING, message + ", which is clear of zero.")


def _needed(difference: float, doubles: int, budget: Budget) -> Reason:
    deviation = math.sqrt(budget.high**2 + budget.within**2 / doubles)
    if deviation == 0 or difference == 0:
        return Reason("sessions-needed", FINDING, "No noise is reckoned with, so one would do.")
    effect = abs(difference) / deviation
    if effect < _HOPELESS:
        message = "No number of sessions that could be run would establish a difference so small."
        return Reason("sessions-needed", FINDING, message, source=SESSIONS_NEEDED)
    needed = max(2, math.ceil(t_sample_size(effect, POWER)))
    message = (
        f"To establish a difference of this size with a chance of {100 * POWER:.0f} %, it takes "
        f"{needed} sessions with each configuration."
    )
    return Reason("sessions-needed", FINDING, message, source=SESSIONS_NEEDED)


def one_way(claim: Claim, behind: Behind, difference: float | None) -> Iterator[Reason]:
    """What a current does to figures from runs one way.

    Parameters
    ----------
    claim : Claim
    behind : Behind
    difference : float or None
        Of the speeds stated. [kn]
    """
    if behind.directions != "one_way" or claim.quantity in ("fuel_flow", "engine_speed"):
        return
    settle = "runs in both directions"
    if difference is None:
        message = "The runs went one way, so the current is in the figures."
        yield Reason("one-way", FINDING, message, settle=settle, source=PRACTICE)
    elif behind.current is None:
        message = (
            f"The runs went one way, so the current is in the figures: {abs(difference) / 2:.2g} kn "
            "of it, once with and once against the boat, would make the whole difference."
        )
        yield Reason("one-way", FINDING, message, settle=settle, source=PRACTICE)
    else:
        most = 2 * behind.current.to("kn").value
        outcome = "within noise" if abs(difference) <= most else FINDING
        message = (
            f"The runs went one way in up to {behind.current} of current, which alone can make a "
            f"difference of {most:.2g} kn; {abs(difference):.2g} kn is stated."
        )
        yield Reason("one-way", outcome, message, settle=settle, source=PRACTICE)
