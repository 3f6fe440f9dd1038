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
from slackwater.analysis.checking.run_rules._tries import table_of, tries, tries_place
from slackwater.analysis.intake.tries import Try
from slackwater.analysis.statistics.tries import trend_of

LEVEL = 0.01  # how often tries without a trend are told of


def check(trial: Trial, _: RunTable) -> Found:
    table = table_of(trial)
    assert table is not None  # it is needed
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
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 3, current: averaged, values: {time_to_plane: {}}}}",
        tries="S1,sprint,out,1,5.0,A\nS1,sprint,out,2,5.04,A\nS1,sprint,out,3,4.97,A\nS1,sprint,back,1,5.13,A\nS1,sprint,back,2,5.09,A\nS1,sprint,back,3,5.09,A\nS2,sprint,out,1,5.06,A\nS2,sprint,out,2,5.0,A\nS2,sprint,out,3,5.0,A\nS2,sprint,back,1,5.12,A\nS2,sprint,back,2,5.13,A\nS2,sprint,back,3,5.1,A\nS3,sprint,out,1,5.02,A\nS3,sprint,out,2,4.97,A\nS3,sprint,out,3,4.99,A\nS3,sprint,back,1,5.09,A\nS3,sprint,back,2,5.06,A\nS3,sprint,back,3,5.05,A\nS4,sprint,out,1,4.95,A\nS4,sprint,out,2,4.99,A\nS4,sprint,out,3,4.99,A\nS4,sprint,back,1,5.09,A\nS4,sprint,back,2,5.1,A\nS4,sprint,back,3,5.06,A",
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 3, current: averaged, values: {time_to_plane: {}}}}",
        tries="S1,sprint,out,1,5.0,A\nS1,sprint,out,2,4.86,A\nS1,sprint,out,3,4.72,A\nS1,sprint,back,1,5.07,A\nS1,sprint,back,2,4.94,A\nS1,sprint,back,3,4.74,A\nS2,sprint,out,1,4.98,A\nS2,sprint,out,2,4.78,A\nS2,sprint,out,3,4.66,A\nS2,sprint,back,1,5.13,A\nS2,sprint,back,2,4.88,A\nS2,sprint,back,3,4.82,A\nS3,sprint,out,1,5.01,A\nS3,sprint,out,2,4.84,A\nS3,sprint,out,3,4.71,A\nS3,sprint,back,1,5.12,A\nS3,sprint,back,2,4.98,A\nS3,sprint,back,3,4.79,A\nS4,sprint,out,1,4.98,A\nS4,sprint,out,2,4.83,A\nS4,sprint,out,3,4.67,A\nS4,sprint,back,1,5.1,A\nS4,sprint,back,2,4.93,A\nS4,sprint,back,3,4.83,A",
    ),
    check=check,
    needs=(tries,),
)
