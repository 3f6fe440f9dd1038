"""What a seal shows to have been declared before the trial, and what was therefore found afterwards.

A sealed protocol names set points, quantities that matter (those with a worthwhile difference, and the
figure that decides) and the method. A comparison of such a quantity at such a set point, or at a speed
that it names, was declared beforehand, and so was one that a claim sealed along with it names. The figure
that decides is declared at equal speed too where nobody names speeds: the program's rule then finds them. Every other comparison was found afterwards. The two are
families apart: what was declared is judged as if nothing else had been looked at; all that was found
afterwards, over every quantity and pair, is one family, since it is what a search went through.

Without a seal, or with one that was broken or made too late, nothing is claimed of either.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.judgement import Judged
from slackwater.protocol.catalogue.recipes import at_a_session, changes_as
from slackwater.protocol.declared.deciding import decides
from slackwater.protocol.declared.trial import ComparisonPair, Trial
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.sealing.seal import (
    SealStatus,
    made_before,
    moment,
    seal_status,
    sealed_claims,
)
from slackwater.protocol.units.quantity import Quantity, QuantityError, parse_any

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.claims.claim import Claims

Mask = NDArray[np.bool_]

#: p-values of a comparison, each adjusted over its sweep.
P_VALUES = ("p_value", "equivalence_p", "no_loss_p")
#: What rests on a trip that only the trial's file names.
OF_THE_TRIAL = ("trip_fuel", "annual_fuel")
SOURCE = "outcome switching: COMPare, compare-trials.org; common practice"


@dataclass(frozen=True, slots=True)
class Sealed:
    """What a seal says of a trial.

    Attributes
    ----------
    state : str
        "none", "kept", "late" (made, but not shown to be made before the first run), "changed" or
        "unreadable".
    message : str
        The same in a sentence.
    fix : str
    status : SealStatus
        Of the protocol.
    claims : Claims or None
        Sealed along with it, and as they were.
    claims_status : SealStatus or None
    """

    state: Literal["none", "kept", "late", "changed", "unreadable"]
    message: str
    fix: str
    status: SealStatus
    claims: Claims | None = None
    claims_status: SealStatus | None = None

    @property
    def holds(self) -> bool:
        """It tells what was declared beforehand."""
        return self.state == "kept"

    def findings(self) -> list[Finding]:
        """What a reader has to know of a seal that does not hold."""
        found = []
        if self.state not in ("none", "kept"):
            found.append(
                Finding(
                    f"seal-{self.state}", Severity.WARNING, self.message, self.fix, None, SOURCE
                )
            )
        claims = self.claims_status
        if claims is not None and not claims.kept:
            found.append(
                Finding("seal-changed", Severity.WARNING, claims.message, claims.fix, None, SOURCE)
            )
        return found


def sealed_of(trial: Trial, runs: RunTable) -> Sealed:
    """What the seal of a trial's protocol says, looked for beside protocol and trial."""
    status = seal_status(trial.protocol.document, trial.folder)
    if status.state == "none":
        word = "not sealed: nothing shows what was declared before the trial"
        return Sealed("none", word, "", status)
    if status.seal is None or not status.kept:
        word = f"{status.message}; nothing counts as declared beforehand"
        return Sealed(status.state, word, status.fix, status)
    first = first_moment(trial, runs)
    when = moment(status.seal.made)
    if not made_before(status.seal.made, first):
        then = (
            "no run and no session is dated" if first is None else f"the first is of {_when(first)}"
        )
        return Sealed(
            "late",
            f"the seal of {when} is not shown to be made before the first run: {then}; it says "
            "nothing of what was declared beforehand",
            "seal the next protocol before its first run, and record when runs start",
            status,
        )
    claims, claims_status = sealed_claims(status.seal)
    message = (
        f"the protocol was sealed on {when}, by the maker's own clock, before the first run, and is "
        "as it was"
    )
    return Sealed("kept", message, "", status, claims, claims_status)


def first_moment(trial: Trial, runs: RunTable) -> datetime | date | None:
    """When the first run started, as far as the files tell: to the second, or the day."""
    starts: list[datetime] = [start for start in runs.columns["start"] if start is not None]
    if starts:
        return min(starts)
    moments: list[datetime | date] = []
    for session in trial.sessions:
        if isinstance(session.start, datetime):
            moments.append(session.start)
        elif session.date is not None and isinstance(session.start, time):
            moments.append(datetime.combine(session.date, session.start))
        elif session.date is not None:
            moments.append(session.date)
    # A day alone comes before any hour of it, so the earliest text is the earliest time.
    return min(moments, key=lambda one: one.isoformat(), default=None)


def _when(first: datetime | date) -> str:
    return f"{first:%Y-%m-%d %H:%M}" if isinstance(first, datetime) else f"{first:%Y-%m-%d}"


# --- which comparisons ---------------------------------------------------------------------------


def declared_positions(
    trial: Trial, sealed: Sealed, pair: ComparisonPair, table: SessionValues
) -> Mask | None:
    """Which positions of a comparison were declared beforehand; None where no seal tells.

    Parameters
    ----------
    trial : Trial
    sealed : Sealed
    pair : ComparisonPair
    table : SessionValues

    Returns
    -------
    ndarray of bool, shape (positions,), or None
    """
    if not sealed.holds:
        return None
    mask = np.zeros(len(table.positions), dtype=bool)
    if _named(trial, pair, table):
        mask |= np.array([_at_declared(trial, table, i) for i in range(len(mask))], dtype=bool)
    for claim in sealed.claims.claims if sealed.claims else ():
        sides = {claim.baseline, claim.modified} == {pair.baseline, pair.modified}
        if not sides or claim.quantity != table.quantity:
            continue
        if claim.at is None:
            mask |= np.full(len(mask), table.kind == "whole sweep")
        elif claim.at_modified is None or _same(claim.at, claim.at_modified):
            unit = trial.protocol.set_point_unit if table.kind == "set points" else ""
            here = [_stands_at(table, i, (claim.at,), unit) for i in range(len(mask))]
            mask |= np.array(here, dtype=bool)
    return mask


def _named(trial: Trial, pair: ComparisonPair, table: SessionValues) -> bool:
    """The protocol declares the quantity and the two configurations for comparison."""
    protocol = trial.protocol
    names = [name for one in trial.comparisons for name in (one.baseline, one.modified)]
    letters = dict(zip(dict.fromkeys(names), sorted(set(protocol.sessions.order)), strict=False))
    # A is the baseline; which of more letters are compared with each other no protocol says.
    if "A" not in (letters.get(pair.baseline), letters.get(pair.modified)):
        return False
    if not {pair.baseline, pair.modified} <= set(letters) or table.quantity in OF_THE_TRIAL:
        return False
    # The same comparison as another quantity's, times a constant, was declared with that.
    name = table.quantity if at_a_session(table.quantity) else changes_as(table.quantity)[0]
    if decides(protocol.analysis.decides, table.key, table.quantity, table.kind):
        return True
    return bool({name, table.quantity} & protocol.analysis.worthwhile.keys())


def _at_declared(trial: Trial, table: SessionValues, index: int) -> bool:
    protocol = trial.protocol
    if table.kind == "set points":
        return _stands_at(table, index, protocol.runs.set_points.values, protocol.set_point_unit)
    if table.kind == "equal speed":
        if _speeds_by_rule(trial, table):
            return True
        return _stands_at(table, index, protocol.analysis.speeds)
    # A figure of the whole sweep; the best one depends on where it is looked for.
    own = trial.cruise is not None and protocol.analysis.cruise is None
    return not (own and table.quantity.startswith("best_economy"))


def _speeds_by_rule(trial: Trial, table: SessionValues) -> bool:
    """The deciding figure at equal speed, with speeds that nobody named: nobody chose them either.

    They are round ones on the mean curve of the baseline, whatever the difference came to.
    """
    analysis = trial.protocol.analysis
    named = analysis.speeds or trial.speeds
    return not named and decides(analysis.decides, table.key, table.quantity, table.kind)


def _stands_at(
    table: SessionValues, index: int, places: Iterable[Quantity], unit: str = ""
) -> bool:
    """Whether a position of a table is one of these places."""
    try:
        here = (
            Quantity(float(table.positions[index]), unit)
            if unit
            else parse_any(table.labels[index])
        )
    except QuantityError:
        return False
    return any(_same(here, place) for place in places)


def _same(one: Quantity, other: Quantity) -> bool:
    try:
        value = other.to(one.unit).value
    except QuantityError:
        return False
    return bool(np.isclose(one.value, value, rtol=1e-6, atol=1e-9))


# --- the two families ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Part:
    """The positions of a sweep that belong to one family.

    Attributes
    ----------
    table : SessionValues
        Of these positions alone.
    whole : SessionValues
        Of all positions of the sweep.
    positions : ndarray of int
        Which of them these are.
    declared : bool or None
        Beforehand, found afterwards, or not told by any seal.
    sweeps : int
        Sweeps that take part in the family.
    """

    table: SessionValues
    whole: SessionValues
    positions: NDArray[np.int_]
    declared: bool | None
    sweeps: int

    def refused(self, of_whole: Mapping[int, str]) -> dict[int, str]:
        """The positions without a verdict, counted within the part."""
        return {
            new: of_whole[old] for new, old in enumerate(self.positions.tolist()) if old in of_whole
        }

    def of_all(self, row: Compared) -> dict[str, Any]:
        """What a row says over all sweeps of what was found afterwards (Bonferroni).

        The sweep was judged at its part of the error; confidence and p-values are those of all.
        """
        if self.declared is not False:
            return {}
        found = {name: getattr(row, name) for name in P_VALUES}
        whole = 1 - (1 - row.confidence) * self.sweeps
        p_values = {
            name: None if p is None else min(1.0, p * self.sweeps) for name, p in found.items()
        }
        return {"confidence": round(whole, 14), **p_values}


class Parting:
    """The comparisons of a trial, parted into what was declared and what was found afterwards."""

    def __init__(self, trial: Trial, tables: Sequence[SessionValues], sealed: Sealed) -> None:
        self._all = len(trial.comparisons) * len(tables)
        self._masks: dict[tuple[str, str, str], Mask] = {}
        for pair in trial.comparisons:
            for table in tables:
                mask = declared_positions(trial, sealed, pair, table)
                if mask is not None:
                    self._masks[pair.baseline, pair.modified, table.key] = mask
        self._declared = sum(bool(mask.any()) for mask in self._masks.values())
        self._afterwards = sum(not mask.all() for mask in self._masks.values())

    def parts(self, pair: ComparisonPair, table: SessionValues) -> list[Part]:
        """The parts of one sweep: one as a rule, two where it holds comparisons of both families."""
        mask = self._masks.get((pair.baseline, pair.modified, table.key))
        if mask is None:
            return [self.whole(table)]
        families = ((True, self._declared), (False, self._afterwards))
        found = [(np.flatnonzero(mask == declared), declared, n) for declared, n in families]
        return [
            Part(at_positions(table, positions), table, positions, declared, sweeps)
            for positions, declared, sweeps in found
            if positions.size
        ]

    def whole(self, table: SessionValues) -> Part:
        """All positions together, whatever a seal says."""
        return Part(table, table, np.arange(len(table.positions)), None, self._all)


def at_positions(table: SessionValues, positions: NDArray[np.int_]) -> SessionValues:
    """The table of some of its positions alone; of all of them, the table itself."""
    if len(positions) == len(table.positions):
        return table
    columns = ("values", "run_variance", "double_runs", "curve_variance", "level_variance")
    single = ("positions", "instrument_variance", "loading")
    change: dict[str, Any] = {
        name: None if (found := getattr(table, name)) is None else found[:, positions]
        for name in columns
    }
    change |= {
        name: None if (found := getattr(table, name)) is None else found[positions]
        for name in single
    }
    if table.curve_errors is not None:
        change["curve_errors"] = table.curve_errors.at_positions(positions)
    for name in ("labels", "beyond"):
        texts = getattr(table, name)
        change[name] = tuple(texts[index] for index in positions.tolist()) if texts else ()
    return replace(table, **change)


def rejoined(whole: Judged, parts: Sequence[Part], judged: Sequence[Judged]) -> Judged:
    """The rows of the parts in their order along the sweep, each with its family.

    Parameters
    ----------
    whole : Judged
        Of all positions together, for the noise and the means.
    parts : sequence of Part
    judged : sequence of Judged
        Of each part.
    """
    rows = {
        position: replace(row, declared=part.declared, **part.of_all(row))
        for part, found in zip(parts, judged, strict=True)
        for position, row in zip(part.positions.tolist(), found.rows, strict=True)
    }
    return replace(whole, rows=tuple(rows[position] for position in sorted(rows)))
