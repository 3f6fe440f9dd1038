"""What was computed, put into the tables of a result."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.special import chdtri, fdtri, ndtri, stdtrit

from slackwater.analysis.checking.applying import check_method, deviations
from slackwater.analysis.checking.cross_current import across_track
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.result.calibration import calibration
from slackwater.analysis.result.conditions import condition_rows
from slackwater.analysis.result.deciding import deciding_findings, deciding_of
from slackwater.analysis.result.manoeuvre_rows import (
    manoeuvre_findings,
    manoeuvre_inputs,
    manoeuvre_method,
    manoeuvre_rows,
    try_rows,
)
from slackwater.analysis.result.method_words import method_text, sources
from slackwater.analysis.result.not_told import not_told
from slackwater.analysis.result.rating_rows import (
    blinding_rows,
    rank_rows,
    rating_findings,
    rating_inputs,
    rating_method,
    rating_rows,
    score_rows,
)
from slackwater.analysis.result.result import (
    InputFile,
    ProtocolStamp,
    Result,
    RunCount,
    SealStamp,
    table,
)
from slackwater.analysis.result.sweep_facts import (
    correction_findings,
    correction_rows,
    figure_rows,
    remarks,
    stretch_rows,
)
from slackwater.analysis.verdict.leanings import Leaning, leanings
from slackwater.analysis.verdict.looks import look_at, look_findings
from slackwater.analysis.verdict.prior_findings import prior_findings
from slackwater.protocol.declared.invented import invented_findings, marked
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._applied import sift

if TYPE_CHECKING:
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.analysis.result.analysed import Analysed
    from slackwater.analysis.statistics.noise import NoiseEstimate
    from slackwater.analysis.verdict.judgement import Judged

CURVE_POINTS = 13  # of the current, for each session


def assemble(analysed: Analysed, *, cross_check: bool = False) -> Result:
    """Put everything computed from a trial into its result."""
    checked = []
    if cross_check:
        from slackwater.analysis.result.other_libraries import cross_check_rows

        checked = cross_check_rows(analysed)
    trial, reduction = analysed.trial, analysed.reduction
    protocol = trial.protocol
    inputs = [InputFile(trial.document.path.name, trial.document.sha256, "trial")]
    if protocol.document.path != trial.document.path:
        inputs.append(InputFile(protocol.document.path.name, protocol.document.sha256, "protocol"))
    inputs += [InputFile(name, sha256, role) for role, name, sha256 in analysed.runs.inputs]
    inputs += [*rating_inputs(analysed), *manoeuvre_inputs(analysed)]
    deciding = deciding_of(protocol, analysed.judged)
    read = sift(analysed.runs.findings, trial.waivers)
    method, departures = check_method(trial), deviations(trial, analysed.runs)
    return Result(
        trial=trial.trial,
        title=marked(trial.title, trial),
        boat=trial.boat.title,
        protocol=ProtocolStamp(
            protocol.protocol, protocol.version, protocol.document.sha256, protocol.title
        ),
        configurations={
            name: marked(configuration.title or name, trial)
            for name, configuration in trial.configurations.items()
        },
        inputs=tuple(inputs),
        runs=RunCount(
            read=len(analysed.runs),
            used=len(reduction.frame),
            set_aside=len(reduction.set_aside),
        ),
        set_points=table("set_points", _set_points(analysed)),
        comparisons=table(
            "comparisons", [row.as_row() for each in analysed.judged for row in each.rows]
        ),
        leanings=table("leanings", [each.as_row() for each in _leanings(analysed)]),
        stretches=table("stretches", stretch_rows(analysed)),
        cross_check=table("cross_check", checked),
        figures=table("figures", figure_rows(analysed)),
        corrections=table("corrections", correction_rows(analysed)),
        current=table("current", _current(analysed)),
        current_runs=table("current_runs", _current_runs(analysed)),
        noise=table("noise", _noise(analysed)),
        session_values=table("session_values", _session_values(analysed)),
        ratings=table("ratings", rating_rows(analysed)),
        rating_scores=table("rating_scores", score_rows(analysed)),
        rating_ranks=table("rating_ranks", rank_rows(analysed)),
        blinding=table("blinding", blinding_rows(analysed)),
        manoeuvres=table("manoeuvres", manoeuvre_rows(analysed)),
        tries=table("tries", try_rows(analysed)),
        conditions=table("conditions", condition_rows(analysed)),
        set_aside=table("set_aside", _set_aside(analysed)),
        deviations=departures.findings,
        provenance=analysed.runs.provenance,
        tries_provenance=None if analysed.tried is None else analysed.tried.read.provenance,
        findings=(
            *read.findings,
            *invented_findings(trial),
            *(each for each in method.findings if each.severity is not Severity.ADVICE),
            *_notes(analysed),
            *sift(rating_findings(analysed), trial.waivers).findings,
            *sift(manoeuvre_findings(analysed), trial.waivers).findings,
            *not_told(analysed),
            *_across_track(analysed),
            *_looks(analysed),
            *analysed.sealed.findings(),
            *correction_findings(analysed),
            *prior_findings(analysed.judged),
            *deciding_findings(deciding),
        ),
        remarks=remarks(analysed),
        method=(*method_text(analysed), *rating_method(analysed), *manoeuvre_method(analysed)),
        sources=(*protocol.sources, *sources(analysed)),
        waivers=tuple(f"{waiver.rule}: {waiver.reason}" for waiver in trial.waivers),
        seal=_seal(analysed),
        deciding=deciding,
        doubts=analysed.doubts,
    )


def _seal(analysed: Analysed) -> SealStamp:
    """What the seal says, and what it does not cover."""
    sealed, message = analysed.sealed, analysed.sealed.message
    outside = [
        f"{count} {noun}{'' if count == 1 else 's'}{more}"
        for count, noun, more in (
            (len(analysed.trial.corrections), "correction", ""),
            (len(analysed.reduction.set_aside), "run", " set aside"),
        )
        if count
    ]
    if sealed.holds and outside:
        message += f"; it does not cover {' and '.join(outside)}"
    made, path, claims = sealed.status.made, sealed.status.path, sealed.claims_status
    return SealStamp(
        state=sealed.state,
        message=message,
        made=None if made is None else made.isoformat(timespec="seconds"),
        file=None if path is None else path.name,
        claims=None if claims is None else "kept" if claims.kept else "changed",
    )


def _leanings(analysed: Analysed) -> list[Leaning]:
    """What the verdicts on the deciding figure lean on."""
    sessions = next((table.sessions for table in analysed.tables.values()), ())
    return leanings(analysed.judged, analysed.trial.blocks(sessions), analysed.other_current)


def _looks(analysed: Analysed) -> list[Finding]:
    """What there is to know of a look that is not the declared end, for each pair compared."""
    found: dict[Finding, None] = {}
    for pair in analysed.trial.comparisons:
        look = look_at(
            analysed.trial.protocol, analysed.configurations, (pair.baseline, pair.modified)
        )
        established = sum(
            row.verdict.established
            for judged in analysed.judged
            for row in judged.rows
            if (row.baseline, row.modified) == (pair.baseline, pair.modified)
        )
        found |= dict.fromkeys(look_findings(look, established))
    return list(found)


def _notes(analysed: Analysed) -> list[Finding]:
    return [
        Finding(
            rule="current-method",
            severity=Severity.WARNING,
            message=note,
            fix="see the method in the report; record what is missing, or declare another method",
        )
        for note in analysed.reduction.notes
    ]


def _across_track(analysed: Analysed) -> tuple[Finding, ...]:
    protocol = analysed.trial.protocol
    units = {name: protocol.measure(name).unit for name in protocol.measures}
    return across_track(analysed.reduction, units)


def _set_points(analysed: Analysed) -> list[dict[str, Any]]:
    """Mean of each configuration at each set point, with its interval where one is known."""
    fitted = np.array(analysed.configurations)
    judged_first: dict[str, Judged] = {}
    for judged in analysed.judged:
        judged_first.setdefault(judged.table.key, judged)
    rows: list[dict[str, Any]] = []
    for values in analysed.tables.values():
        open_of = calibration(analysed, values)
        for name in dict.fromkeys(analysed.configurations):
            mine = fitted == name
            half = mean_half_width(judged_first.get(values.key), values, mine)
            for p, label in enumerate(values.labels):
                found = values.on_scale()[mine, p]
                found = found[np.isfinite(found)]
                reached = np.isfinite(values.values[mine]).any(axis=1).sum()
                if not found.size or (any(values.beyond) and found.size < reached):
                    continue  # the sessions that happened to reach it do not stand for all
                middle = float(found.mean())
                ends = [middle - half[p], middle + half[p]]
                if values.scale == "ratio":
                    middle, *ends = np.exp([middle, *ends]).tolist()
                rows.append(
                    {
                        "configuration": name,
                        "quantity": values.quantity,
                        "at": label,
                        "position": float(values.positions[p]),
                        "mean": middle,
                        "low": ends[0],
                        "high": ends[1],
                        "unit": values.unit,
                        "sessions": int(found.size),
                        "double_runs": int(values.double_runs[fitted == name, p].sum()),
                        "calibration": float(open_of[p])
                        * (abs(middle) if values.scale == "ratio" else 1.0),
                    }
                )
    return rows


def mean_half_width(judged: Judged | None, values: SessionValues, mine: np.ndarray) -> np.ndarray:
    """Half-width of the simultaneous interval of one configuration's means; NaN where unknown."""
    found = judged.differences if judged else None
    if found is None:
        return np.full(len(values.positions), np.nan)
    count = np.isfinite(values.values[mine]).sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.where(count > 0, np.sqrt(found.noise.total / count), np.nan)
        joined = found.standard_error**2 + found.known + found.common
        factor = found.half_width**2 / joined
    # Where a comparison cannot be made, the factor of the others serves.
    factor = np.where(np.isfinite(factor), factor, np.nanmax(factor, initial=0.0))
    curve = ndtri(0.5 + found.confidence / 2) ** 2 * values.curve_variance_of(mine, level=True)
    return np.asarray(np.sqrt(factor * error**2 + curve))


def _current(analysed: Analysed) -> list[dict[str, Any]]:
    reduction, unit = analysed.reduction, _speed_unit(analysed)
    if not reduction.outings:
        return _current_of_double_runs(analysed)
    rows = []
    for number, outing in enumerate(reduction.outings, start=1):
        if outing.curve is None:
            continue
        part = reduction.frame.iloc[outing.rows]
        df = outing.curve.residual_df
        factor = float(stdtrit(df, 0.975)) if df > 0 else np.nan
        for session, runs in part.groupby("session", sort=False):
            times = np.linspace(runs["middle"].min(), runs["middle"].max(), CURVE_POINTS)
            value, error = outing.curve.at(times)
            for when, level, uncertainty in zip(times, value, error, strict=True):
                rows.append(
                    {
                        "session": session,
                        "outing": number,
                        "at": _iso(when),
                        "value": float(level),
                        "low": float(level - factor * uncertainty),
                        "high": float(level + factor * uncertainty),
                        "unit": unit,
                    }
                )
    return rows


def _current_of_double_runs(analysed: Analysed) -> list[dict[str, Any]]:
    """Without a curve, each double run tells the current at its own time."""
    reduction, unit = analysed.reduction, _speed_unit(analysed)
    if reduction.speed is None or reduction.method == "none":
        return []
    frame = reduction.frame.assign(current=reduction.current_of_run)
    frame = frame[frame["middle"].notna() & frame["current"].notna()]
    rows = []
    for _, pair in frame.groupby("pair", sort=False):
        # Out and back alike err by what the double run's mean strays from the cell's.
        rows.append(
            {
                "session": str(pair["session"].iloc[0]),
                "outing": 1,
                "at": _iso(pair["middle"].mean()),
                "value": float(pair["current"].mean()),
                "low": None,
                "high": None,
                "unit": unit,
            }
        )
    return sorted(rows, key=lambda row: str(row["at"]))


def _current_runs(analysed: Analysed) -> list[dict[str, Any]]:
    reduction, unit = analysed.reduction, _speed_unit(analysed)
    number = np.ones(len(reduction.frame), dtype=int)
    for index, outing in enumerate(reduction.outings, start=1):
        number[outing.rows] = index
    axis, frame = _axis(analysed), reduction.frame
    middle = frame["middle"].to_numpy(dtype=float)
    point = frame["set_point"].to_numpy(dtype=float)
    session, direction = frame["session"].tolist(), frame["direction"].tolist()
    return [
        {
            "session": session[i],
            "outing": int(number[i]),
            "at": _iso(middle[i]),
            "value": float(reduction.current_of_run[i]),
            "unit": unit,
            "direction": direction[i],
            "set_point": axis.label(float(point[i])),
        }
        for i in np.flatnonzero(np.isfinite(reduction.current_of_run) & np.isfinite(middle))
    ]


def _axis(analysed: Analysed) -> SweepAxis:
    protocol = analysed.trial.protocol
    return SweepAxis(protocol.set_point_measure, protocol.set_point_unit)


def _speed_unit(analysed: Analysed) -> str:
    found = analysed.tables.get("speed")
    return found.unit if found else ""


def _iso(seconds: float) -> str:
    return str(np.datetime64(round(float(seconds)), "s"))


def _noise(analysed: Analysed) -> list[dict[str, Any]]:
    """Components of the noise of each quantity; the same for every pair of configurations."""
    rows: list[dict[str, Any]] = []
    done = set()
    for judged in analysed.judged:
        table = judged.table
        # At equal speed the noise is that of speed and measure together, larger here than there.
        if judged.differences is None or table.key in done or table.kind == "equal speed":
            continue
        done.add(table.key)
        rows += _components(table, judged.differences.noise)
    return rows


def _components(values: SessionValues, noise: NoiseEstimate) -> list[dict[str, Any]]:
    fraction = values.scale == "ratio"
    sessions = len(values.sessions)

    def row(component: str, value: float, low: float | None, high: float | None) -> dict[str, Any]:
        return {
            "quantity": values.quantity,
            "component": component,
            "value": value,
            "low": low,
            "high": high,
            "sessions": sessions,
            "unit": "" if fraction else values.unit,
        }

    runs = float(np.sqrt(noise.typical(noise.runs)))
    own = float(np.sqrt(noise.typical(noise.specific - noise.runs)))
    if noise.specific_df <= 0:
        total = float(np.sqrt(noise.total.mean()))
        spread = np.sqrt(noise.shared_df / chdtri(noise.shared_df, [0.025, 0.975]))
        return [
            row("between sessions", total, total * float(spread[0]), total * float(spread[1])),
            row("within session (runs)", runs, None, None),
        ]
    unit = float(np.mean(noise.share / noise.specific))
    ratio = float(noise.ratio)
    ends = [
        np.sqrt(max(ratio / float(fdtri(noise.shared_df, noise.specific_df, q)) - 1, 0.0) / unit)
        for q in (0.975, 0.025)
    ]
    return [
        row("between sessions", float(np.sqrt(noise.shared)), float(ends[0]), float(ends[1])),
        row("session by set point", own, None, None),
        row("within session (runs)", runs, None, None),
    ]


def _session_values(analysed: Analysed) -> list[dict[str, Any]]:
    days = {session.id: session.day for session in analysed.trial.sessions}
    return [
        {
            "session": session,
            "configuration": analysed.configurations[s],
            "date": days[session],
            "quantity": values.quantity,
            "at": values.labels[p],
            "position": float(values.positions[p]),
            "value": float(values.values[s, p]),
            "unit": values.unit,
            "double_runs": int(values.double_runs[s, p]),
        }
        for values in analysed.tables.values()
        for s, session in enumerate(values.sessions)
        for p in range(len(values.positions))
        if np.isfinite(values.values[s, p])
    ]


def _set_aside(analysed: Analysed) -> list[dict[str, Any]]:
    axis = _axis(analysed)
    return [
        {
            "row": run.row,
            "session": run.session,
            "set_point": axis.label(run.set_point) if np.isfinite(run.set_point) else "",
            "double_run": run.double_run,
            "direction": run.direction,
            "reason": run.reason,
        }
        for run in analysed.reduction.set_aside
    ]
