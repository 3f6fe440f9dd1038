"""What was said on the command line beside a protocol, and how it is read."""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.protocol.catalogue.measures import Measure
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.possible import refuse_impossible
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    parse_quantity,
    same_dimension,
)


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


def read_option(option: str, text: str, likes: str | tuple[str, ...]) -> Quantity:
    """What was said, as a quantity of one of these kinds; never below zero."""
    try:
        found = parse_quantity(text, likes)
        if found.value >= 0:
            refuse_impossible(text, found.value, found.unit, None, _POSSIBLE.get(option, ""))
    except QuantityError as error:
        raise refusal(option, error.message, error.fix) from None
    if found.value < 0:
        raise refusal(option, f"'{text}' is below zero", "give a value above zero")
    return found


def time_of(option: str, text: str | None) -> Quantity | None:
    """A length of time, where one was said."""
    return None if text is None else read_option(option, text, "h")


def likes_of(measure: Measure) -> tuple[str, ...]:
    """The units in which a size of a measure may be said: per cent, where it is compared as a ratio."""
    unit = f"delta_{measure.unit}" if measure.unit in ("degC", "degF") else measure.unit
    if measure.scale == "difference" or same_dimension(unit, "%"):
        return (unit,)
    return ("%", unit)


def size_of(option: str | Place, found: Quantity, measure: Measure, level: float | None) -> float:
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
        return found.to(likes_of(measure)[0]).value
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
