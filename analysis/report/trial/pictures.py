"""The pictures of the differences and of the noise. matplotlib is loaded when one is painted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from slackwater.analysis.report.svg import (
    BLACK,
    BLUE,
    FAINT,
    GREEN,
    INK,
    ORANGE,
    PURPLE,
    RULE,
    SHADE,
    SKY,
    VERMILION,
)
from slackwater.analysis.report.trial.blocks import SPEEDS, Block, Row, by_position, split_at
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import change_scale, unit_text, value_scale
from slackwater.analysis.wording.words import quantity_title

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 4.6  # [in] two stand side by side on a wide page, one fills a phone
_LONGEST_NAME = 30

#: Colour and marker of the configurations, in the order declared.
LOOKS = (
    (BLUE, "o"),
    (VERMILION, "s"),
    (GREEN, "^"),
    (PURPLE, "D"),
    (BLACK, "v"),
    (ORANGE, "P"),
    (SKY, "X"),
)

#: Marker of each verdict, and whether it is filled: the established ones are.
VERDICT_MARKS: dict[str, tuple[str, bool]] = {
    "gain": ("^", True),
    "loss": ("v", True),
    "higher": ("^", False),
    "lower": ("v", False),
    "equivalent": ("D", True),
    "within noise": ("o", False),
    "untestable": ("x", True),
}


def short(name: str) -> str:
    """A name that fits a legend."""
    name = printable(name)
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def look(configurations: Sequence[str], configuration: str) -> tuple[str, str]:
    """Colour and marker of a configuration."""
    known = list(configurations)
    index = known.index(configuration) if configuration in known else len(known)
    return LOOKS[index % len(LOOKS)]


def _figure(height: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH, height))


def _axis_label(title: str, unit: str) -> str:
    return f"{title} [{unit}]" if unit else title


def _positions(rows: Sequence[Row]) -> tuple[dict[str, float], str]:
    """Where each place stands along the axis, and the axis' unit; numbered when it has no number."""
    ordered = list(dict.fromkeys(row["at"] or "" for row in by_position(list(rows))))
    known = {row["at"] or "": row["position"] for row in rows}
    if any(known[at] is None for at in ordered):
        return {at: float(index) for index, at in enumerate(ordered)}, ""
    return {at: float(known[at]) for at in ordered}, split_at(ordered[0])[1] if ordered else ""


def _place_axis(axes: Axes, where: dict[str, float], unit: str) -> None:
    if unit:
        axes.set_xlabel(_axis_label("speed" if unit in SPEEDS else "set point", unit_text(unit)))
        return
    axes.set_xticks(list(where.values()), [short(at) for at in where])
    axes.set_xlim(-0.7, max(where.values(), default=0.0) + 0.7)


#: Colour of a stretch of the axis on which something is shown.
STRETCHES = {
    "gain": GREEN,
    "loss": VERMILION,
    "higher": INK,
    "lower": INK,
    "equivalent": BLUE,
}


def sweep(
    rows: Sequence[Row], configurations: dict[str, str], proven: Sequence[Row] = ()
) -> Figure:
    """One quantity over the set points: a marker and a line for each configuration, with its band."""
    figure = _figure(3.3)
    axes = figure.add_subplot()
    where, unit = _positions(rows)
    scale = value_scale(rows[0]["unit"])
    for configuration, title in configurations.items():
        mine = [
            row
            for row in by_position(list(rows))
            if row["configuration"] == configuration and row["mean"] is not None
        ]
        if not mine:
            continue
        color, marker = look(list(configurations), configuration)
        x = [where[row["at"] or ""] for row in mine]
        y = [scale.of(row["mean"]) or 0.0 for row in mine]
        line = "-" if unit else "none"
        axes.plot(x, y, line, color=color, marker=marker, markersize=4.5, label=short(title))
        ends = [
            (at, low, high)
            for at, row in zip(x, mine, strict=True)
            if (low := scale.of(row["low"])) is not None
            and (high := scale.of(row["high"])) is not None
        ]
        if unit and len(ends) > 1:
            places, lows, highs = (list(part) for part in zip(*ends, strict=True))
            axes.fill_between(places, lows, highs, color=color, alpha=0.18, linewidth=0)
        for at, *limits in ends:
            axes.plot([at, at], limits, color=color, linewidth=2.4, alpha=0.35)
    if unit:
        _proven(axes, proven)
    axes.set_ylabel(_axis_label(quantity_title(rows[0]["quantity"]), scale.unit))
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    _place_axis(axes, where, unit)
    _legend_above(axes)
    return figure


def _proven(axes: Axes, stretches: Sequence[Row]) -> None:
    """A bar along the foot of the picture where a difference is shown, with the word in it."""
    shown = [row for row in stretches if row["verdict"] in STRETCHES]
    if not shown:
        return
    low, high = axes.get_ylim()
    foot = low - 0.07 * (high - low)
    axes.set_ylim(foot - 0.03 * (high - low), high)
    for row in shown:
        color = STRETCHES[row["verdict"]]
        axes.plot([row["from"], row["to"]], [foot, foot], color=color, linewidth=5.0,
                  solid_capstyle="butt")  # fmt: skip
        axes.annotate(
            row["verdict"],
            ((row["from"] + row["to"]) / 2, foot),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            fontsize=8,
            color=color,
        )


def _legend_above(axes: Axes) -> None:
    handles, labels = axes.get_legend_handles_labels()
    if handles:
        wide = max(len(label) for label in labels) > 18
        axes.legend(
            handles,
            labels,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            ncols=1 if wide else 2,
            borderaxespad=0.3,
            handlelength=1.8,
        )


def _forest_row(axes: Axes, block: Block, row: Compared, y: float) -> None:
    scale = block.change
    floor, worthwhile = scale.of(row.noise_floor), scale.of(row.worthwhile)
    if floor is not None:
        axes.barh(y, 2 * floor, left=-floor, height=0.78, color=SHADE, linewidth=0)
    for bound in () if worthwhile is None else (-worthwhile, worthwhile):
        axes.plot([bound, bound], [y - 0.5, y + 0.5], color=BLUE, linewidth=1.0, dashes=(3, 2))
    low, high = scale.of(row.low), scale.of(row.high)
    if low is not None and high is not None:
        axes.plot([low, high], [y, y], color=INK, linewidth=1.4, solid_capstyle="butt")
    change = scale.of(row.change)
    if change is not None:
        marker, filled = VERDICT_MARKS[row.verdict]
        axes.plot(
            [change],
            [y],
            marker=marker,
            markersize=6.0,
            color=INK,
            markerfacecolor=INK if filled else "white",
            markeredgewidth=1.2,
            linestyle="none",
            zorder=5,
        )


def forest(block: Block) -> Figure:
    """The changes of one block: a row a set point, with interval, noise floor and worthwhile."""
    count = len(block.rows)
    figure = _figure(1.15 + 0.27 * count)
    axes = figure.add_subplot()
    for index, row in enumerate(block.rows):
        _forest_row(axes, block, row, float(index))
    axes.axvline(0.0, color=FAINT, linewidth=0.9, zorder=1)
    axes.set_ylim(count - 0.4, -0.6)
    axes.set_yticks(range(count), [short(row.at or "") for row in block.rows])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    low, high = axes.get_xlim()
    axes.set_xlim(min(low, -high / 8), max(high, -low / 8))
    right = axes.secondary_yaxis("right")
    right.set_yticks(range(count), [row.verdict for row in block.rows])
    right.tick_params(length=0)
    right.spines["right"].set_visible(False)
    axes.set_xlabel(_axis_label(f"change in {block.title}", block.change.unit))
    axes.xaxis.set_major_formatter(_signed)
    return figure


def _signed(value: float, _: float) -> str:
    text = f"{value:+.6g}" if abs(value) > 1e-12 else "0"
    return text.replace("-", "−")


def _against_baseline(rows: Sequence[Row], baseline: str, scale: str) -> list[dict[str, Any]]:
    """Each session's value against the baseline's mean at the same place."""
    found: dict[str, list[float]] = {}
    for row in rows:
        if row["configuration"] == baseline and row["value"] is not None:
            found.setdefault(row["at"] or "", []).append(float(row["value"]))
    printed = change_scale(scale, rows[0]["unit"])
    points = []
    for row in rows:
        base = found.get(row["at"] or "")
        if not base or row["value"] is None:
            continue
        mean = sum(base) / len(base)
        if scale == "ratio" and mean == 0:
            continue
        off = row["value"] / mean - 1.0 if scale == "ratio" else row["value"] - mean
        points.append({**row, "off": printed.of(off)})
    return points


def _spread_labels(ends: list[tuple[float, str, str]], gap: float) -> list[tuple[float, str, str]]:
    """Move labels at line ends apart until none covers the next."""
    placed: list[tuple[float, str, str]] = []
    for y, text, color in sorted(ends):
        lowest = placed[-1][0] + gap if placed else y
        placed.append((max(y, lowest), text, color))
    shift = sum(a[0] - b[0] for a, b in zip(placed, sorted(ends), strict=True)) / max(len(ends), 1)
    return [(y - shift, text, color) for y, text, color in placed]


def sessions(
    rows: Sequence[Row], configurations: dict[str, str], baseline: str, scale: str
) -> Figure:
    """Every session of one quantity against the baseline's mean: what the noise is made of."""
    figure = _figure(3.5)
    axes = figure.add_subplot()
    points = _against_baseline(rows, baseline, scale)
    where, unit = _positions(rows)
    ends: list[tuple[float, str, str]] = []
    named: set[str] = set()
    for session in dict.fromkeys(str(point["session"]) for point in points):
        mine = [point for point in by_position(points) if str(point["session"]) == session]
        configuration = mine[0]["configuration"]
        color, marker = look(list(configurations), configuration)
        title = short(configurations.get(configuration) or str(configuration))
        axes.plot(
            [where[point["at"] or ""] for point in mine],
            [point["off"] for point in mine],
            "-" if unit else "none",
            color=color,
            marker=marker,
            markersize=3.8,
            linewidth=1.0,
            label=None if title in named else title,
        )
        named.add(title)
        ends.append((float(mine[-1]["off"]), short(session or ""), color))
    axes.axhline(0.0, color=FAINT, linewidth=0.9, zorder=1)
    low, high = axes.get_ylim()
    last = max(where.values(), default=0.0)
    for y, text, color in _spread_labels(ends, (high - low) / 18):
        axes.annotate(
            text,
            (last, y),
            xytext=(7, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
            color=color,
            annotation_clip=False,
        )
    name = quantity_title(rows[0]["quantity"])
    axes.set_ylabel(_axis_label(f"{name} against mean of baseline", _sign_unit(rows, scale)))
    axes.yaxis.set_major_formatter(_signed)
    axes.grid(axis="y", color=RULE)
    _place_axis(axes, where, unit)
    _legend_above(axes)
    return figure


def _sign_unit(rows: Sequence[Row], scale: str) -> str:
    return change_scale(scale, rows[0]["unit"]).unit
