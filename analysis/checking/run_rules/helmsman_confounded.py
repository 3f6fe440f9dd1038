"""Another helmsman steered with each configuration."""

from __future__ import annotations

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


def check(trial: Trial, _: RunTable) -> Found:
    table = made(trial)
    for name in trial.protocol.manoeuvres:
        mine = [each for each in table.used if each.manoeuvre == name and each.helmsman]
        for pair in trial.comparisons:
            sides = [
                {each.helmsman for each in mine if each.configuration == side}
                for side in (pair.baseline, pair.modified)
            ]
            if all(sides) and not sides[0] & sides[1]:
                told = [" and ".join(sorted(side)) for side in sides]
                yield RULE.found(
                    tries_place(trial, mine[0].row),
                    f"{name}: {told[0]} steered with {pair.baseline} alone and {told[1]} with "
                    f"{pair.modified} alone{touched(trial, [each.session for each in mine])}",
                )


RULE = RunsRule(
    id="helmsman-confounded",
    severity=Severity.WARNING,
    title="Another helmsman steered with each configuration.",
    looks_at=("manoeuvres: helmsman", "sessions"),
    why=(
        "A hand that is quicker on the throttle makes a boat quicker off the mark. Where one helmsman has one"
        " configuration and another the other, nothing can tell the hands from the boat."
    ),
    fix="let one helmsman do all tries, or each of them as many with either configuration",
    source="R. A. Fisher, The Design of Experiments (1935): confounding",
    passes=Example(
        protocol=sprint(1),
        tries=sprints(
            "A out 5.1 back 5.3",
            "B out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "B out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "B out 5.1 back 5.3",
        ),
    ),
    fails=Example(
        protocol=sprint(1),
        tries=sprints(
            "A out 5.1 back 5.3",
            "B out 5.1 back 5.3",
            "B out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "B out 5.1 back 5.3",
        ),
    ),
    check=check,
    needs=(tries,),
)
