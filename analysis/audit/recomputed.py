"""The number behind a claim, row by row: runs, session values, means, so that a reader can follow."""

from __future__ import annotations

import math
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import numpy as np

from slackwater.analysis.audit.outcome import Sheet
from slackwater.protocol.catalogue.recipes import powers
from slackwater.protocol.declared.ratings import POINTS

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.analysis.result.analysed import Analysed


def recomputed_sheets(
    analysed: Analysed, quantity: str, at: str, pair: tuple[str, str], position: float | None
) -> tuple[Sheet, ...]:
    """The runs and the session values behind one comparison.

    Parameters
    ----------
    analysed : Analysed
    quantity : str
    at : str
        The place as the result's rows name it.
    pair : (str, str)
        The configurations, baseline first.
    position : float or None
        Of the set point; None for a quantity that is not one of a set point.
    """
    sheets = []
    if position is not None:
        runs = _runs(analysed, quantity, pair, position)
        if runs is not None:
            sheets.append(runs)
    tried = _tries(analysed, quantity, pair)
    if tried is not None:
        sheets.append(tried)
    for table in analysed.tables.values():
        if table.quantity == quantity and at in table.labels:
            sheets.append(_sessions(analysed, table, pair, table.labels.index(at)))
            break
    return tuple(sheets)


def _runs(
    analysed: Analysed, quantity: str, pair: tuple[str, str], position: float
) -> Sheet | None:
    frame = analysed.reduction.frame
    fitted = {s.id: s.configuration for s in analysed.trial.sessions}
    here = frame[np.isclose(frame["set_point"], position)]
    here = here[here["session"].map(fitted).isin(pair)]
    if here.empty:
        return None
    columns = [name for name in powers(quantity, here.columns) if name in here]
    if not columns:
        return None
    units = analysed.runs.units
    current = _current(analysed, here) if "speed_over_ground" in columns else None
    headings = ["row", "session", "configuration", "double run", "direction"]
    headings += [f"{c.replace('_', ' ')} [{units.get(c, '')}]" for c in columns]
    if current is not None:
        unit = units.get("speed_over_ground", "kn")
        headings += [f"current taken out [{unit}]", f"through the water [{unit}]"]
    rows = []
    for i, (_, run) in enumerate(here.iterrows()):
        cells = [
            str(int(run["row"])),
            str(run["session"]),
            fitted[str(run["session"])],
            str(int(run["double_run"])),
            str(run["direction"]),
        ]
        cells += [_number(run[c]) for c in columns]
        if current is not None:
            carried = float(run["sign"]) * current[i]
            cells += [_number(carried, 3), _number(run["speed_over_ground"] - carried, 3)]
        rows.append(tuple(cells))
    at = f"{position:g} {analysed.trial.protocol.set_point_unit}"
    caption = f"Runs at {at}: row of {PurePath(analysed.runs.file).name}, as measured"
    if current is not None:
        caption += ", and with the current of its outing taken out"
    return Sheet(caption + ".", tuple(headings), tuple(rows))


def _tries(analysed: Analysed, quantity: str, pair: tuple[str, str]) -> Sheet | None:
    """The tries behind a value of a manoeuvre; None for any other quantity."""
    figures = () if analysed.tried is None else analysed.tried.figures
    figure = next((each for each in figures if each.name == quantity), None)
    if figure is None or analysed.tried is None:
        return None
    title = f"{quantity.replace('_', ' ')} [{figure.measure.unit}]"
    rows = [
        (
            str(each.row),
            each.session,
            each.configuration,
            each.direction or "–",
            str(each.number),
            _number(each.values[quantity], 4, "g"),
        )
        for each in figure.tries
        if each.configuration in pair
    ]
    file = PurePath(analysed.tried.read.file).name
    headings = ("row", "session", "configuration", "direction", "try", title)
    return Sheet(f"Tries: row of {file}, as read.", headings, tuple(rows))


def _current(analysed: Analysed, here: pd.DataFrame) -> list[float] | None:
    """The current of the outing's curve at the middle of each run; None without curves."""
    reduction = analysed.reduction
    found: dict[int, float] = {}
    middles = reduction.frame["middle"].to_numpy(dtype=float)
    for outing in reduction.outings:
        if outing.curve is None:
            return None
        values, _ = outing.curve.at(middles[outing.rows])
        found.update(zip(reduction.frame.index[outing.rows].tolist(), values.tolist(), strict=True))
    if not all(i in found for i in here.index.tolist()):
        return None
    return [found[i] for i in here.index.tolist()]


def _sessions(
    analysed: Analysed, table: SessionValues, pair: tuple[str, str], column: int
) -> Sheet:
    fitted = {s.id: s.configuration for s in analysed.trial.sessions}
    unit = "" if table.unit in ("", "1") else f" [{table.unit}]"
    label = table.labels[column]
    title = table.quantity.replace("_", " ")
    # "16 kn" is a place; "top speed" is the quantity itself.
    heading = f"{title} at {label}{unit}" if label[:1].isdigit() else f"{title}{unit}"
    if table.unit == POINTS or table.quantity in analysed.trial.protocol.tried:
        heading = f"{title} ({label}){unit}"
    rows = []
    for name in pair:
        mine = [i for i, s in enumerate(table.sessions) if fitted[s] == name]
        for i in mine:
            rows.append((table.sessions[i], name, _number(table.values[i, column], 4, "g")))
        if len(mine) > 1:
            mean = _mean(table.values[mine, column], table.scale)
            rows.append(("mean", name, _number(mean, 4, "g")))
    kind = "geometric means" if table.scale == "ratio" else "means"
    caption = f"Session values, and their {kind}."
    return Sheet(caption, ("session", "configuration", heading), tuple(rows))


def _mean(values: Any, scale: str) -> float:
    finite = values[np.isfinite(values)]
    if not finite.size:
        return math.nan
    if scale == "ratio" and (finite > 0).all():
        return float(np.exp(np.log(finite).mean()))
    return float(finite.mean())


def _number(value: Any, digits: int = 2, kind: str = "f") -> str:
    number = float(value)
    if not math.isfinite(number):
        return "–"
    return f"{number:.{digits}{kind}}".replace("-", "−")
