"""The picture of a plan: what can be seen against what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.planning.plan_model import Plan
from slackwater.analysis.report.plan.tables import thinned
from slackwater.analysis.report.plan.words import scale_of
from slackwater.analysis.report.svg import BLACK, BLUE, FAINT, GREEN, ORANGE, PURPLE, SKY, VERMILION
from slackwater.analysis.wording.words import quantity_title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_COLOURS = (BLUE, VERMILION, GREEN, PURPLE, ORANGE, SKY, BLACK)
_MARKS = ("o", "s", "^", "D", "v", "P", "X")
_LINES = 7


def paint(plan: Plan) -> Figure:
    """Smallest difference seen against hours in all; a line a number of sessions."""
    from matplotlib.figure import Figure

    question, scale = plan.question, scale_of(plan.question)
    figure = Figure(figsize=(7.0, 4.2))
    axes = figure.add_subplot()
    chosen = plan.recommended or plan.best
    keep = [chosen.sessions_per_configuration] if chosen else []
    every = sorted({option.sessions_per_configuration for option in plan.options})
    effect = scale.of(question.natural(question.effect)) or 0.0
    top = effect
    for number, sessions in enumerate(thinned(every, _LINES, keep)):
        found = [
            option
            for option in plan.options
            if option.sessions_per_configuration == sessions and option.detectable is not None
        ]
        if not found:
            continue
        x = [option.hours_in_all for option in found]
        y = [scale.of(option.detectable) or 0.0 for option in found]
        top = max(top, min(y[0], 4 * effect))
        colour = _COLOURS[number % len(_COLOURS)]
        marker = _MARKS[number % len(_MARKS)]
        label = f"{sessions} session{'' if sessions == 1 else 's'}"
        axes.plot(x, y, marker=marker, markersize=4, color=colour, label=label)
    axes.axhline(effect, color=FAINT, linewidth=1.0, dashes=(3, 2))
    axes.annotate(
        "asked about",
        (1.0, effect),
        xycoords=("axes fraction", "data"),
        xytext=(-2, 3),
        textcoords="offset points",
        ha="right",
        fontsize=8,
        color=FAINT,
    )
    if question.max_hours is not None:
        axes.axvline(question.max_hours, color=FAINT, linewidth=1.0, dashes=(1, 2))
    if plan.recommended is not None:
        axes.plot(
            [plan.recommended.hours_in_all],
            [scale.of(plan.recommended.detectable) or 0.0],
            marker="o",
            markersize=11,
            markerfacecolor="none",
            markeredgecolor=BLACK,
            linestyle="none",
        )
    axes.set_ylim(0.0, 1.08 * top)
    axes.set_xlim(left=0.0)
    axes.set_xlabel("hours in all, changes of configuration counted [h]")
    name = f"smallest difference seen in {quantity_title(question.quantity)}"
    axes.set_ylabel(f"{name} [{scale.unit}]" if scale.unit else name)
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    axes.legend(loc="upper right", ncols=2, title="with each configuration", title_fontsize=9)
    return figure
