"""The pictures of the current over time, an outing a panel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from slackwater.analysis.report.svg import BLUE, FAINT, SKY, VERMILION
from slackwater.analysis.report.trial.blocks import Row
from slackwater.analysis.report.trial.pictures import WIDTH, short
from slackwater.analysis.wording.numbers import unit_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_STEPS = (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0)  # [h] between the times named on the axis
_MARKS = {"out": (">", VERMILION), "back": ("<", BLUE)}


def _hours(rows: Sequence[Row], start: datetime) -> list[float]:
    """Hours since the midnight before the outing began, so that the axis reads as a clock."""
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    return [
        (datetime.fromisoformat(row["at"]).replace(tzinfo=None) - midnight).total_seconds() / 3600
        for row in rows
    ]


def _clock(hours: float, _: float) -> str:
    minutes = round(hours * 60)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def _panel(axes: Axes, curve: list[Row], runs: list[Row]) -> None:
    from matplotlib.ticker import MultipleLocator

    first = min(row["at"] for row in [*curve, *runs])
    start = datetime.fromisoformat(first).replace(tzinfo=None)
    axes.axhline(0.0, color=FAINT, linewidth=0.8, zorder=1)
    for direction, (marker, color) in _MARKS.items():
        mine = [row for row in runs if row["direction"] == direction]
        axes.plot(
            _hours(mine, start),
            [row["value"] for row in mine],
            marker=marker,
            color=color,
            markersize=3.6,
            markerfacecolor="white",
            markeredgewidth=0.8,
            linestyle="none",
        )
    if curve:
        x = _hours(curve, start)
        axes.plot(x, [row["value"] for row in curve], color="black")
        if all(row["low"] is not None and row["high"] is not None for row in curve):
            low, high = ([row[key] for row in curve] for key in ("low", "high"))
            axes.fill_between(x, low, high, color=SKY, alpha=0.45, linewidth=0)
    sessions = ", ".join(dict.fromkeys(row["session"] or "" for row in [*curve, *runs]))
    axes.set_title(f"{short(sessions)}   {start:%Y-%m-%d}", fontsize=8.5)
    first_hour, last_hour = axes.get_xlim()
    steps = [step for step in _STEPS if step >= (last_hour - first_hour) / 6]
    axes.xaxis.set_major_locator(MultipleLocator(steps[0] if steps else _STEPS[-1]))
    axes.xaxis.set_major_formatter(_clock)


def limits(curve: Sequence[Row], runs: Sequence[Row]) -> tuple[float, float]:
    """One range of current for all panels, so that they can be compared by eye."""
    keys = ("value", "low", "high")
    values = [row[key] for row in curve for key in keys if row[key] is not None]
    values += [row["value"] for row in runs if row["value"] is not None]
    low, high = min([*values, 0.0]), max([*values, 0.0])
    margin = 0.06 * (high - low) or 0.1
    return low - margin, high + margin


def outing(curve: Sequence[Row], runs: Sequence[Row], between: tuple[float, float]) -> Figure:
    """The current along the course through one outing, with each run's own estimate."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH, 1.9))
    axes = figure.add_subplot()
    _panel(axes, list(curve), list(runs))
    unit = next(unit_text(row["unit"]) for row in [*curve, *runs])
    axes.set_ylabel(f"current [{unit}]")
    axes.set_ylim(*between)
    return figure


def usable(row: Row) -> bool:
    """Whether a row can be drawn: it has a value and a time."""
    return row["value"] is not None and bool(row["at"])
