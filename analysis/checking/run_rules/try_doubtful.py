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
from slackwater.analysis.checking.run_rules._sprints import sprint, sprints
from slackwater.analysis.checking.run_rules._tries import made, tries, tries_place
from slackwater.analysis.statistics.tries import standings

FAR = 10.0  # standard deviations as medians tell them; late tries have a long tail of their own
LEAST = 8  # tries that tell what is usual


def check(trial: Trial, _: RunTable) -> Found:
    table = made(trial)
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
        protocol=sprint(2),
        tries=sprints(
            "A out 4.82 out 4.83 back 5.4 back 4.96",
            "A out 4.98 out 4.66 back 5.47 back 5.33",
            "A out 5.2 out 4.92 back 5.36 back 5.26",
            "A out 4.89 out 5.02 back 5.11 back 5.25",
            "A out 5.1 out 5.01 back 5.24 back 5.63",
            "A out 5.01 out 4.91 back 5.32 back 5.22",
        ),
    ),
    fails=Example(
        protocol=sprint(2),
        tries=sprints(
            "A out 4.82 out 4.83 back 5.4 back 4.96",
            "A out 4.98 out 4.66 back 5.47 back 5.33",
            "A out 5.2 out 4.92 back 5.36 back 5.26",
            "A out 4.89 out 5.02 back 5.11 back 52.5",
            "A out 5.1 out 5.01 back 5.24 back 5.63",
            "A out 5.01 out 4.91 back 5.32 back 5.22",
        ),
    ),
    check=check,
    needs=(tries,),
)
