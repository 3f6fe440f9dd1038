"""Write what the crew takes aboard: a page to print, or the run table with its rows prepared."""

from __future__ import annotations

import argparse
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    seed,
    write,
    write_bytes,
)
from slackwater.protocol.files.reading import is_there
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.planning.order_comparison import Row
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.schedule.fuel_stops import Fuel
    from slackwater.protocol.schedule.planned import Circumstances, Seat
    from slackwater.protocol.units.quantity import Quantity

FORMATS = ("text", "html", "csv", "xlsx", "json")
ORDERS = ("declared", "abba", "shuffled")
T = TypeVar("T")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "source", metavar="PROTOCOL|TRIAL", help="id or file of a protocol, or a trial"
    )
    parser.add_argument(
        "--seed", type=seed, metavar="N", help="of what is left to chance; else made from the id"
    )
    parser.add_argument(
        "--first-day", metavar="DATE", help="such as 2026-05-04; else days are numbered"
    )
    parser.add_argument(
        "--daylight", metavar="FROM-TO", help="such as 06:30-20:00; else 08:00-18:00 is assumed"
    )
    parser.add_argument(
        "--change-time",
        "--change",
        metavar="TIME",
        help="to change the configuration; else what the protocol says, or 1 h",
    )
    parser.add_argument(
        "--turn-time",
        "--turn",
        metavar="TIME",
        help="from one run to the next; else 60 s are assumed",
    )
    parser.add_argument("--course", metavar="DEG", help="heading of the runs out, such as 045")
    parser.add_argument(
        "--order",
        choices=ORDERS,
        default="declared",
        help="of the sessions: as declared, ABBA and its extensions, or shuffled in blocks",
    )
    parser.add_argument(
        "--fuel-flow",
        metavar="FLOW",
        help="such as '40 L/h', or one for each set point, with commas; plans stops to fill up",
    )
    parser.add_argument(
        "--displacement", metavar="MASS", help="of the boat, for the stops to fill up"
    )
    add_output_arguments(parser, FORMATS)


@dataclass(frozen=True, slots=True)
class _Source:
    """The protocol asked for, and the trial when it was one."""

    protocol: Protocol
    trial: Trial | None

    @property
    def id(self) -> str:
        return self.trial.trial if self.trial else self.protocol.protocol


def run(args: argparse.Namespace) -> int:
    """Lay the trial out and write it; 0 when done.

    Raises
    ------
    InputError
        When protocol, trial or options cannot be used, or the output cannot be written.
    """
    chosen = chosen_format(args, FORMATS)
    check_output(args.output, [args.source], replace=args.replace)
    source = _read(args.source)
    contents = lay_out(source.protocol, source.trial, args)
    if chosen == "xlsx" and args.output is None:
        raise _refuse("a workbook cannot go to the terminal", "add --output runs.xlsx")
    if chosen in ("csv", "xlsx"):
        _write_table(contents, source.trial, chosen, args)
    else:
        text = _text(contents, source.trial, chosen)
        write(text, args.output, form=chosen, replace=args.replace)
    if source.trial and not source.trial.sessions and chosen != "text":
        complain("the trial lists no sessions yet; --format text gives them as its file takes them")
    return 0


def _text(contents: SheetContents, trial: Trial | None, chosen: str) -> str:
    if chosen == "html":
        from slackwater.analysis.report.sheet.page import render

        return render(contents)
    from slackwater.analysis.planning.order_comparison import compare_orders

    compared: tuple[Row, ...] = ()
    if any(reading.name == "speed_over_ground" for reading in contents.readings):
        compared = compare_orders(contents.schedule, contents.current)
    if chosen == "json":
        from slackwater.analysis.report.sheet.data import to_data
        from slackwater.analysis.wording.json_text import to_json

        return to_json(to_data(contents, compared))
    from slackwater.analysis.report.sheet.text import to_text

    return to_text(contents, compared, give_sessions=trial is None or not trial.sessions)


def _write_table(
    contents: SheetContents, trial: Trial | None, chosen: str, args: argparse.Namespace
) -> None:
    from slackwater.analysis.sheet import run_table as rows

    head = rows.headings(contents, trial.columns if trial else None, trial.units if trial else None)
    if chosen == "csv":
        write(rows.to_csv(contents, head), args.output, form=chosen, replace=args.replace)
    else:
        write_bytes(rows.to_xlsx(contents, head), args.output, replace=args.replace)


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
        raise _refuse(error.message, error.fix) from error
    return sheet_contents(protocol, schedule, trial, tuple(assumed))


def _read(reference: str) -> _Source:
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.declared.trial import load_trial
    from slackwater.protocol.files.source import read_document
    from slackwater.protocol.library import shipped

    if reference in shipped() or not is_there(reference):
        return _Source(load_protocol(reference), None)
    data = read_document(reference).data
    if isinstance(data, dict) and "trial" in data:
        trial = load_trial(reference)
        return _Source(trial.protocol, trial)
    return _Source(load_protocol(Path(reference)), None)


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


# --- options -------------------------------------------------------------------------------------


def _refuse(message: str, fix: str) -> InputError:
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def _option(name: str, text: str, read: Callable[[str], T]) -> T:
    from slackwater.protocol.units.quantity import QuantityError

    try:
        return read(text)
    except QuantityError as error:
        fix = error.fix or f"see slackwater sheet --help for what {name} takes"
        raise _refuse(f"{name}: {error.message}", fix) from error


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
        raise _refuse(
            f"--daylight: '{text}' is not a stretch of one day", "write it as 06:30-20:00"
        )
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
        raise _refuse(
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
