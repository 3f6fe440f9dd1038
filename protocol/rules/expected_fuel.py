"""The fuel that a session will burn is more than the displacement may differ by."""

from __future__ import annotations

from slackwater.protocol.rules._breaches import DIESEL, allowance
from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._sizes import run_spacing
from slackwater.protocol.rules._trials import touched
from slackwater.protocol.units.quantity import show_number


def check(trial: Trial) -> Found:
    protocol = trial.protocol
    limit = protocol.loading.get("displacement")
    if limit is None or limit.within is None:
        yield RULE.not_applicable("no limit on the difference of displacement is declared")
        return
    flows = protocol.expected_values("fuel_flow", "L/h")
    if flows is None:
        yield RULE.not_applicable("no fuel flows are expected; those of the runs are looked at")
        return
    weight = trial.boat.displacement
    if weight is None:
        yield RULE.unseen("nothing says how much the boat displaces", "'displacement:' of the boat")
        return
    burned = _burned(trial, sum(flows))
    allowed = allowance(limit, weight.to("kg").value, "kg")
    run = [each.id for each in trial.sessions]
    if allowed is not None and burned > allowed:
        yield RULE.found(
            trial.document.place(("boat", "displacement")),
            f"a session as declared burns about {show_number(float(f'{burned:.2g}'))} kg of fuel; "
            f"displacement may differ by {show_number(round(allowed, 1))} kg"
            + (touched(trial, run) if run else ""),
        )


def _burned(trial: Trial, flow: float) -> float:
    """Fuel of the runs and turns of one session; `flow` is the sum over the set points [L/h]. [kg]"""
    runs = trial.protocol.runs
    each = runs.double_runs * (2 if runs.directions == "reciprocal" else 1)
    hours = each * run_spacing(trial.protocol) / 3600
    return flow * hours * (trial.boat.fuel_density or DIESEL).to("kg/L").value


RULE = TrialRule(
    id="expected-fuel",
    severity=Severity.ADVICE,
    title="The fuel that a session will burn is more than the displacement may differ by.",
    looks_at=(
        "protocol.expected.fuel_flow",
        "protocol.loading.displacement",
        "protocol.runs",
        "boat.displacement",
    ),
    why=(
        "A session that ends lighter than it began has no one displacement. Known beforehand, the "
        "fuel can be filled up in between; 'slackwater sheet' plans the stops."
    ),
    fix=(
        "take the sheet of this trial, which plans the stops to fill up; or shorten the sessions, or "
        "widen the tolerance where the result allows it"
    ),
    source="algebra: flow times time times density; EN 590: diesel of 820 to 845 kg/m^3 at 15 degC",
    passes=Example(
        protocol=(
            "{expected: {fuel_flow: [8 L/h, 22 L/h]}, loading: {displacement: {within: 1 %}}}"
        ),
        trial="boat: {displacement: 6200 kg}",
    ),
    fails=Example(
        protocol=(
            "{expected: {fuel_flow: [8 L/h, 22 L/h]}, loading: {displacement: {within: 0.02 %}}}"
        ),
        trial="boat: {displacement: 6200 kg}",
    ),
    check=check,
)
