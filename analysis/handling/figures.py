"""A figure that a log gave, with its uncertainty; or why it gave none."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of one manoeuvre.

    Parameters
    ----------
    value : float or None
        None where the log does not give it. [unit]
    unit : str
    uncertainty : float or None
        Standard uncertainty from the noise of the log; None where nothing tells it. [unit]
    why_not : str
        Why there is no value; else empty.
    """

    value: float | None
    unit: str
    uncertainty: float | None = None
    why_not: str = ""

    @classmethod
    def missing(cls, unit: str, why: str) -> Figure:
        """None, and why."""
        return cls(None, unit, None, why)


def root_sum(parts: list[float | None]) -> float | None:
    """Independent parts of an uncertainty joined; None where one of them is not known."""
    known = [part for part in parts if part is not None]
    return math.hypot(*known) if len(known) == len(parts) else None
