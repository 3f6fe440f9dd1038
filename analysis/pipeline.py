"""From a trial's files to its result: the one way that every analysis goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.checking.applying import Broken, broken_limits, refused_positions
from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.quantities.making import Drive, Instrument, SweepAxis, derived, measured
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import Reduction, reduce_runs
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.sweep.asked_tables import sweep_tables
from slackwater.analysis.sweep.corrections import corrected, differed
from slackwater.analysis.verdict.judgement import Judged, Terms, judge_sweep
from slackwater.analysis.verdict.looks import Look, confidence_at, look_at, marked
from slackwater.analysis.verdict.sealed_families import Part, Parting, Sealed, rejoined, sealed_of
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import PriorNoise as DeclaredNoise
from slackwater.protocol.declared.trial import ComparisonPair, Trial, load_trial
from slackwater.protocol.units.quantity import Quantity

if TYPE_CHECKING:
    from slackwater.analysis.intake.tables import RunTable
    from slackwater.analysis.result.result import Result

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Analysed:
    """A trial with everything computed from it, before it is put into a result.

    Attributes
    ----------
    trial : Trial
    runs : RunTable
    reduction : Reduction
    tables : dict of SessionValues
        By quantity; those that are compared.
    judged : tuple of Judged
        One for each pair of configurations and quantity.
    configurations : tuple of str
        What was fitted in each session, in the order of `Trial.sessions`.
    sealed : Sealed
        What a seal says of what was declared beforehand.
    """

    trial: Trial
    runs: RunTable
    reduction: Reduction
    tables: dict[str, SessionValues]
    judged: tuple[Judged, ...]
    configurations: tuple[str, ...]
    sealed: Sealed


def analyse(path: str | Path, *, cross_check: bool = False) -> Result:
    """Analyse a trial.

    Parameters
    ----------
    path : str or Path
        The trial's YAML file.
    cross_check : bool
        Also put the session values through a mixed model and t-tests of other libraries.

    Returns
    -------
    Result
        Prints itself; `to_dict()`, `to_json()` and `to_html()` give it in other forms.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.result.assembly import assemble

    return assemble(compute(load_trial(path)), cross_check=cross_check)


def compute(trial: Trial) -> Analysed:
    """Read the runs of a trial, reduce them and judge every comparison.

    Raises
    ------
    InputError
        With everything that keeps the run table from being used.
    """
    runs = read_runs(trial)
    protocol = trial.protocol
    reduction = reduce_runs(
        runs.frame,
        method=protocol.analysis.current,
        one_way=protocol.runs.directions == "one_way",
        reciprocal_within=protocol.runs.reciprocal_within.to("deg").value,
    )
    seen = {session for session, _ in reduction.cells}
    sessions = tuple(session.id for session in trial.sessions if session.id in seen)
    fitted = {session.id: session.configuration for session in trial.sessions}
    axis = SweepAxis(protocol.set_point_measure, protocol.set_point_unit)
    tables = session_tables(trial, reduction, axis, sessions)
    sealed = sealed_of(trial, runs)
    return Analysed(
        trial=trial,
        runs=runs,
        reduction=reduction,
        tables=tables,
        judged=tuple(judge_trial(trial, tables, sessions, sealed, broken_limits(trial, runs))),
        configurations=tuple(fitted[session] for session in sessions),
        sealed=sealed,
    )


def session_tables(
    trial: Trial, reduction: Reduction, axis: SweepAxis, sessions: tuple[str, ...]
) -> dict[str, SessionValues]:
    """Session values of every quantity that is compared, speed first."""
    protocol = trial.protocol
    measures = {name: protocol.measure(name) for name in protocol.measures}
    instruments = {name: _instrument(protocol, name) for name in measures}
    tables = measured(reduction, measures, instruments, axis, sessions)
    fitted = {session.id: session.configuration for session in trial.sessions}
    drives = {
        name: Drive(
            pitch=configuration.propeller_pitch.to("m").value
            if configuration.propeller_pitch
            else None,
            gear_ratio=configuration.gear_ratio,
        )
        for name, configuration in trial.configurations.items()
    }
    on_board = [fitted[session] for session in sessions]
    if trial.corrections and tables:
        points = next(iter(tables.values())).positions
        tables = corrected(tables, differed(trial, reduction, sessions, points), on_board)
    tables |= derived(tables, drives, fitted, axis)
    tables.pop(axis.measure, None)  # what was held is no result
    tables.pop("course_over_ground", None)  # it tells the current across, and has no mean
    return tables | sweep_tables(trial, tables, axis, on_board)


def judge_trial(
    trial: Trial,
    tables: dict[str, SessionValues],
    sessions: Sequence[str],
    sealed: Sealed,
    broken: tuple[Broken, ...] = (),
) -> list[Judged]:
    """Every pair of configurations declared, in every quantity; none across a broken limit.

    Where a seal tells what was declared beforehand, that is judged apart from what was not.
    """
    protocol = trial.protocol
    by_id = {session.id: session for session in trial.sessions}
    fitted = [by_id[session].configuration for session in sessions]
    blocks = [by_id[session].day for session in sessions]
    use_blocks = protocol.sessions.block == "day" and all(blocks)
    parting = Parting(trial, list(tables.values()), sealed)
    out = []
    for pair in trial.comparisons:
        look = look_at(protocol, fitted, (pair.baseline, pair.modified))

        def judge(part: Part, pair: ComparisonPair = pair, look: Look = look) -> Judged:
            return judge_sweep(
                part.table,
                fitted,
                pair.baseline,
                pair.modified,
                terms_of(protocol, part.table, part.sweeps, look, part.declared),
                blocks if use_blocks else None,
                part.refused(refused_positions(broken, pair, part.whole)),
            )

        for table in tables.values():
            parts = parting.parts(pair, table)
            judged = [judge(part) for part in parts]
            whole = judged[0] if len(parts) == 1 else judge(parting.whole(table))
            out.append(marked(rejoined(whole, parts, judged), look))
    return out


# What was declared for one quantity serves for another that is the same times a constant.
PRIOR_OF = {"top_speed": "speed"}
WORTHWHILE_OF = {"top_speed": "speed", "range": "economy", "best_economy": "economy"}


def terms_of(
    protocol: Protocol,
    table: SessionValues,
    families: int = 1,
    look: Look | None = None,
    declared: bool | None = None,
) -> Terms:
    """What a protocol declares beforehand for the comparisons of one quantity.

    Parameters
    ----------
    protocol : Protocol
    table : SessionValues
    families : int
        Quantities and pairs that are judged, which share the error where the family is `all`.
    look : Look, optional
        Which look at the trial this is; its end when not given.
    declared : bool, optional
        False for what was found afterwards, which is one family whatever the protocol declares.
    """
    analysis = protocol.analysis
    confidence = analysis.confidence.to("%").value / 100
    afterwards = declared is False
    if analysis.family == "all" or afterwards:
        # One statement over all quantities: each takes its part of the error (Bonferroni).
        confidence = 1 - (1 - confidence) / max(families, 1)
    prior = protocol.noise.get(PRIOR_OF.get(table.quantity, table.quantity))
    if table.kind == "equal speed" or table.quantity == "best_economy":
        prior = None  # it was found at set points, where noise in the speed does not move them
    name = table.quantity
    worthwhile = analysis.worthwhile.get(name, analysis.worthwhile.get(WORTHWHILE_OF.get(name, "")))
    simultaneous = analysis.family != "single" or afterwards
    level = None
    if look is not None:
        family = len(table.positions) if simultaneous else 1
        level = confidence_at(protocol, look, confidence, family)
    return Terms(
        confidence=confidence,
        simultaneous=simultaneous,
        level=level,
        worthwhile=None if worthwhile is None else on_scale(worthwhile, table),
        prior=None if prior is None else _prior(prior, table, protocol.runs.double_runs),
    )


def on_scale(quantity: Quantity, table: SessionValues) -> Array | float:
    """A declared size as the scale of the quantity has it.

    A difference is in the table's unit. A ratio is a fraction: of itself where it is declared in
    per cent, else of the mean at each position, shape (positions,).
    """
    if table.scale == "difference":
        return quantity.to(table.unit).value
    if quantity.unit == "%":
        return quantity.value / 100
    seen = np.isfinite(table.values)
    total = np.where(seen, np.abs(table.values), 0.0).sum(axis=0)
    level = total / np.maximum(seen.sum(axis=0), 1)
    size = np.full(level.shape, quantity.to(table.unit).value)
    return np.asarray(np.divide(size, level, out=np.full_like(level, np.inf), where=level > 0))


def _prior(declared: DeclaredNoise, table: SessionValues, double_runs: int) -> PriorNoise:
    def variance(quantity: Quantity | None) -> float:
        # One noise for the whole sweep: where it is declared in the quantity's unit, the median.
        return 0.0 if quantity is None else float(np.median(on_scale(quantity, table))) ** 2

    return PriorNoise(
        between_sessions=variance(declared.between_sessions),
        session_by_set_point=variance(declared.session_by_set_point),
        within_session=variance(declared.within_session) / max(double_runs, 1),
        df=float(declared.sessions - 1),
    )


def _instrument(protocol: Protocol, name: str) -> Instrument:
    declared = protocol.measures[name]
    unit = protocol.measure(name).unit
    uncertainty = declared.standard_uncertainty
    relative = absolute = 0.0
    if uncertainty is not None:
        if uncertainty.unit == "%" and unit != "%":
            relative = uncertainty.value / 100
        else:
            absolute = uncertainty.to(unit).value
    return Instrument(unit, relative, absolute, declared.shared)
