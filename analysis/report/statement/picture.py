"""The picture of a statement: the interval at each place, and a mark where a size is stated."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.report.svg import FAINT, INK, SHADE
from slackwater.analysis.statement.lines import Line, Said
from slackwater.analysis.statement.sections import Section
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import Scale, change_scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH, _HEAD, _ROW = 5.6, 1.0, 0.3  # [in]


def paint(section: Section) -> Figure:
    """The figure of one section; `svg.draw` and `svg.save` call it with the report's style."""
    from matplotlib.figure import Figure as Canvas

    count = len(section.lines)
    figure = Canvas(figsize=(_WIDTH, _HEAD + _ROW * count))
    axes = figure.add_subplot()
    first = section.lines[0].row
    scale = change_scale(first.scale, first.unit)
    for index, line in enumerate(section.lines):
        _row(axes, line, scale, float(index))
    axes.axvline(0.0, color=FAINT, linewidth=0.9, zorder=1)
    axes.set_ylim(count - 0.4, -0.6)
    places = [line.at if section.unit else section.title for line in section.lines]
    axes.set_yticks(range(count), [printable(place) for place in places])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    low, high = axes.get_xlim()
    axes.set_xlim(min(low, -high / 8), max(high, -low / 8))
    right = axes.secondary_yaxis("right")
    right.set_yticks(range(count), [printable(line.change) for line in section.lines])
    right.tick_params(length=0)
    right.spines["right"].set_visible(False)
    axes.set_xlabel(f"change in {section.title} [{scale.unit}]")
    axes.xaxis.set_major_formatter(_signed)
    return figure


def _row(axes: Axes, line: Line, scale: Scale, y: float) -> None:
    row = line.row
    floor = scale.of(row.noise_floor)
    if floor is not None:
        axes.barh(y, 2 * floor, left=-floor, height=0.78, color=SHADE, linewidth=0)
    low, high, change = (scale.of(value) for value in (row.low, row.high, row.change))
    if low is None or high is None:
        return
    axes.plot([low, high], [y, y], color=INK, linewidth=1.6, solid_capstyle="butt")
    if line.said is Said.SIZE and change is not None:
        axes.plot([change], [y], marker="o", markersize=6.0, color=INK, zorder=5)


def _signed(value: float, _: float) -> str:
    text = f"{value:+.6g}" if abs(value) > 1e-12 else "0"
    return text.replace("-", "−")
