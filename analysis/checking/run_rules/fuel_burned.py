"""The fuel burned in a session is more than the displacement may differ by."""

from __future__ import annotations

import math

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    number,
    row_place,
    sessions_of,
    touched,
)
from slackwater.protocol.rules._breaches import DIESEL, allowance
from slackwater.protocol.units.quantity import conversion, same_dimension


def check(trial: Trial, runs: RunTable) -> Found:
    limit = trial.protocol.loading.get("displacement")
    name = next((n for n in ("fuel_flow", "fuel_mass_flow") if n in trial.protocol.measures), "")
    if limit is None or limit.within is None:
        yield RULE.not_applicable("no limit on the difference of displacement is declared")
        return
    if not name:
        yield RULE.not_applicable("no fuel flow is measured")
        return
    unit = trial.protocol.measure(name).unit
    density = (trial.boat.fuel_density or DIESEL).to("kg/L").value
    to_mass = (
        conversion(unit, "kg/h")
        if same_dimension(unit, "kg/h")
        else conversion(unit, "L/h") * density
    )
    bare = list[str]()
    for session, group in sessions_of(runs).items():
        clocked = [r for r in group if math.isfinite(r.start) and math.isfinite(r.values[name])]
        weight = trial.session(session).displacement or trial.boat.displacement
        if len(clocked) < 2 or weight is None:
            bare.append(session)
            continue
        hours = (clocked[-1].end - clocked[0].start) / 3600
        burned = to_mass * hours * sum(run.values[name] for run in clocked) / len(clocked)
        allowed = allowance(limit, weight.to("kg").value, "kg")
        if allowed is not None and burned > allowed:
            yield RULE.found(
                row_place(trial, runs, clocked[0].row),
                f"session {session} burned about {number(round(burned))} kg of fuel in {hours:.1f} h; "
                f"displacement may differ by {number(round(allowed, 1))} kg"
                + touched(trial, [session]),
                session=session,
            )
    if bare:
        yield RULE.unseen(
            f"no displacement, or fewer than two runs with start and flow, in {listed(bare, 8)}",
            "'displacement:' of the boat or of each session, and a start for every run",
        )


RULE = RunsRule(
    id="fuel-burned",
    severity=Severity.WARNING,
    title="The fuel burned in a session is more than the displacement may differ by.",
    looks_at=(
        "runs: fuel_flow",
        "sessions.displacement",
        "protocol.loading.displacement",
    ),
    why=(
        "A session that ends lighter than it began has no one displacement. Set points run late"
        " are then run by a lighter boat, and a shuffled order turns that into scatter."
    ),
    fix=(
        "shorten the session, fill up in between, or widen the tolerance where the result allows it"
    ),
    source="algebra: flow times time times density; EN 590: diesel of 820 to 845 kg/m^3 at 15 degC",
    passes=Example(protocol="loading: {displacement: {within: 1 %}}"),
    fails=Example(protocol="loading: {displacement: {within: 0.05 %}}"),
    check=check,
)
