"""A claim with the trial behind it: the verdict of the data, and what it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.against_data import Held, hold, hold_value, sentence
from slackwater.analysis.audit.outcome import AGREES, FINDING, Reason, Sheet
from slackwater.analysis.audit.recomputed import recomputed_sheets
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import QuantityError, parse_any, same_dimension

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed
    from slackwater.protocol.declared.protocol import Protocol


@dataclass(frozen=True)
class TrialBehind:
    """A trial, analysed, as the claims are held against it.

    Attributes
    ----------
    analysed : Analysed
    comparisons : tuple of Compared
    means : tuple of Mean
        Of the result's tables.
    deviations, findings : tuple of Finding
    inputs : tuple of (role, name, SHA-256)
    """

    analysed: Analysed
    comparisons: tuple[Compared, ...]
    means: tuple[Mean, ...]
    deviations: tuple[Finding, ...]
    findings: tuple[Finding, ...]
    inputs: tuple[tuple[str, str, str], ...]

    @classmethod
    def of(cls, analysed: Analysed) -> TrialBehind:
        """The trial's result, by the way that every analysis goes."""
        from slackwater.analysis.result.assembly import assemble

        result = assemble(analysed)
        return cls(
            analysed,
            result.compared,
            result.means,
            result.deviations,
            result.findings,
            tuple((each.role, each.name, each.sha256) for each in result.inputs),
        )

    @property
    def id(self) -> str:
        """Id of the trial."""
        return self.analysed.trial.trial

    @property
    def protocol(self) -> Protocol:
        """The protocol it followed."""
        return self.analysed.trial.protocol

    @property
    def set_points(self) -> tuple[str, ...]:
        """The set points as text."""
        unit = self.protocol.set_point_unit
        return tuple(f"{v:g} {unit}" for v in self.protocol.set_point_values)

    @property
    def names(self) -> dict[str, str]:
        """Titles of the configurations."""
        found = self.analysed.trial.configurations
        return {name: one.title for name, one in found.items() if one.title}


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the data say of one claim.

    Attributes
    ----------
    verdict, why : str
    reasons : tuple of Reason
    stated : (float, float) or None
        The stated change on the scale of the comparison.
    recomputed, low, high : float or None
    unit : str
        "" for fractions, else that of a difference or of a value.
    day : float or None
        The difference on the day, where the trial gives no interval.
    sessions : int or None
        Sessions behind the smaller side of the comparison.
    sheets : tuple of Sheet
    """

    verdict: str
    why: str
    reasons: tuple[Reason, ...]
    stated: tuple[float, float] | None
    recomputed: float | None
    low: float | None
    high: float | None
    unit: str
    day: float | None
    sessions: int | None
    sheets: tuple[Sheet, ...]


def evidence_of(claim: Claim, behind: TrialBehind, rounding: str) -> Evidence:
    """Hold one claim against the trial behind it."""
    names = claim.stated.figures
    comparative = {"change", "difference"} & names.keys() or {
        "baseline",
        "modified",
    } <= names.keys()
    if not comparative:
        return _of_value(claim, next(iter(names)), behind, rounding)
    held = hold(claim, behind.comparisons, rounding)
    reasons = [held.reason(), *_values(claim, behind, rounding), *_conditions(behind)]
    row = held.row
    unit = "" if row is None or row.scale == "ratio" else (row.unit or "1")
    day = None
    if row is not None and row.low is None and row.change is not None:
        day = row.change
        reasons.append(_on_the_day(row, day, unit))
    return Evidence(
        verdict=held.verdict,
        why=_why(held),
        reasons=tuple(reasons),
        stated=_ends(held),
        recomputed=None if row is None else row.change,
        low=None if row is None else row.low,
        high=None if row is None else row.high,
        unit=unit,
        day=day,
        sessions=None if row is None else min(row.sessions_baseline, row.sessions_modified),
        sheets=() if row is None else _sheets(claim, behind, row),
    )


def _of_value(claim: Claim, side: str, behind: TrialBehind, rounding: str) -> Evidence:
    held = hold_value(claim, side, behind.means, rounding)
    mean = held.mean
    return Evidence(
        verdict=held.verdict,
        why=_why(held),
        reasons=(held.reason(), *_conditions(behind)),
        stated=_ends(held),
        recomputed=None if mean is None else mean.mean,
        low=None if mean is None else mean.low,
        high=None if mean is None else mean.high,
        unit="" if mean is None else mean.unit or "1",
        day=None,
        sessions=None if mean is None else mean.sessions,
        sheets=() if mean is None else _sheets(claim, behind, mean),
    )


def _ends(held: Held) -> tuple[float, float] | None:
    if held.stated is None or abs(held.stated.high) > 1e20 or abs(held.stated.low) > 1e20:
        return None
    return float(held.stated.low), float(held.stated.high)


def _why(held: Held) -> str:
    return sentence(held.message) + (f" {sentence(held.note)}" if held.note else "")


def _values(claim: Claim, behind: TrialBehind, rounding: str) -> Iterator[Reason]:
    for side in ("baseline", "modified"):
        if side not in claim.stated.figures:
            continue
        held = hold_value(claim, side, behind.means, rounding)
        if held.mean is None:
            continue
        agrees = held.verdict == "upheld"
        outcome = AGREES if agrees else FINDING
        tail = "" if agrees or held.verdict == "untestable" else ", outside of its interval"
        message = sentence(held.message + tail)
        yield Reason("stated-value", outcome, message)


def _conditions(behind: TrialBehind) -> Iterator[Reason]:
    grave = [f for f in behind.deviations if f.severity is not Severity.ADVICE]
    if not grave:
        return
    listed = "; ".join(f.message for f in grave[:3])
    more = f"; and {len(grave) - 3} more" if len(grave) > 3 else ""
    message = f"The trial departs from its protocol: {listed}{more}."
    yield Reason("conditions", FINDING, message, source=grave[0].source)


def _on_the_day(row: Compared, day: float, unit: str) -> Reason:
    message = f"The difference on the day is {shown.change(day, unit)}"
    if row.vanishes_at is not None:
        size = shown.change(row.vanishes_at, unit).lstrip("+")
        message += f"; a scatter of {size} between sessions would account for it"
    return Reason("on-the-day", FINDING, message + ".", settle="more sessions with each")


def _sheets(claim: Claim, behind: TrialBehind, row: Compared | Mean) -> tuple[Sheet, ...]:
    position = None
    try:
        place = parse_any(row.at)
    except QuantityError:
        place = None
    if (
        place is not None
        and row.position is not None
        and same_dimension(place.unit, behind.protocol.set_point_unit)
    ):
        position = row.position
    return recomputed_sheets(
        behind.analysed,
        row.quantity,
        row.at,
        (claim.baseline, claim.modified),
        position,
    )
