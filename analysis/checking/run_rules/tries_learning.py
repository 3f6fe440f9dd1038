"""Tries get better, or worse, from one to the next."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtr

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    touched,
)
from slackwater.analysis.checking.run_rules._sprints import sprint, sprints
from slackwater.analysis.checking.run_rules._tries import made, tries, tries_place
from slackwater.analysis.intake.tries import Try
from slackwater.analysis.statistics.tries import trend_of

LEVEL = 0.01  # how often tries without a trend are told of


def check(trial: Trial, _: RunTable) -> Found:
    table = made(trial)
    for name, measure in trial.protocol.tried.items():
        mine = table.of(name)
        read = [each.values[name] for each in mine]
        cells = {key: i for i, key in enumerate(dict.fromkeys(map(_cell, mine)))}
        slope, error, df = trend_of(
            np.log(read) if measure.scale == "ratio" else np.array(read),
            np.array([cells[_cell(each)] for each in mine], dtype=int),
            np.array([float(each.number) for each in mine]),
        )
        if df < 1 or not error > 0 or 2 * stdtr(df, -abs(slope) / error) > LEVEL:
            continue
        size = (
            f"{100 * np.expm1(slope):+.1f} %"
            if measure.scale == "ratio"
            else f"{slope:+.2g} {measure.unit}"
        )
        yield RULE.found(
            tries_place(trial, mine[0].row),
            f"{name} changes by {size.replace('-', '−')} from each try to the next, in all sessions alike"
            f"{touched(trial, [each.session for each in mine])}",
        )


def _cell(each: Try) -> tuple[str, str]:
    return each.session, each.direction


RULE = RunsRule(
    id="tries-learning",
    severity=Severity.WARNING,
    title="Tries get better, or worse, from one to the next.",
    looks_at=("manoeuvres: try", "manoeuvres: direction"),
    why=(
        "Who steers learns, and an engine warms up. In sessions with equal numbers of tries that is alike for all;"
        " in others, and from session to session, it stands in the difference."
    ),
    fix="practise before the first session until it stops; keep the number of tries alike, and the order of configurations balanced (ABBA)",
    source="R. A. Fisher, The Design of Experiments (1935): balance; Student's t: at 1 %, within sessions and directions",
    passes=Example(
        protocol=sprint(3),
        tries=sprints(
            "A out 5.0 out 5.04 out 4.97 back 5.13 back 5.09 back 5.09",
            "A out 5.06 out 5.0 out 5.0 back 5.12 back 5.13 back 5.1",
            "A out 5.02 out 4.97 out 4.99 back 5.09 back 5.06 back 5.05",
            "A out 4.95 out 4.99 out 4.99 back 5.09 back 5.1 back 5.06",
        ),
    ),
    fails=Example(
        protocol=sprint(3),
        tries=sprints(
            "A out 5.0 out 4.86 out 4.72 back 5.07 back 4.94 back 4.74",
            "A out 4.98 out 4.78 out 4.66 back 5.13 back 4.88 back 4.82",
            "A out 5.01 out 4.84 out 4.71 back 5.12 back 4.98 back 4.79",
            "A out 4.98 out 4.83 out 4.67 back 5.1 back 4.93 back 4.83",
        ),
    ),
    check=check,
    needs=(tries,),
)
