"""The command that is run on the files of a case, with values it may not like."""

from __future__ import annotations

import random

from mutations import HOSTILE


def command(dice: random.Random) -> list[str]:
    commands = (
        *(["analyse", "trial.yaml", "--format", form] for form in ("json", "json", "json", "text")),
        *(["check", "trial.yaml", "--format", form] for form in ("json", "text", "sarif")),
        ["check", "protocol.yaml", "claims.yaml", "--format", "json"],
        ["noise", "trial.yaml", "--format", dice.choice(("json", "text", "yaml"))],
        ["noise", "trial.yaml", "--by", dice.choice(("boat", "sea", HOSTILE[0])), "--format", "json"],
        ["pool", "trial.yaml", "--at", dice.choice(HOSTILE), "--align", "froude"],
        ["audit", "claims.yaml", "--format", dice.choice(("json", "text", "csv"))],
        ["audit", "claims.yaml", "--noise", "noise.yaml", "--between", dice.choice(HOSTILE)],
        ["sheet", dice.choice(("trial.yaml", "protocol.yaml")), "--format",
         dice.choice(("json", "text", "csv"))],
        ["sheet", "protocol.yaml", dice.choice(SHEET), dice.choice(HOSTILE)],
        ["statement", "trial.yaml", "--format", dice.choice(("json", "text", "csv"))],
        ["pool", "trial.yaml", "--format", dice.choice(("json", "text"))],
        ["logs", dice.choice(("runs.csv", "trial.yaml")), "--format", dice.choice(("json", "text"))],
        ["seal", "protocol.yaml"],
        ["seal", "--verify", dice.choice(("protocol.yaml", "runs.csv", "claims.yaml"))],
        ["new", dice.choice(("protocol", "trial")), dice.choice(NEW), dice.choice(HOSTILE)],
        ["explain", dice.choice(HOSTILE)],
    )  # fmt: skip
    found = list(dice.choice(commands))
    if dice.random() < 0.03:
        found = ["analyse", "trial.yaml", "--format", "html"]
    if dice.random() < 0.03:
        found = ["plan", "protocol.yaml", "--quantity", "speed", dice.choice(PLAN),
                 dice.choice(HOSTILE), "--sessions", "2-3", "--double-runs", "1-2"]  # fmt: skip
    return found


def command_of_two(dice: random.Random) -> list[str]:
    """What asks two trials at once, or a plan that takes its levels from one."""
    if dice.random() < 0.01:
        return ["plan", "protocol.yaml", "--quantity", dice.choice(("speed", "fuel flow")), "--levels",
                "trial.yaml", "--sessions", "2-2", "--double-runs", "1-1"]  # fmt: skip
    found = dice.choice((["noise", "text"], ["noise", "json"], ["noise", "yaml"], ["pool", "text"],
                         ["pool", "json"], ["pool", "csv"]))  # fmt: skip
    return [found[0], "trial.yaml", "second.yaml", "--format", found[1]]


SHEET = (
    "--seed", "--first-day", "--daylight", "--change-time", "--turn-time", "--course", "--fuel-flow",
    "--displacement", "--order",
)  # fmt: skip
NEW = (
    "--id",
    "--title",
    "--configurations",
    "--sessions",
    "--set-points",
    "--worthwhile",
    "--from",
)
PLAN = (
    "--effect", "--power", "--max-hours", "--max-fuel", "--between", "--within", "--speed",
    "--fuel-flow", "--turn", "--transit", "--change", "--seed", "--sessions-known",
)  # fmt: skip
