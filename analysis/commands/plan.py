"""Plan a trial: how many sessions and double runs a difference asks for, and what they cost."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    seed,
    write,
)
from slackwater.analysis.commands.workers import add_worker_arguments

FORMATS = ("text", "json", "html")


def _span(text: str) -> tuple[int, int]:
    low, _, high = text.partition("-")
    try:
        ends = int(low), int(high or low)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no count; write 3 or 2-8") from None
    if not 1 <= ends[0] <= ends[1] <= 200:
        raise argparse.ArgumentTypeError(f"{text!r} does not rise from 1 or more to 200 at most")
    return ends


def _count(text: str) -> int:
    if not text.isdecimal() or not 2 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of sessions; 2 or more")
    return int(text)


_WANTED = (
    "quantity",
    "effect",
    "power",
    "noise",
    "between",
    "within",
    "session_by_set_point",
    "sessions",
    "double_runs",
    "max_hours",
    "max_fuel",
    "speed",
    "fuel_flow",
    "levels",
    "turn",
    "transit",
    "change",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("protocol", metavar="PROTOCOL", help="a protocol's id or its YAML file")
    asked = parser.add_argument_group("what one wants to know")
    asked.add_argument("--quantity", metavar="NAME", help="speed, economy, fuel_flow ...")
    asked.add_argument("--effect", metavar="SIZE", help="as '1.5 %%'; else what is worthwhile")
    asked.add_argument("--power", metavar="CHANCE", default="90 %", help="of seeing it, 90 %%")
    asked.add_argument("--sessions", metavar="N-M", type=_span, help="with each configuration")
    asked.add_argument("--double-runs", metavar="N-M", type=_span, help="at each set point")
    asked.add_argument("--max-hours", metavar="TIME", help="that can be afforded, as '12 h'")
    asked.add_argument("--max-fuel", metavar="VOLUME", help="that can be afforded, as '300 L'")
    noise = parser.add_argument_group(
        "noise", "from the protocol, from a file, or assumed (and then marked as assumed)"
    )
    noise.add_argument("--noise", metavar="FILE", help="as 'slackwater noise' writes it")
    noise.add_argument("--between", metavar="SD", help="between sessions, as '0.6 %%'")
    noise.add_argument("--session-by-set-point", metavar="SD", help="of a set point in a session")
    noise.add_argument("--within", metavar="SD", help="between double runs, as '0.4 %%'")
    noise.add_argument(
        "--sessions-known", metavar="N", type=_count, help="sessions behind --between"
    )
    effort = parser.add_argument_group("effort")
    effort.add_argument("--levels", metavar="TRIAL", help="take speeds and flows from a past trial")
    effort.add_argument("--speed", metavar="SPEED", help="typical, for the distance, as '18 kn'")
    effort.add_argument("--fuel-flow", metavar="FLOW", help="typical, as '40 L/h'")
    effort.add_argument("--turn", metavar="TIME", help="between two runs, else '60 s'")
    effort.add_argument("--transit", metavar="TIME", help="to the course and back, else '30 min'")
    effort.add_argument("--change", metavar="TIME", help="of configuration, else '60 min'")
    parser.add_argument("--seed", metavar="N", type=seed, help="of the simulated trials")
    add_worker_arguments(parser, "this one alone; the plan is the same")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Plan and write; 0 when done, whether or not anything reaches the goal.

    Raises
    ------
    InputError
        When the protocol or an option cannot be used.
    """
    inputs = [file for file in (args.protocol, args.noise, args.levels) if file is not None]
    check_output(args.output, inputs, replace=args.replace)
    from slackwater.analysis.api import plan

    wanted = {name: getattr(args, name) for name in _WANTED}
    result = plan(
        args.protocol,
        seed=args.seed,
        workers=args.workers,
        scheduler=args.scheduler,
        known_from=args.sessions_known,
        **wanted,
    )
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        text = result.to_json()
    elif chosen == "html":
        text = result.to_html()
    else:
        text = str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0
