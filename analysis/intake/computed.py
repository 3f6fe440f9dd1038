"""Measures that the figures of each run give: a speed from distance and time, a power from energy."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from slackwater.analysis.intake.run_table import RunTable
from slackwater.protocol.units.quantity import conversion

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def with_computed(table: RunTable, protocol: Protocol) -> RunTable:
    """The table with a column more for each measure that is worked out run by run.

    A mean speed over a known distance is distance over time; the mean power of a run is its energy
    over its duration, and is missing where the duration is.
    """
    columns, units = dict(table.columns), dict(table.units)
    for name in protocol.told:
        if name in columns:
            continue
        unit = protocol.measure(name).unit
        if name == "speed_over_ground":
            whole, over = columns["timed_distance"], columns["elapsed_time"]
            factor = conversion(units["timed_distance"], "m") / conversion(
                units["elapsed_time"], "s"
            )
            factor *= conversion("m/s", unit)
        else:
            whole, over = columns["electric_energy"], columns["duration"]
            factor = conversion(units["electric_energy"], "kWh") * 3600.0 * conversion("kW", unit)
        columns[name] = [_over(one, other) * factor for one, other in zip(whole, over, strict=True)]
        units[name] = unit
    return replace(table, columns=columns, units=units)


def _over(whole: float, over: float) -> float:
    """A quotient of two figures of a run; missing where either is, or is not above zero."""
    return whole / over if whole > 0 and over > 0 else float("nan")
