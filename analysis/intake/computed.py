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
    frame, units = table.frame, dict(table.units)
    for name in protocol.told:
        if name in frame:
            continue
        unit = protocol.measure(name).unit
        if name == "speed_over_ground":
            metres = frame["timed_distance"] * conversion(units["timed_distance"], "m")
            seconds = frame["elapsed_time"] * conversion(units["elapsed_time"], "s")
            values = metres / seconds * conversion("m/s", unit)
        else:
            energy = frame["electric_energy"] * conversion(units["electric_energy"], "kWh")
            values = energy / (frame["duration"] / 3600.0) * conversion("kW", unit)
        frame = frame.assign(**{name: values.where(values > 0)})
        units[name] = unit
    return replace(table, frame=frame, units=units)
