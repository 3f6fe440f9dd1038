"""Invented run tables and tables of session values, for the tests of the core."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd

from slackwater.analysis.quantities.session_values import SessionValues

START = datetime(2026, 5, 4, 8, 0)


def runs(*rows: tuple[Any, ...], **columns: Sequence[Any]) -> pd.DataFrame:
    """Runs as the intake gives them.

    Parameters
    ----------
    rows
        (session, set point [rpm], double run, direction, minute of the start, speed over ground).
    columns
        Further columns, or other values for those that are filled in here.
    """
    session, point, number, direction, minute, speed = zip(*rows, strict=True)
    start = [pd.NaT if m is None else START + timedelta(minutes=m) for m in minute]
    frame = pd.DataFrame(
        {
            "row": range(2, len(rows) + 2),
            "session": session,
            "configuration": "bare",
            "set_point": np.array(point, float),
            "double_run": number,
            "direction": direction,
            "heading": np.nan,
            "start": pd.Series(start, dtype="datetime64[ns]"),
            "duration": 60.0,
            "speed_over_ground": np.array(speed, float),
            "set_aside": "",
            "note": "",
        }
    )
    for name, values in columns.items():
        frame[name] = values
    return frame


def sweep(
    current: Any, points: Sequence[float] = (8.0, 12.0, 16.0), doubles: int = 2, session: str = "S1"
) -> pd.DataFrame:
    """A whole session on a current [kn] that is a function of minutes; set points 1000, 2000, ..."""
    rows, minute = [], 0.0
    for index, speed in enumerate(points):
        for double in range(doubles):
            ways = ("out", "back") if double % 2 == 0 else ("back", "out")
            for way in ways:
                sign = 1 if way == "out" else -1
                over_ground = speed + sign * current(minute + 0.5)  # the middle of a minute
                rows.append((session, 1000 * (index + 1), double + 1, way, minute, over_ground))
                minute += 2.5
    return runs(*rows)


def table(values: Any, **fields: Any) -> SessionValues:
    """Session values: a row a session, a column a set point."""
    values = np.array(values, float)
    shape = values.shape
    given: dict[str, Any] = {
        "quantity": "speed",
        "unit": "kn",
        "scale": "ratio",
        "better": "more",
        "sessions": tuple(f"S{i + 1}" for i in range(shape[0])),
        "positions": 1000.0 * np.arange(1, shape[1] + 1),
        "labels": tuple(f"{1000 * (i + 1)} rpm" for i in range(shape[1])),
        "values": values,
        "run_variance": np.zeros(shape),
        "double_runs": np.full(shape, 3),
        "instrument_variance": np.zeros(shape[1]),
    }
    return SessionValues(**(given | fields))
