"""From a trial's files to its result: the one way that every analysis goes."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.checking.applying import Broken, broken_limits, refused_positions
from slackwater.analysis.checking.run_rules._doubts import Doubt, doubts_of
from slackwater.analysis.handling.tries_read import runs_beside, tried_table
from slackwater.analysis.intake.rating_table import RatingTable, read_ratings
from slackwater.analysis.intake.run_table import RunTable
from slackwater.analysis.intake.tries import TryTable
from slackwater.analysis.manoeuvres.tried import tried_of
from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import SweepAxis, instrument_of, measured
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.ratings.rated import Rated, by_ranks, rated_of
from slackwater.analysis.reduction.reduction import Reduction, by_another_method, reduce_runs
from slackwater.analysis.result.analysed import Analysed
from slackwater.analysis.result.doubted import sentences, set_apart, without
from slackwater.analysis.sweep.asked_tables import sweep_tables
from slackwater.analysis.sweep.corrections import corrected, differed, with_trend
from slackwater.analysis.verdict.final import marked
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.leanings import OtherCurrent, looked_at
from slackwater.analysis.verdict.looks import Look, look_at
from slackwater.analysis.verdict.neutral import as_compared
from slackwater.analysis.verdict.sealed_families import Part, Parting, Sealed, rejoined, sealed_of
from slackwater.analysis.verdict.steps import held_by_ranks
from slackwater.analysis.verdict.terms import terms_of
from slackwater.analysis.wording.arithmetic import watched
from slackwater.analysis.wording.progress import progress
from slackwater.protocol.declared.trial import ComparisonPair, Trial, load_trial
from slackwater.protocol.findings import Finding, InputError

if TYPE_CHECKING:
    from slackwater.analysis.result.result import Result

Array = NDArray[np.float64]


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

    with watched() as arithmetic:
        result = assemble(compute(load_trial(path)), cross_check=cross_check)
    return replace(result, findings=(*result.findings, *arithmetic.findings()))


def compute_each(files: Sequence[str | Path]) -> Iterator[Analysed]:
    """Trials computed one after the other, and told as it goes; none is kept here.

    Raises
    ------
    InputError
        After the last, with what is wrong with each that cannot be used.
    """
    wrong: list[Finding] = []
    for number, file in enumerate(files, 1):
        progress(f"trial {number} of {len(files)}, {file}")
        try:
            found = compute(load_trial(file))
        except InputError as error:
            wrong += error.findings
        else:
            yield found
    if wrong:
        raise InputError(wrong)


def compute(trial: Trial) -> Analysed:
    """Read the runs of a trial, reduce them and judge every comparison.

    Raises
    ------
    InputError
        With everything that keeps the tables of runs, of ratings and of tries from being used.
    """
    tries = tried_table(trial)
    runs = runs_beside(trial, tries)
    found = _judged(trial, runs, read_ratings(trial), tries)
    doubts = doubts_of(trial, runs)
    return _with_doubts(found, doubts) if doubts else found


def _with_doubts(found: Analysed, doubts: tuple[Doubt, ...]) -> Analysed:
    """The same, with the noise of runs in doubt kept to their own set points, and told first."""
    try:
        read = None if found.rated is None else found.rated.read
        tries = None if found.tried is None else found.tried.read
        rest = _judged(found.trial, without(found.runs, doubts), read, tries)
    except InputError:  # without them nothing is left
        return replace(found, doubts=sentences(doubts, found.judged, ()))
    told = sentences(doubts, found.judged, rest.judged)
    if all(doubt.copied for doubt in doubts) or len(rest.judged) != len(found.judged):
        return replace(found, doubts=told)
    judged = tuple(set_apart(*both) for both in zip(found.judged, rest.judged, strict=True))
    return replace(found, judged=judged, doubts=told)


def _judged(
    trial: Trial, runs: RunTable, ratings: RatingTable | None, tries: TryTable | None
) -> Analysed:
    """The runs of a table reduced, ratings and tries beside them, and every comparison judged."""
    protocol = trial.protocol
    reduction = reduce_runs(
        runs.frame,
        method=protocol.analysis.current,
        one_way=protocol.runs.directions == "one_way",
        reciprocal_within=protocol.runs.reciprocal_within.to("deg").value,
    )
    seen = {session for session, _ in reduction.cells}
    seen |= {each.session for told in (tries, ratings) if told is not None for each in told.used}
    sessions = tuple(session.id for session in trial.sessions if session.id in seen)
    fitted = {session.id: session.configuration for session in trial.sessions}
    axis = SweepAxis(protocol.set_point_measure, protocol.set_point_unit)
    tables = session_tables(trial, reduction, axis, sessions)
    rated = None if ratings is None else rated_of(trial, ratings, sessions)
    tables |= {} if rated is None else rated.tables
    tried = None if tries is None else tried_of(trial, tries, sessions)
    tables |= {} if tried is None else tried.tables
    sealed = sealed_of(trial, runs)
    broken = broken_limits(trial, runs)
    judged = judge_trial(trial, tables, sessions, sealed, broken)
    ranked: list[Judged] = []
    if rated is not None:
        ranked = judge_trial(trial, by_ranks(rated.figures), sessions, sealed, broken)
        judged = _held(judged, ranked, rated)
    return Analysed(
        trial=trial,
        runs=runs,
        reduction=reduction,
        tables=tables,
        judged=tuple(judged),
        configurations=tuple(fitted[session] for session in sessions),
        sealed=sealed,
        rated=rated,
        by_ranks=tuple(ranked),
        tried=tried,
        other_current=_other_current(trial, reduction, axis, sessions, judged),
    )


def _held(judged: list[Judged], ranked: Sequence[Judged], rated: Rated) -> list[Judged]:
    """Verdicts on ordinal items, without those that ranks point against."""
    ordinal = {one.ranks.quantity: one.name for one in rated.figures if one.item.scale == "ordinal"}
    against = {
        (ordinal[each.table.quantity], each.pair): each
        for each in ranked
        if each.table.quantity in ordinal
    }
    return [
        held_by_ranks(each, against[key])
        if (key := (each.table.quantity, each.pair)) in against
        else each
        for each in judged
    ]


WAYS = {
    "tide_fit": "one smooth current fitted to all runs",
    "mean_of_means": "the mean of means",
    "double_run": "each double run averaged by itself",
}


def _other_current(
    trial: Trial,
    reduction: Reduction,
    axis: SweepAxis,
    sessions: tuple[str, ...],
    judged: Sequence[Judged],
) -> OtherCurrent | None:
    """Session values with the current taken out in another way, of what decides."""
    looked = looked_at(judged)
    again = by_another_method(reduction) if looked else None
    if again is None:
        return None
    kinds = {each.table.kind for each in looked}
    tables = session_tables(trial, again, axis, sessions, kinds)
    return OtherCurrent(WAYS[again.method], WAYS[reduction.method], tables)


def session_tables(
    trial: Trial,
    reduction: Reduction,
    axis: SweepAxis,
    sessions: tuple[str, ...],
    kinds: Container[str] = ("set points", "equal speed", "whole sweep"),
) -> dict[str, SessionValues]:
    """Session values of every quantity that is compared, speed first.

    Those at the set points always; at equal speed and of the whole sweep where they are among `kinds`.
    """
    protocol = trial.protocol
    measures = {name: protocol.measure(name) for name in protocol.told}
    instruments = {name: instrument_of(protocol, name) for name in measures}
    by_log = protocol.analysis.current == "none"
    tables = measured(
        reduction,
        measures,
        instruments,
        axis,
        sessions,
        by_log=by_log,
        computed=set(protocol.told) - set(protocol.measures),
    )
    by_id = {session.id: session.configuration for session in trial.sessions}
    on_board = [by_id[session] for session in sessions]
    if trial.corrections and tables:
        points = next(iter(tables.values())).positions
        tables = corrected(tables, differed(trial, reduction, sessions, points), on_board)
    needs = fitted_of(trial, on_board)
    tables |= derived(tables, needs, axis)
    tables.pop(axis.measure, None)  # what was held is no result
    tables.pop("course_over_ground", None)  # it tells the current across, and has no mean
    whole = "whole sweep" in kinds
    if whole or "equal speed" in kinds:
        tables |= sweep_tables(trial, tables, axis, on_board, needs, whole=whole)
    if axis.is_speed:
        tables.pop("speed", None)  # nor is the speed that was held by another instrument
    if protocol.analysis.trend == "linear":
        tables = {key: with_trend(table) for key, table in tables.items()}
    return tables


def fitted_of(trial: Trial, on_board: Sequence[str]) -> Fitted:
    """What the trial declares of boat and configurations, session by session."""
    drives = [trial.configurations[name] for name in on_board]
    density = trial.boat.fuel_density
    analysis = trial.protocol.analysis
    return Fitted(
        pitch=tuple(
            None if drive.propeller_pitch is None else drive.propeller_pitch.to("m").value
            for drive in drives
        ),
        gear_ratio=tuple(drive.gear_ratio for drive in drives),
        fuel_density=None if density is None else density.to("kg/L").value,
        asked={*analysis.worthwhile, *trial.protocol.noise},
    )


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
    blocks = trial.blocks(sessions)
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
                terms_of(
                    protocol,
                    part.table,
                    part.sweeps,
                    look,
                    part.declared,
                    pairs=len(trial.comparisons),
                ),
                blocks,
                part.refused(refused_positions(broken, pair, part.whole)),
            )

        for table in (as_compared(each, trial, pair) for each in tables.values()):
            parts = parting.parts(pair, table)
            judged = [judge(part) for part in parts]
            whole = judged[0] if len(parts) == 1 else judge(parting.whole(table))
            out.append(marked(rejoined(whole, parts, judged), look))
    return out
