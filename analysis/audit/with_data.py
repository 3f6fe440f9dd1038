"""A claim with the trial behind it: the verdict of the data, and what it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.against_data import Held, hold, sentence
from slackwater.analysis.audit.outcome import AGREES, FINDING, OPEN, Reason, Sheet
from slackwater.analysis.audit.recomputed import recomputed_sheets
from slackwater.analysis.audit.rounding import ends_of
from slackwater.analysis.audit.rows_beyond import rows_for
from slackwater.analysis.audit.stated_values import hold_value
from slackwater.analysis.audit.verdict_rules import ClaimWord
from slackwater.analysis.ratings.guessed import Blindness
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import QuantityError, convert, parse_any, same_dimension

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
        The stated change on the scale of the comparison; None for the end that a bound has not.
    recomputed, low, high : float or None
    unit : str
        "" for fractions, else that of a difference or of a value.
    day : float or None
        The difference on the day, where the trial gives no interval.
    sessions : int or None
        Sessions behind the smaller side of the comparison.
    sheets : tuple of Sheet
    times : float or None
        The size stated over the one measured. [1]
    """

    verdict: str
    why: str
    reasons: tuple[Reason, ...]
    stated: tuple[float | None, float | None] | None
    recomputed: float | None
    low: float | None
    high: float | None
    unit: str
    day: float | None
    sessions: int | None
    sheets: tuple[Sheet, ...]
    times: float | None = None


def evidence_of(claim: Claim, behind: TrialBehind, rounding: str) -> Evidence:
    """Hold one claim against the trial behind it."""
    names = claim.stated.figures
    comparative = {"change", "difference"} & names.keys() or {
        "baseline",
        "modified",
    } <= names.keys()
    if not comparative:
        return _of_value(claim, next(iter(names)), behind, rounding)
    rows = rows_for(claim, behind.comparisons, behind.analysed.judged)
    change = hold(claim, behind.comparisons, rounding, rows)
    values = _values(claim, behind, rounding)
    held = _with_values(change, values)
    reasons = [change.reason(), *map(_value_reason, values), *_conditions(behind)]
    reasons += [*_blinding(claim, behind), *_tried(claim, behind)]
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
        times=held.times,
    )


def no_evidence(why: str) -> Evidence:
    """What a trial says of a claim that speaks of what it does not know: nothing."""
    reason = Reason("against-data", str(ClaimWord.UNTESTABLE), sentence(why))
    return Evidence(
        verdict=ClaimWord.UNTESTABLE,
        why=sentence(why),
        reasons=(reason,),
        stated=None,
        recomputed=None,
        low=None,
        high=None,
        unit="",
        day=None,
        sessions=None,
        sheets=(),
    )


def _of_value(claim: Claim, side: str, behind: TrialBehind, rounding: str) -> Evidence:
    held = hold_value(claim, side, behind.means, rounding)
    mean, unit = held.mean, claim.stated.figures[side].unit

    def shown_in(value: float | None) -> float | None:
        """A value of the trial in the unit that the claim is printed in."""
        return None if value is None or mean is None else convert(value, mean.unit or "1", unit)

    low, high = _ends(held) or (None, None)
    return Evidence(
        verdict=held.verdict,
        why=_why(held),
        reasons=(held.reason(), *_conditions(behind)),
        stated=(shown_in(low), shown_in(high)),
        recomputed=None if mean is None else shown_in(mean.mean),
        low=None if mean is None else shown_in(mean.low),
        high=None if mean is None else shown_in(mean.high),
        unit="" if mean is None else unit,
        day=None,
        sessions=None if mean is None else mean.sessions,
        sheets=() if mean is None else _sheets(claim, behind, mean),
        times=held.times,
    )


def _ends(held: Held) -> tuple[float | None, float | None] | None:
    """What is stated, on the scale of the comparison; None for the end that a bound has not."""
    return None if held.stated is None else ends_of(held.stated)


def _why(held: Held) -> str:
    return sentence(held.message) + (f" {sentence(held.note)}" if held.note else "")


def _values(claim: Claim, behind: TrialBehind, rounding: str) -> list[Held]:
    """The two values that a claim states beside its change, each held against the trial's mean."""
    sides = [side for side in ("baseline", "modified") if side in claim.stated.figures]
    return [hold_value(claim, side, behind.means, rounding) for side in sides]


def _value_reason(held: Held) -> Reason:
    agrees = held.verdict in (ClaimWord.UPHELD, ClaimWord.COMPATIBLE)
    return Reason("stated-value", AGREES if agrees else FINDING, sentence(held.message))


#: What a percentage that holds cannot save when the values it is of are not those of the runs.
_UNLESS_VALUES = (ClaimWord.UPHELD, ClaimWord.COMPATIBLE, ClaimWord.WITHIN_NOISE)


def _with_values(change: Held, values: list[Held]) -> Held:
    """The verdict on the change, unless the values that it is of are ruled out by the runs."""
    off = [h for h in values if h.verdict in (ClaimWord.OVERSTATED, ClaimWord.UNDERSTATED)]
    if not off or change.verdict not in _UNLESS_VALUES:
        return change
    message = f"{off[0].message}; of the change alone: {change.message}"
    return replace(change, verdict=ClaimWord.REFUTED, message=message)


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


def _blinding(claim: Claim, behind: TrialBehind) -> list[Reason]:
    """That what was scored was scored by people who knew, or may have known, what was fitted."""
    rated = behind.analysed.rated
    if rated is None or claim.quantity not in {each.name for each in rated.figures}:
        return []
    blinding = rated.blinding
    outcome = AGREES if blinding.word is Blindness.BLIND else OPEN
    return [Reason("ratings", outcome, f"The ratings: {blinding.word}; {blinding.why}.")]


def _tried(claim: Claim, behind: TrialBehind) -> list[Reason]:
    """How what was timed or measured of a manoeuvre was tried, and what of the current."""
    tried = behind.analysed.tried
    figure = None
    if tried is not None:
        figure = next((each for each in tried.figures if each.name == claim.quantity), None)
    if figure is None:
        return []
    declared = figure.declared
    balanced = declared.current != "none" and declared.directions != "one_way"
    message = (
        f"{figure.measure.title}: {len(figure.tries)} tries, {declared.label_of(figure.name)}; from '{declared.start}' "
        f"to '{declared.end}'. A figure got by other conditions is another figure."
    )
    return [Reason("manoeuvres", AGREES if balanced else OPEN, message)]
