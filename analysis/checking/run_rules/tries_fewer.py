"""Fewer tries were made than the protocol has."""

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
    for session in trial.sessions:
        for name, manoeuvre in trial.protocol.manoeuvres.items():
            mine = [
                each for each in table.used if (each.session, each.manoeuvre) == (session.id, name)
            ]
            count = {way: sum(each.direction == way for each in mine) for way in manoeuvre.ways}
            short = {way: made for way, made in count.items() if made < manoeuvre.tries}
            if short:
                told = ", ".join(f"{made} {way}".rstrip() for way, made in short.items())
                yield RULE.found(
                    tries_place(trial, mine[0].row)
                    if mine
                    else trial.document.place(("manoeuvres",)),
                    f"session {session.id} has {told} of {name} where the protocol has "
                    f"{manoeuvre.tries} in each direction{touched(trial, [session.id])}",
                    session=session.id,
                )


RULE = RunsRule(
    id="tries-fewer",
    severity=Severity.WARNING,
    title="Fewer tries were made than the protocol has.",
    looks_at=("manoeuvres: try", "manoeuvres: direction", "protocol.manoeuvres.tries"),
    why=(
        "A plan counts with the tries that are declared. Tries that are not there were perhaps those that"
        " went wrong, and what is left looks better than it was."
    ),
    fix="write down every try, and set aside with its reason what does not count",
    source="common practice",
    passes=Example(
        protocol=sprint(1),
        tries=sprints(
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
        ),
    ),
    fails=Example(
        protocol=sprint(1),
        tries=sprints(
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
            "A out 5.1 back 5.3",
        ),
    ),
    check=check,
    needs=(tries,),
)
