"""A try is far from all others of its configuration and direction."""

from __future__ import annotations

import numpy as np

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
from slackwater.analysis.statistics.tries import standings

FAR = 10.0  # standard deviations as medians tell them; late tries have a long tail of their own
LEAST = 8  # tries that tell what is usual


def check(trial: Trial, _: RunTable) -> Found:
    table = table_of(trial)
    assert table is not None  # it is needed
    for name, measure in trial.protocol.tried.items():
        mine = table.of(name)
        if len(mine) < LEAST:
            continue
        values = np.array([each.values[name] for each in mine])
        kinds = [(each.configuration, each.direction) for each in mine]
        cells = np.array([list(dict.fromkeys(kinds)).index(kind) for kind in kinds])
        away = standings(np.log(values) if measure.scale == "ratio" else values, cells)
        for each, off in zip(mine, away, strict=True):
            if abs(off) > FAR:
                way = f" {each.direction}" if each.direction else ""
                yield RULE.found(
                    tries_place(trial, each.row),
                    f"try {each.number}{way} of session {each.session} has {name} "
                    f"{each.values[name]:.4g} {measure.unit}, {abs(off):.0f} standard deviations "
                    f"from the others{touched(trial, [each.session])}",
                    session=each.session,
                )


RULE = RunsRule(
    id="try-doubtful",
    severity=Severity.WARNING,
    title="A try is far from all others of its configuration and direction.",
    looks_at=("manoeuvres: try", "manoeuvres: direction", "protocol.manoeuvres"),
    why=(
        "A point in the wrong place makes ten seconds of one, and one such try moves the value of its session"
        " by more than any change. Whether it is a slip of the pen or of the hand only the crew can tell."
    ),
    fix="look it up on the sheet; correct it, or set it aside with what went wrong, never for being far",
    source="B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers (1993): modified z scores; common practice: the bound",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {time_to_plane: {}}}}",
        tries="S1,sprint,out,1,4.82,A\nS1,sprint,out,2,4.83,A\nS1,sprint,back,1,5.4,A\nS1,sprint,back,2,4.96,A\nS2,sprint,out,1,4.98,A\nS2,sprint,out,2,4.66,A\nS2,sprint,back,1,5.47,A\nS2,sprint,back,2,5.33,A\nS3,sprint,out,1,5.2,A\nS3,sprint,out,2,4.92,A\nS3,sprint,back,1,5.36,A\nS3,sprint,back,2,5.26,A\nS4,sprint,out,1,4.89,A\nS4,sprint,out,2,5.02,A\nS4,sprint,back,1,5.11,A\nS4,sprint,back,2,5.25,A\nS5,sprint,out,1,5.1,A\nS5,sprint,out,2,5.01,A\nS5,sprint,back,1,5.24,A\nS5,sprint,back,2,5.63,A\nS6,sprint,out,1,5.01,A\nS6,sprint,out,2,4.91,A\nS6,sprint,back,1,5.32,A\nS6,sprint,back,2,5.22,A",
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {time_to_plane: {}}}}",
        tries="S1,sprint,out,1,4.82,A\nS1,sprint,out,2,4.83,A\nS1,sprint,back,1,5.4,A\nS1,sprint,back,2,4.96,A\nS2,sprint,out,1,4.98,A\nS2,sprint,out,2,4.66,A\nS2,sprint,back,1,5.47,A\nS2,sprint,back,2,5.33,A\nS3,sprint,out,1,5.2,A\nS3,sprint,out,2,4.92,A\nS3,sprint,back,1,5.36,A\nS3,sprint,back,2,5.26,A\nS4,sprint,out,1,4.89,A\nS4,sprint,out,2,5.02,A\nS4,sprint,back,1,5.11,A\nS4,sprint,back,2,52.5,A\nS5,sprint,out,1,5.1,A\nS5,sprint,out,2,5.01,A\nS5,sprint,back,1,5.24,A\nS5,sprint,back,2,5.63,A\nS6,sprint,out,1,5.01,A\nS6,sprint,out,2,4.91,A\nS6,sprint,back,1,5.32,A\nS6,sprint,back,2,5.22,A",
    ),
    check=check,
    needs=(tries,),
)
