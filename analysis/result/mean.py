"""The mean of one configuration at one place: a row of the result's table of set points."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Mean:
    """What one configuration gave at one place, over its sessions.

    `mean`, `low` and `high` are in `unit`; the interval is missing where no noise is known. The
    fields are described one by one in `result.fields`.
    """

    configuration: str
    quantity: str
    at: str
    position: float | None
    mean: float
    low: float | None
    high: float | None
    unit: str
    sessions: int
    double_runs: int
    calibration: float | None = None
