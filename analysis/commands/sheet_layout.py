"""The schedule that the options of `sheet` ask for."""

from __future__ import annotations

import argparse
import zlib
from collections.abc import Callable
from datetime import time
from typing import TYPE_CHECKING, Any, TypeVar

from slackwater.analysis.commands.output import complain
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.schedule.fuel_stops import Fuel
    from slackwater.protocol.schedule.planned import Circumstances, Seat
    from slackwater.protocol.units.quantity import Quantity

T = TypeVar("T")


def lay_out(protocol: Protocol, trial: Trial | None, args: argparse.Namespace) -> SheetContents:
    """The schedule asked for by the options, and what stands around it on the sheet.

    Raises
    ------
    InputError
    """
    from slackwater.analysis.sheet.contents import sheet_contents
    from slackwater.protocol.schedule.fuel_stops import FuelError
    from slackwater.protocol.schedule.making import make_schedule
    from slackwater.protocol.schedule.planned import ScheduleError

    circumstances, assumed = _circumstances(args, protocol)
    id = trial.trial if trial else protocol.protocol
    seed = zlib.crc32(id.encode()) % 9000 + 1000 if args.seed is None else args.seed
    try:
        fuel = _fuel(args, protocol, trial)
        seats = _seats(args, protocol, trial, seed)
        schedule = make_schedule(protocol, seed, circumstances, seats, fuel)
    except (ScheduleError, FuelError) as error:
        raise refuse(error.message, error.fix) from error
    return sheet_contents(protocol, schedule, trial, tuple(assumed))


def _seats(
    args: argparse.Namespace, protocol: Protocol, trial: Trial | None, seed: int
) -> list[Seat]:
    from slackwater.analysis.sheet.contents import configuration_letters, trial_seats
    from slackwater.protocol.schedule.making import seats_of
    from slackwater.protocol.schedule.planned import ScheduleError
    from slackwater.protocol.schedule.session_order import extended_abba, random_blocks

    if trial is not None and trial.sessions:
        if args.order != "declared":
            raise ScheduleError(
                "the trial lists its sessions, so that their order is set already",
                "leave --order out, or take the sessions out of the trial",
            )
        return trial_seats(trial)
    order = protocol.sessions.order
    letters, number = len(set(order)), protocol.sessions.per_configuration
    if args.order == "abba":
        order = extended_abba(number, letters)
    elif args.order == "shuffled":
        order = random_blocks(number, seed, letters)
    if order != protocol.sessions.order:
        complain(
            f"the protocol declares the order {protocol.sessions.order}; write 'order: {order}' into "
            "it before the first session, else the order is a deviation"
        )
    names = configuration_letters(trial) if trial else dict(protocol.sessions.fitted)
    lacking = sorted(set(order) - set(names)) if trial else []
    if lacking:
        raise ScheduleError(
            f"the order {order} has {', '.join(lacking)}, and the trial has "
            f"{len(names)} configurations",
            "declare the configurations in the trial, or mend the protocol's order",
        )
    return seats_of(order, names)


def refuse(message: str, fix: str) -> InputError:
    """An error about the options."""
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def _option(name: str, text: str, read: Callable[[str], T]) -> T:
    from slackwater.protocol.units.quantity import QuantityError

    try:
        return read(text)
    except QuantityError as error:
        fix = error.fix or f"see slackwater sheet --help for what {name} takes"
        raise refuse(f"{name}: {error.message}", fix) from error


def _seconds(name: str, text: str) -> float:
    from slackwater.protocol.files.scalars import QuantityIn

    found: Quantity = _option(name, text, QuantityIn(("min",), "not negative").read)
    return found.to("s").value


def _circumstances(args: argparse.Namespace, protocol: Protocol) -> tuple[Circumstances, list[str]]:
    from slackwater.protocol.files.dates import DateIn
    from slackwater.protocol.schedule.planned import Circumstances, hours

    usual = Circumstances()
    given: dict[str, Any] = {}
    assumed = []
    if args.first_day:
        given["first_day"] = _option("--first-day", args.first_day, DateIn().read)
    if args.daylight:
        given["opens"], given["closes"] = _daylight(args.daylight)
    else:
        assumed.append(f"daylight {usual.opens:%H:%M} to {usual.closes:%H:%M}")
    if args.turn_time:
        given["turn"] = _seconds("--turn-time", args.turn_time)
    else:
        assumed.append(f"{usual.turn:g} s from one run to the next")
    if args.change_time:
        given["change"] = _seconds("--change-time", args.change_time)
    elif protocol.sessions.change is not None:
        given["change"] = protocol.sessions.change.to("s").value
    elif protocol.sessions.block == "day":
        assumed.append(f"{hours(usual.change)} to change the configuration")
    if args.course:
        given["course"] = _option("--course", args.course, _course)
    return Circumstances(**given), assumed


def _course(text: str) -> float:
    from slackwater.protocol.units.quantity import QuantityError, parse_number

    value = parse_number(text.removesuffix("°").removesuffix("deg"))
    if not 0 <= value <= 360:
        raise QuantityError(f"'{text}' is not between 0 and 360", "write it as on the compass")
    return value


def _daylight(text: str) -> tuple[time, time]:
    from slackwater.protocol.files.dates import MomentIn

    opens, dash, closes = text.replace("–", "-").partition("-")
    clocks = (
        [_option("--daylight", each.strip(), MomentIn().read) for each in (opens, closes)]
        if (dash)
        else []
    )
    first, last = (each if type(each) is time else None for each in clocks or (None, None))
    if first is None or last is None or first.tzinfo or last.tzinfo or first >= last:
        raise refuse(f"--daylight: '{text}' is not a stretch of one day", "write it as 06:30-20:00")
    return first, last


def _fuel(args: argparse.Namespace, protocol: Protocol, trial: Trial | None) -> Fuel | None:
    from slackwater.protocol.files.scalars import QuantityIn
    from slackwater.protocol.schedule.fuel_stops import Fuel, FuelError, allowance

    flow = QuantityIn(("L/h", "kg/h"), "not negative")
    boat = trial.boat if trial else None
    mass = boat.displacement if boat else None
    if args.displacement:
        mass = _option("--displacement", args.displacement, QuantityIn(("kg",), "positive").read)
    expected = protocol.expected.get("fuel_flow") or protocol.expected.get("fuel_mass_flow")
    if not args.fuel_flow and not expected:
        return None
    density = boat.fuel_density if boat else None
    parts = list(expected or ())
    if args.fuel_flow:
        parts = [_option("--fuel-flow", part, flow.read) for part in args.fuel_flow.split(",")]
    points = len(protocol.set_point_values)
    if len(parts) not in (1, points):
        raise refuse(
            f"--fuel-flow: {len(parts)} flows for {points} set points",
            "give one for all, or one for each set point in the protocol's order",
        )
    flows = tuple(_litres_an_hour(part, density) for part in parts)
    try:
        litres, because = allowance(
            protocol.loading, mass, boat.fuel_capacity if boat else None, density
        )
    except FuelError:
        if not args.fuel_flow:  # expected only: what the boat weighs is not known yet
            return None
        raise
    return Fuel(flows if len(flows) == points else flows * points, litres, because)


def _litres_an_hour(flow: Quantity, density: Quantity | None) -> float:
    from slackwater.protocol.schedule.fuel_stops import USUAL_DENSITY
    from slackwater.protocol.units.quantity import same_dimension

    if same_dimension(flow.unit, "L/h"):
        return flow.to("L/h").value
    heavy = USUAL_DENSITY if density is None else density.to("kg/L").value
    return flow.to("kg/h").value / heavy
