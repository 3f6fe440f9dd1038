"""The times that an axis of hours names."""

from __future__ import annotations

_STEPS = (1 / 60, 2 / 60, 5 / 60, 10 / 60, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0)  # [h]


def clock_ticks(low: float, high: float, finest: float = 0.25) -> dict[float, str]:
    """Full hours, or parts of them no finer than so many hours, between two; each as HH:MM.

    Where there is none between the two, the second in their middle.
    """
    steps = [step for step in _STEPS if step >= finest - 1e-9]
    step = next((each for each in steps if each >= (high - low) / 6), steps[-1])
    first = int(low // step) + 1
    found = {n * step: clock(n * step) for n in range(first, int(high // step) + 1)}
    middle = round((low + high) * 1800) / 3600
    return found or {middle: f"{clock(middle)}:{round(middle * 3600) % 60:02d}"}


def clock(hours: float) -> str:
    """Hours as a clock shows them."""
    minutes = int(hours * 60 + 1e-6)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
