"""From a protocol and what was said on the command line to the question a plan answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log1p

from slackwater.analysis.planning.effort import effort_of, with_tries
from slackwater.analysis.planning.plan_model import (
    USUAL_DOUBLE_RUNS,
    USUAL_RATERS,
    USUAL_SESSIONS,
    Question,
)
from slackwater.analysis.planning.plan_setting import setting_of
from slackwater.analysis.planning.power import Design, Setting
from slackwater.analysis.planning.supposed_noise import supposed_noise
from slackwater.analysis.planning.wanted import (
    Wanted,
    likes_of,
    read_option,
    refusal,
    size_of,
    time_of,
)
from slackwater.protocol.catalogue.measures import MEASURES, Measure, nearest
from slackwater.protocol.catalogue.recipes import OF_SPEED, SPEEDS, changes_as
from slackwater.protocol.declared.deciding import quantity_of
from slackwater.protocol.declared.manoeuvres import Manoeuvre
from slackwater.protocol.declared.protocol import Protocol

_OF_RATERS = (
    "Raters cost no time on the water. Before any verdict they have to agree on how the sessions differ, and all chances here "
    "are those of trials in which they do. Scores are whole points; give --within as they scatter, rounding included."
)


def question_of(protocol: Protocol, wanted: Wanted) -> Question:
    """The question that a plan for this protocol has to answer.

    Raises
    ------
    InputError
        When something is missing that cannot be assumed, or cannot be used.
    """
    name, measure = _quantity(protocol, wanted)
    notes: list[str] = []
    speeds, flows = _levels(protocol, wanted, notes)
    level = _typical_level(name, speeds, flows)
    power = _power(wanted)
    supposed = supposed_noise(protocol, wanted, name, measure, level)
    setting = setting_of(protocol, name, measure, level, notes)
    effort = effort_of(
        protocol,
        turn=time_of("--turn", wanted.turn),
        transit=time_of("--transit", wanted.transit),
        change=time_of("--change", wanted.change),
        speeds=speeds,
        flows=flows,
    )
    rated = name in protocol.rated
    if rated:
        effort = replace(effort, repeats=protocol.runs.double_runs)
    effort = with_tries(effort, protocol, name)
    declared = Design(protocol.sessions.per_configuration, protocol.repeats_of(name))
    sought = _effect(protocol, wanted, name, measure, level)
    if rated:
        notes.append(_OF_RATERS)
    manoeuvre = protocol.manoeuvre_of(name)
    if protocol.manoeuvres:
        notes.append(_of_tries(manoeuvre))
    hours = time_of("--max-hours", wanted.max_hours)
    return Question(
        quantity=name,
        unit="" if measure.scale == "ratio" or measure.unit == "1" else measure.unit,
        scale=measure.scale,
        effect=sought,
        power=power,
        noise=supposed.noise,
        assumed=supposed.assumed,
        noise_source=supposed.source,
        setting=setting,
        effort=effort,
        declared=declared,
        repeats=manoeuvre.repeated if manoeuvre else "rater" if rated else "double run",
        usual=supposed.usual,
        sessions=_sessions(wanted, setting),
        double_runs=wanted.double_runs or (USUAL_RATERS if rated else USUAL_DOUBLE_RUNS),
        max_hours=None if hours is None else hours.to("h").value,
        max_fuel=_max_fuel(wanted, flows),
        notes=tuple(notes),
    )


def _of_tries(manoeuvre: Manoeuvre | None) -> str:
    """What a plan counts of manoeuvres."""
    text = (
        "Manoeuvres are counted with their time alone; their fuel and distance are not known here."
    )
    if manoeuvre is None:
        return text
    if len(manoeuvre.ways) > 1:
        ways = " and ".join(manoeuvre.ways)
        text = (
            f"A pair of tries is one {ways}; --double-runs counts pairs, and --within is the scatter of pairs, "
            f"0.7 of that of single tries. {text}"
        )
    return f"{text} Practise before the first session: what a helmsman learns from try to try is not in the noise."


def _power(wanted: Wanted) -> float:
    power = read_option("--power", wanted.power, "%").to("%").value / 100
    if not 0.5 <= power < 1:
        raise refusal("--power", f"a power of {wanted.power}", "give 50 % or more, below 100 %")
    return power


def _max_fuel(wanted: Wanted, flows: Sequence[float] | None) -> float | None:
    """The most fuel that the plan may take. [L]"""
    if wanted.max_fuel is None:
        return None
    fuel = read_option("--max-fuel", wanted.max_fuel, "L")
    if flows is None:
        raise refusal(
            "--max-fuel",
            "the fuel of a plan is not known without the fuel flow at the set points",
            "add --fuel-flow '40 L/h', or --levels with an earlier trial",
        )
    return fuel.to("L").value


def _sessions(wanted: Wanted, setting: Setting) -> tuple[int, int]:
    """The fewest and the most sessions with each configuration that are looked at."""
    lowest = 1 if setting.prior is not None else 2
    sessions = wanted.sessions or (lowest, USUAL_SESSIONS[1])
    if sessions[0] < lowest:
        raise refusal(
            "--sessions",
            "one session with each configuration tells nothing of how sessions differ",
            "start at 2, or put the noise of earlier trials into the protocol",
        )
    return sessions


def _quantity(protocol: Protocol, wanted: Wanted) -> tuple[str, Measure]:
    name = wanted.quantity
    if name is None:
        worthwhile = list(protocol.analysis.worthwhile)
        noise = list(protocol.noise)
        decides = quantity_of(protocol.analysis.decides or "")
        if decides in worthwhile and (decides in noise or not noise):
            worthwhile.insert(0, decides)
        name = next((each for each in worthwhile if each in noise), None)
        name = name or next(iter([*worthwhile, *noise]), "speed")
    if name not in {*protocol.measures, *protocol.beside, *MEASURES}:
        known = [*MEASURES, *protocol.measures, *protocol.beside]
        near = nearest(name, known)
        raise refusal(
            "--quantity",
            f"'{name}' is not a quantity known here",
            f"did you mean '{near}'?" if near else "name a derived quantity or a measure",
        )
    if protocol.runs.directions == "one_way" and name in OF_SPEED:
        raise refusal(
            "--quantity",
            f"{name} cannot be told from runs in one direction, whatever their number",
            "declare runs: directions: reciprocal",
        )
    return name, protocol.measure(name)


def _effect(
    protocol: Protocol, wanted: Wanted, name: str, measure: Measure, level: float | None
) -> float:
    if wanted.effect is not None:
        option, found = "--effect", read_option("--effect", wanted.effect, likes_of(measure))
    elif name in protocol.analysis.worthwhile:
        option, found = "analysis: worthwhile", protocol.analysis.worthwhile[name]
    else:
        raise refusal(
            "--effect",
            f"nothing says how large a difference in {name} is to be seen",
            f"add --effect '1.5 %', or declare analysis: worthwhile: {{{name}: 1.5 %}}",
            "missing-option",
        )
    size = size_of(option, found, measure, level)
    if size <= 0:
        raise refusal(option, f"a difference of {found} cannot be seen", "give one above zero")
    return log1p(size) if measure.scale == "ratio" else size


def _levels(
    protocol: Protocol, wanted: Wanted, notes: list[str]
) -> tuple[tuple[float, ...] | None, tuple[float, ...] | None]:
    """Speed [kn] and fuel flow [L/h] at the set points, where they can be known."""
    points = len(protocol.set_point_values)
    speeds = protocol.expected_values("speed", "kn")
    flows = protocol.expected_values("fuel_flow", "L/h")
    if wanted.levels is not None:
        from slackwater.analysis.planning.levels import levels_from

        told = levels_from(protocol, wanted.levels, notes)
        speeds, flows = told[0] or speeds, told[1] or flows
    if wanted.speed is not None:
        speeds = (read_option("--speed", wanted.speed, "kn").to("kn").value,) * points
    if wanted.fuel_flow is not None:
        flows = (read_option("--fuel-flow", wanted.fuel_flow, "L/h").to("L/h").value,) * points
    return speeds, flows


def _typical_level(
    name: str, speeds: Sequence[float] | None, flows: Sequence[float] | None
) -> float | None:
    """A middling size of the quantity, for what is given in its unit."""
    if (name in SPEEDS or changes_as(name)[0] == "speed") and speeds:
        return sum(speeds) / len(speeds)
    if name == "fuel_flow" and flows:
        return sum(flows) / len(flows)
    return None
