"""`slackwater logs LOG… --trial TRIAL`: the run table cut from logs, and where every run comes from."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, chosen_format, complain, write
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.analysis.steady.cut_result import CutResult

FORMATS = ("text", "json", "csv")
_FARTHEST = timedelta(hours=14)
_OFFSET = re.compile(r"([+-]?)([0-9]{1,2}):([0-9]{2})")


def run(args: argparse.Namespace) -> int:
    """Cut and write; 0 when there are runs.

    Raises
    ------
    InputError
        When nothing can be cut, with why.
    """
    chosen = chosen_format(args, FORMATS)
    beside = _beside(args.output) if chosen == "csv" and args.output else None
    if beside is not None:
        check_output(beside, args.logs, replace=args.replace)
    result = _cut(args)
    if chosen == "json":
        write(result.to_json(), args.output, form=chosen, replace=args.replace)
    elif chosen == "text":
        write(str(result), args.output, replace=args.replace)
    else:
        _stop_without_runs(result, args.trial)
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
        sources=_sources(args.source),
        ahead_of_utc=_offset(args.ahead_of_utc),
    )


def _beside(output: str) -> str:
    """The file that tells where the runs come from, beside the table."""
    path = Path(output)
    return str(path.with_name(f"{path.stem}.provenance.json"))


def _sources(asked: Sequence[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for text in asked:
        quantity, sign, source = text.partition("=")
        if not sign or not quantity.strip() or not source.strip():
            raise _unfit(
                f"--source '{text}' is not QUANTITY=SOURCE",
                "write it as --source 'speed_over_ground=GP RMC'",
            )
        found.setdefault(quantity.strip(), []).append(source.strip())
    return found


def _offset(text: str | None) -> timedelta:
    if text is None:
        return timedelta(0)
    match = _OFFSET.fullmatch(text.strip())
    ahead = timedelta(hours=int(match[2]), minutes=int(match[3])) if match else _FARTHEST
    if match is None or ahead > _FARTHEST or int(match[3]) > 59:
        raise _unfit(
            f"--ahead-of-utc '{text}' is not a time from -14:00 to 14:00",
            "write it as 02:00, or =-05:00",
        )
    return -ahead if match[1] == "-" else ahead


def _unfit(message: str, fix: str) -> InputError:
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def _stop_without_runs(result: CutResult, trial: str) -> None:
    """Refuse to write a table without a run, and say why there is none."""
    if result.runs:
        return
    raise InputError(
        [
            Finding(
                "no-runs",
                Severity.ERROR,
                f"the logs hold no run of session {each.span.session}: {each.cut.why_none}",
                "the same command without --output tells every steady stretch, and why it is no run",
                Place(trial),
                session=each.span.session,
            )
            for each in result.sessions
        ]
    )
