"""From a trial that is analysed to its outcome."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater import __version__
from slackwater.analysis.many.outcome import Change, Outcome, SessionLevel
from slackwater.analysis.planning.noise_sums import noise_parts
from slackwater.protocol.units.quantity import Quantity
from slackwater.protocol.units.units import convert, same_dimension

if TYPE_CHECKING:
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.analysis.result.analysed import Analysed
    from slackwater.analysis.statistics.comparison import Differences
    from slackwater.analysis.verdict.compared import Compared
    from slackwater.analysis.verdict.judgement import Judged

Array = NDArray[np.float64]


def outcome_of(analysed: Analysed) -> Outcome:
    """What statistics of many trials need of one.

    Parameters
    ----------
    analysed : Analysed
        As `pipeline.compute` gives it.
    """
    trial = analysed.trial
    protocol, boat = trial.protocol, trial.boat
    days = sorted(session.day for session in trial.sessions if session.day)
    analysis = protocol.analysis
    return Outcome(
        trial=trial.trial,
        title=trial.title,
        boat=boat.title,
        protocol=protocol.protocol,
        version=protocol.version,
        protocol_sha256=protocol.document.sha256,
        tool=__version__,
        trial_sha256=trial.document.sha256,
        runs_sha256=analysed.runs.sha256,
        content=_content(analysed),
        waterline_length=_in(boat.waterline_length, "m"),
        length_overall=_in(boat.length_overall, "m"),
        displacement=_in(boat.displacement, "kg"),
        wave_height=_wave_height(analysed),
        first_day=days[0] if days else "",
        last_day=days[-1] if days else "",
        invented=trial.invented,
        confidence=analysis.confidence.to("%").value / 100,
        decides=analysis.decides,
        crews=tuple(sorted({c for c in map(trial.crew_of, trial.sessions) if c})),
        configurations={name: each.title or name for name, each in trial.configurations.items()},
        changes=tuple(
            change for judged in analysed.judged for change in _changes(analysed, judged)
        ),
        levels=tuple(_levels(analysed)),
        noise=tuple(part.sums for part in noise_parts(analysed)),
    )


def _in(quantity: Quantity | None, unit: str) -> float | None:
    return None if quantity is None else quantity.to(unit).value


def _wave_height(analysed: Analysed) -> float | None:
    noted = [session.wave_height for session in analysed.trial.sessions]
    heights = [height.to("m").value for height in noted if height is not None]
    return float(np.median(heights)) if heights else None


def _content(analysed: Analysed) -> str:
    """A digest of the runs themselves, which another format or order of rows does not change."""
    frame = analysed.reduction.frame
    names = [n for n in ("start", "direction", "set_point", "speed_over_ground") if n in frame]
    rows = sorted(
        "|".join(_text(value) for value in row)
        for row in zip(*(frame[name].tolist() for name in names), strict=True)
    )
    return hashlib.sha256("\n".join(rows).encode()).hexdigest()


def _text(value: object) -> str:
    return f"{value:.9g}" if isinstance(value, float) else str(value)


def _changes(analysed: Analysed, judged: Judged) -> Iterator[Change]:
    table = judged.table
    speeds = _speeds(analysed, judged)
    values, errors, freedom = _figures(judged)
    for p, row in enumerate(judged.rows):
        told = math.isfinite(errors[p]) and row.p_value is not None
        yield Change(
            baseline=row.baseline,
            modified=row.modified,
            quantity=row.quantity,
            kind=table.kind,
            at=row.at,
            position=row.position if table.kind != "whole sweep" else None,
            axis_unit=_axis_unit(analysed, table),
            speed=float(speeds[p]) if math.isfinite(speeds[p]) else None,
            unit=row.unit,
            scale=row.scale,
            better=row.better,
            value=float(values[p]) if math.isfinite(values[p]) else None,
            standard_error=float(errors[p]) if told else None,
            df=float(freedom[p]) if told else None,
            worthwhile=row.worthwhile,
            one_sided=row.no_loss_bound is not None or row.no_loss_p is not None,
            confidence=row.confidence,
            simultaneous=row.simultaneous,
            deciding=row.deciding,
            sessions_baseline=row.sessions_baseline,
            sessions_modified=row.sessions_modified,
            verdict=str(row.verdict),
            reason=row.reason,
        )


def _axis_unit(analysed: Analysed, table: SessionValues) -> str:
    if table.kind == "whole sweep":
        return ""
    if table.kind == "equal speed":
        speed = analysed.tables.get("speed")
        return "kn" if speed is None else speed.unit
    return analysed.trial.protocol.set_point_unit


def _figures(judged: Judged) -> tuple[Array, Array, Array]:
    """Value, standard error and its degrees of freedom at each position, on the scale compared."""
    values = np.array([_value(row) for row in judged.rows])
    found = judged.differences
    if found is None:
        nothing = np.full(len(judged.rows), np.nan)
        return values, nothing, nothing
    own = found.standard_error**2
    whole = own + found.known + found.common
    freedom = _freedom(found)
    with np.errstate(invalid="ignore", divide="ignore"):
        df = freedom * (whole / own) ** 2
    return values, np.asarray(np.sqrt(whole)), np.asarray(df)


def _value(row: Compared) -> float:
    if row.change is None:
        return math.nan
    return math.log1p(row.change) if row.scale == "ratio" else row.change


def _freedom(found: Differences) -> Array:
    if found.noise.freedom is not None and found.noise.specific_df <= 0:
        return np.full(found.difference.shape, float(found.noise.freedom[0].min()))
    return found.noise.effective_df()


def _speeds(analysed: Analysed, judged: Judged) -> Array:
    """Speed of the baseline at each position; NaN where there is none. [m/s]"""
    table, unit = judged.table, _axis_unit(analysed, judged.table)
    if unit and same_dimension(unit, "m/s"):
        return np.asarray(table.positions * convert(1.0, unit, "m/s"))
    speed = analysed.tables.get("speed")
    fitted = np.array(analysed.configurations) == judged.rows[0].baseline if judged.rows else None
    if table.kind != "set points" or speed is None or fitted is None:
        return np.full(len(judged.rows), np.nan)
    at = {float(position): p for p, position in enumerate(speed.positions)}
    mean = {
        position: float(np.mean(mine)) * convert(1.0, speed.unit, "m/s")
        for position, p in at.items()
        if (mine := _finite(speed.values[fitted, p])).size
    }
    return np.array([mean.get(float(position), np.nan) for position in table.positions])


def _finite(values: Array) -> Array:
    return values[np.isfinite(values)]


def _levels(analysed: Analysed) -> Iterator[SessionLevel]:
    trial = analysed.trial
    days = {session.id: session.day for session in trial.sessions}
    crews = {session.id: trial.crew_of(session) for session in trial.sessions}
    for table in analysed.tables.values():
        if table.kind != "set points":
            continue
        for s, session in enumerate(table.sessions):
            yield SessionLevel(
                session=session,
                configuration=analysed.configurations[s],
                day=days.get(session, ""),
                crew=crews.get(session, ""),
                quantity=table.quantity,
                unit=table.unit,
                scale=table.scale,
                at=table.labels,
                values=tuple(v if math.isfinite(v) else None for v in table.values[s].tolist()),
            )
