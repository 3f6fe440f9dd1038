"""Small tables of session values, invented, for the tests of what is read off a sweep."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.protocol.catalogue.measures import MEASURES


def table(
    quantity: str,
    positions: Sequence[float],
    values: object,
    unit: str = "",
    runs: float = 0.0,
) -> SessionValues:
    """Session values at set points of engine speed; `runs` is their relative run noise."""
    measure = MEASURES[quantity]
    rows = np.asarray(values, dtype=float)
    return SessionValues(
        quantity=quantity,
        unit=unit or measure.unit,
        scale=measure.scale,
        better=measure.better,
        sessions=tuple(f"S{i + 1}" for i in range(len(rows))),
        positions=np.asarray(positions, dtype=float),
        labels=tuple(f"{p:g} rpm" for p in positions),
        values=rows,
        run_variance=(runs * rows) ** 2,
        double_runs=np.where(np.isfinite(rows), 2, 0),
        instrument_variance=np.zeros(len(positions)),
    )
