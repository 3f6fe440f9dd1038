"""`slackwater logs LOG… --trial TRIAL`: the run table cut from logs, and where every run comes from."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, chosen_format, complain, write
from slackwater.analysis.intake.files import provenance_beside
from slackwater.analysis.steady.not_found import stop_without_runs
from slackwater.protocol.declared.cutting import AheadIn
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.quantity import QuantityError

if TYPE_CHECKING:
    from slackwater.analysis.steady.cut_result import CutResult

FORMATS = ("text", "json", "csv", "html")


def run(args: argparse.Namespace) -> int:
    """Cut and write; 0 when there are runs.

    Raises
    ------
    InputError
        When nothing can be cut, with why.
    """
    chosen = chosen_format(args, FORMATS)
    beside = str(provenance_beside(args.output)) if chosen == "csv" and args.output else None
    if beside is not None:
        check_output(beside, args.logs, replace=args.replace)
    result = _cut(args)
    if chosen == "json":
        write(result.to_json(), args.output, form=chosen, replace=args.replace)
    elif chosen == "html":
        write(result.to_html(), args.output, form=chosen, replace=args.replace)
    elif chosen == "text":
        write(str(result), args.output, replace=args.replace)
    else:
        stop_without_runs(result, Place(args.trial))
        write(result.to_csv(), args.output, form=chosen, replace=args.replace)
        if beside is not None:
            write(result.to_json(), beside, form="json", replace=args.replace)
            write(str(result), None)
        else:
            complain(result.summary)
    return 0


def _cut(args: argparse.Namespace) -> CutResult:
    from slackwater.analysis.api import cut

    return cut(
        args.trial,
        *args.logs,
        plan=args.plan,
        sources=sources_asked(args.source),
        ahead_of_utc=offset_asked(args.ahead_of_utc),
    )


def sources_asked(asked: Sequence[str]) -> dict[str, list[str]]:
    """What `--source` asks for, by quantity."""
    found: dict[str, list[str]] = {}
    for text in asked:
        quantity, sign, source = text.partition("=")
        if not sign or not quantity.strip() or not source.strip():
            raise unfit(
                f"--source '{text}' is not QUANTITY=SOURCE",
                "write it as --source 'speed_over_ground=GP RMC'",
            )
        found.setdefault(quantity.strip(), []).append(source.strip())
    return found


def offset_asked(text: str | None) -> timedelta | None:
    """What `--ahead-of-utc` says; None where it is not given."""
    if text is None:
        return None
    try:
        return AheadIn().read(text)
    except QuantityError as error:
        raise unfit(f"--ahead-of-utc {error.message}", "write it as 02:00, or =-05:00") from None


def unfit(message: str, fix: str) -> InputError:
    """An option that does not go."""
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])
