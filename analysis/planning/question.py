"""From a protocol and what was said on the command line to the question a plan answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log1p
from pathlib import Path

from slackwater.analysis.planning.effort import effort_of
from slackwater.analysis.planning.plan_model import USUAL_DOUBLE_RUNS, USUAL_SESSIONS, Question
from slackwater.analysis.planning.power import Design, Noise, Setting
from slackwater.analysis.planning.usual_noise import usual_noise
from slackwater.analysis.statistics.sequential import look_confidences
from slackwater.protocol.catalogue.measures import MEASURES, Measure, nearest
from slackwater.protocol.catalogue.recipes import (
    OF_SPEED,
    SPEEDS,
    can_be_made,
    changes_as,
    given,
    powers,
)
from slackwater.protocol.declared.deciding import quantity_of
from slackwater.protocol.declared.noise_file import load_noise, noise_place
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import PriorNoise
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.possible import refuse_impossible
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    parse_quantity,
    same_dimension,
)

#: Quantities that have one value a session.
_SINGLE = ("range", "top_speed", "planing_threshold", "best_economy_speed")
_COMPONENTS = {
    "between_sessions": ("between", "between sessions"),
    "session_by_set_point": ("session_by_set_point", "session by set point"),
    "within_session": ("within", "between double runs"),
}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was said beside the protocol, as it was written; None where nothing was.

    `between`, `within` and `session_by_set_point` are standard deviations, which are then
    assumed and not known; `known_from` is the number of sessions behind them.
    """

    quantity: str | None = None
    effect: str | None = None
    power: str = "90 %"
    noise: str | None = None
    between: str | None = None
    within: str | None = None
    session_by_set_point: str | None = None
    known_from: int | None = None
    sessions: tuple[int, int] | None = None
    double_runs: tuple[int, int] | None = None
    max_hours: str | None = None
    max_fuel: str | None = None
    speed: str | None = None
    fuel_flow: str | None = None
    levels: str | None = None
    turn: str | None = None
    transit: str | None = None
    change: str | None = None


def refusal(
    option: str | Place, message: str, fix: str = "", rule: str = "unfit-option"
) -> InputError:
    """An option of the command line, or a place in a file, that cannot be used."""
    place = option if isinstance(option, Place) else Place(option)
    return InputError([Finding(rule, Severity.ERROR, message, fix, place)])


#: The row of what is possible, of options that have one.
_POSSIBLE = {
    "--between": "noise",
    "--within": "noise",
    "--session-by-set-point": "noise",
    "--effect": "worthwhile",
    "--speed": "speed_over_ground",
    "--fuel-flow": "fuel_flow",
    "--turn": "duration",
    "--transit": "duration",
}


def _read(option: str, text: str, likes: str | tuple[str, ...]) -> Quantity:
    try:
        found = parse_quantity(text, likes)
        if found.value >= 0:
            refuse_impossible(text, found.value, found.unit, None, _POSSIBLE.get(option, ""))
    except QuantityError as error:
        raise refusal(option, error.message, error.fix) from None
    if found.value < 0:
        raise refusal(option, f"'{text}' is below zero", "give a value above zero")
    return found


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
    power = _read("--power", wanted.power, "%").to("%").value / 100
    if not 0.5 <= power < 1:
        raise refusal("--power", f"a power of {wanted.power}", "give 50 % or more, below 100 %")
    usual = _usual(protocol, wanted, name, measure)
    if usual:
        noise, assumed, source = (
            usual[1],
            tuple(words for _, words in _COMPONENTS.values()),
            "assumed",
        )
    else:
        noise, assumed, source = _noise(protocol, wanted, name, measure, level)
    setting = _setting(protocol, name, measure, level, notes)
    effort = effort_of(
        protocol,
        turn=_time("--turn", wanted.turn),
        transit=_time("--transit", wanted.transit),
        change=_time("--change", wanted.change),
        speeds=speeds,
        flows=flows,
    )
    hours = _time("--max-hours", wanted.max_hours)
    fuel = None if wanted.max_fuel is None else _read("--max-fuel", wanted.max_fuel, "L")
    if fuel is not None and flows is None:
        raise refusal(
            "--max-fuel",
            "the fuel of a plan is not known without the fuel flow at the set points",
            "add --fuel-flow '40 L/h', or --levels with an earlier trial",
        )
    lowest = 1 if setting.prior is not None else 2
    sessions = wanted.sessions or (lowest, USUAL_SESSIONS[1])
    if sessions[0] < lowest:
        raise refusal(
            "--sessions",
            "one session with each configuration tells nothing of how sessions differ",
            "start at 2, or put the noise of earlier trials into the protocol",
        )
    return Question(
        quantity=name,
        unit="" if measure.scale == "ratio" or measure.unit == "1" else measure.unit,
        scale=measure.scale,
        effect=_effect(protocol, wanted, name, measure, level),
        power=power,
        noise=noise,
        assumed=assumed,
        noise_source=source,
        setting=setting,
        effort=effort,
        declared=Design(protocol.sessions.per_configuration, protocol.runs.double_runs),
        usual=usual,
        sessions=sessions,
        double_runs=wanted.double_runs or USUAL_DOUBLE_RUNS,
        max_hours=None if hours is None else hours.to("h").value,
        max_fuel=None if fuel is None else fuel.to("L").value,
        notes=tuple(notes),
    )


def _time(option: str, text: str | None) -> Quantity | None:
    return None if text is None else _read(option, text, "h")


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
    if name not in protocol.measures and name not in MEASURES:
        known = [*MEASURES, *protocol.measures]
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


def _likes(measure: Measure) -> tuple[str, ...]:
    unit = f"delta_{measure.unit}" if measure.unit in ("degC", "degF") else measure.unit
    if measure.scale == "difference" or same_dimension(unit, "%"):
        return (unit,)
    return ("%", unit)


def _size(option: str | Place, found: Quantity, measure: Measure, level: float | None) -> float:
    """A size as a fraction of the level, or in the unit of a difference."""
    try:
        return _on_scale(option, found, measure, level)
    except QuantityError as error:
        raise refusal(option, error.message, error.fix) from None


def _on_scale(option: str | Place, found: Quantity, measure: Measure, level: float | None) -> float:
    if measure.scale == "difference":
        if found.unit == "%" and not same_dimension(measure.unit, "%"):
            raise refusal(
                option,
                f"'{found}' is a percentage, but {measure.name} is compared as a difference",
                f"give it in {measure.unit}",
            )
        return found.to(_likes(measure)[0]).value
    if found.unit == "%":
        return found.value / 100
    if level is None:
        raise refusal(
            option,
            f"'{found}' cannot be set against the noise without knowing how large "
            f"{measure.name} is",
            "give it as a percentage, or say how large with --speed, --fuel-flow or --levels",
        )
    return found.size_in(measure.unit) / level


def _effect(
    protocol: Protocol, wanted: Wanted, name: str, measure: Measure, level: float | None
) -> float:
    if wanted.effect is not None:
        option, found = "--effect", _read("--effect", wanted.effect, _likes(measure))
    elif name in protocol.analysis.worthwhile:
        option, found = "analysis: worthwhile", protocol.analysis.worthwhile[name]
    else:
        raise refusal(
            "--effect",
            f"nothing says how large a difference in {name} is to be seen",
            f"add --effect '1.5 %', or declare analysis: worthwhile: {{{name}: 1.5 %}}",
            "missing-option",
        )
    size = _size(option, found, measure, level)
    if size <= 0:
        raise refusal(option, f"a difference of {found} cannot be seen", "give one above zero")
    return log1p(size) if measure.scale == "ratio" else size


def _usual(protocol: Protocol, wanted: Wanted, name: str, measure: Measure) -> tuple[Noise, ...]:
    """Noises to suppose, where nothing at all is said of it; empty where something is."""
    said = (wanted.noise, wanted.between, wanted.within, wanted.session_by_set_point)
    if name in protocol.noise or any(each is not None for each in said):
        return ()
    return usual_noise(name, protocol.measures) if measure.scale == "ratio" else ()


def _noise(
    protocol: Protocol, wanted: Wanted, name: str, measure: Measure, level: float | None
) -> tuple[Noise, tuple[str, ...], str]:
    """The noise supposed, which of it is assumed, and where the rest comes from."""
    declared: PriorNoise | None = protocol.noise.get(name)
    source = f"protocol {protocol.protocol}"
    if wanted.noise is not None:
        found = load_noise(wanted.noise)
        declared, source = found.get(name), Path(wanted.noise).name
        if declared is None:
            raise refusal(
                wanted.noise,
                f"the file says nothing of the noise of {name}",
                f"it has {', '.join(found)}; name one of these with --quantity",
                "missing-noise",
            )
    values: dict[str, float] = {}
    assumed: list[str] = []
    for key, (option, words) in _COMPONENTS.items():
        text, flag = getattr(wanted, option), f"--{option.replace('_', '-')}"
        if text is not None:
            values[key] = _size(flag, _read(flag, text, _likes(measure)), measure, level)
            assumed.append(words)
        elif declared is not None:
            given: Quantity | None = getattr(declared, key)
            at = f"noise: {name}" if wanted.noise is None else noise_place(wanted.noise, name, key)
            values[key] = 0.0 if given is None else _size(at, given, measure, level)
        else:
            values[key] = 0.0
            assumed.append(words)
    if declared is None and wanted.between is None:
        raise refusal(
            f"noise: {name}",
            f"nothing says how much {name} differs between sessions when nothing is changed",
            "estimate it from earlier trials with 'slackwater noise TRIAL', or assume it with "
            "--between '0.6 %' --within '0.4 %'",
            "missing-noise",
        )
    if sum(values.values()) == 0:
        raise refusal("--between", "without any noise there is nothing to plan", "give the noise")
    df: float | None = None if declared is None else float(declared.sessions - 1)
    if "between sessions" in assumed:
        df = None if wanted.known_from is None else float(wanted.known_from - 1)
    if declared is None or len(assumed) == len(_COMPONENTS):
        source = "assumed"
    return Noise(**values, df=df), tuple(assumed), source


def _setting(
    protocol: Protocol, name: str, measure: Measure, level: float | None, notes: list[str]
) -> Setting:
    analysis = protocol.analysis
    points = 1 if name in _SINGLE else len(protocol.set_point_values)
    simultaneous = analysis.family != "single"
    confidence = analysis.confidence.to("%").value / 100
    if analysis.family == "all":
        families = _quantities(protocol)
        confidence = 1 - (1 - confidence) / families
        notes.append(
            f"The family is all quantities: {families} are counted on, which share the error."
        )
    looks = analysis.looks
    if looks is not None:
        family = points if simultaneous else 1
        confidence = float(
            look_confidences(looks.fractions, looks.boundary, confidence, family)[-1]
        )
        notes.append(
            f"The protocol declares {len(looks.at_sessions)} looks. The power is that of the last "
            "one alone, held to its limit; stopping early adds to it and may save sessions."
        )
    prior, prior_by_set_point = None, True
    declared = protocol.noise.get(name)
    if declared is not None:

        def sd(quantity: Quantity | None) -> float:
            return 0.0 if quantity is None else _size(f"noise: {name}", quantity, measure, level)

        prior_by_set_point = declared.session_by_set_point is not None
        prior = Noise(
            sd(declared.between_sessions),
            sd(declared.session_by_set_point),
            sd(declared.within_session),
            float(declared.sessions - 1),
        )
    current: str = analysis.current if name in OF_SPEED else "double_run"
    if current == "mean_of_means" and protocol.runs.first_direction == "alternate":
        current = "double_run"  # as the analysis does where passes do not alternate
        notes.append(
            "With first_direction: alternate the passes of a set point do not alternate, so the "
            "plain mean of the double runs stands for the mean of means."
        )
    return Setting(
        set_points=points,
        configurations=max(len(set(protocol.sessions.order)), 2),
        blocked=protocol.sessions.block == "day",
        confidence=confidence,
        simultaneous=simultaneous,
        current="double_run" if current == "none" else current,
        prior=prior,
        prior_by_set_point=prior_by_set_point,
        **_instruments(protocol, name, measure, level, notes),
    )


def _quantities(protocol: Protocol) -> int:
    """Quantities that the trial will compare, as far as the protocol can tell."""
    held = protocol.set_point_measure
    count = sum(name != held for name in protocol.measures)
    have = given({*protocol.measures, held})
    count += can_be_made("economy", have) + can_be_made("distance_per_energy", have)
    pairs = max(len(set(protocol.sessions.order)) - 1, 1)
    return max(count, 1) * pairs


def _instruments(
    protocol: Protocol, name: str, measure: Measure, level: float | None, notes: list[str]
) -> dict[str, float]:
    """Variance of a difference from instruments that did not serve both configurations.

    As `common` where all of them declare their errors common to all set points, else as `known`.
    """
    behind = powers(name, given(protocol.measures))
    total, common = 0.0, True
    for each in behind:
        declared = protocol.measures.get(each)
        if declared is None or declared.shared or declared.standard_uncertainty is None:
            continue
        common &= declared.errors == "common"
        spread = declared.standard_uncertainty
        unit = protocol.measure(each).unit
        own = each == name or (name == "speed" and each in SPEEDS)
        if spread.unit == "%" and measure.scale == "ratio":
            part = spread.value / 100
        elif own and measure.scale == "difference" and spread.unit != "%":
            part = spread.size_in(unit)
        elif own and level is not None and spread.unit != "%":
            part = spread.size_in(unit) / level
        else:
            notes.append(
                f"The calibration of {each} ({spread}) does not cancel and could not be counted "
                "here; the smallest differences to be seen are larger than shown."
            )
            continue
        total = hypot(total, part)
    if total:
        notes.append(
            "Instruments that do not serve both configurations are counted: their calibration "
            "sets a limit that no number of runs or sessions lowers."
        )
    return {"common" if common else "known": 2 * total**2}


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
        speeds = (_read("--speed", wanted.speed, "kn").to("kn").value,) * points
    if wanted.fuel_flow is not None:
        flows = (_read("--fuel-flow", wanted.fuel_flow, "L/h").to("L/h").value,) * points
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
