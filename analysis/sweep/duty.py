"""What a declared duty burns, a trip and a year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.curves import curves
from slackwater.analysis.sweep.equal_speed import Target, carried, read, sweeps_of
from slackwater.analysis.sweep.figures import figure
from slackwater.protocol.units.quantity import conversion

Array = NDArray[np.float64]


def duty_tables(
    tables: Mapping[str, SessionValues],
    fitted: Sequence[str],
    legs: Sequence[tuple[Target, float]],
    trips: int | None,
) -> list[SessionValues]:
    """Fuel for a trip whose legs are each run at one speed, and for a year of such trips.

    Parameters
    ----------
    tables : mapping
        Session values at the set points.
    fitted : sequence of str, length sessions
    legs : sequence of (Target, float)
        Speed, and time at it. [h]
    trips : int or None
        In a year.
    """
    speed, flow = tables["speed"], tables["fuel_flow"]
    sweeps = sweeps_of(speed, fitted)
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = np.nan_to_num(flow.run_variance / flow.values**2)
    found = read(sweeps, flow.on_scale(), relative, np.log([t.speed for t, _ in legs]))
    litres = np.exp(found.values) * np.array([hours for _, hours in legs])
    litres = litres * conversion(flow.unit, "L/h")
    total = litres.sum(axis=1)
    runs = (litres**2 * found.run_variance).sum(axis=1)
    # What the curves are off by may go the same way at every speed.
    curve = (litres * np.sqrt(found.curve_variance)).sum(axis=1) / total
    curve = np.sqrt(curve**2 + carried(flow))
    gone = np.isfinite(speed.values).any(axis=1) & ~np.isfinite(total)
    reason = ""
    if gone.any():
        lost = ", ".join(
            t.label for i, (t, _) in enumerate(legs) if np.isnan(litres[gone, i]).any()
        )
        reason = f"not every session reached {lost}; set points on both sides of it would do"
    at = np.nan_to_num(
        curves(sweeps.x, sweeps.grand_mean(sweeps.speed)).crossing(
            np.log([t.speed for t, _ in legs])
        )[0]
    )
    instrument = float(np.interp(at, sweeps.x, flow.instrument_variance).max(initial=0.0))
    trip = replace(
        figure(
            flow, "trip_fuel", "trip", total, run_variance=runs, curve_variance=curve**2,
            untestable=reason,
        ),
        instrument_variance=np.array([instrument]),
    )  # fmt: skip
    if trips is None:
        return [trip]
    level = float(np.nanmean(total)) if np.isfinite(total).any() else 0.0
    year = replace(
        figure(
            flow, "annual_fuel", "year", total * trips, run_variance=runs * trips**2,
            curve_variance=(curve * total * trips) ** 2, untestable=reason,
        ),
        instrument_variance=np.array([instrument * (level * trips) ** 2]),
    )  # fmt: skip
    return [trip, year]
