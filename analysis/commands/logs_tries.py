"""`slackwater logs LOG… --trial TRIAL --tries`: the table of tries found in logs, and where every try comes from."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from slackwater.analysis.commands.logs_cut import FORMATS, offset_asked, sources_asked, unfit
from slackwater.analysis.commands.output import check_output, chosen_format, complain, write
from slackwater.analysis.intake.files import provenance_beside
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.analysis.handling.tries_result import TriesResult


def run(args: argparse.Namespace) -> int:
    """Find and write; 0 when there are tries.

    Raises
    ------
    InputError
        When nothing can be found, with why.
    """
    if args.plan:
        raise unfit("--plan goes with runs, and --tries finds tries", "leave one of them out")
    chosen = chosen_format(args, FORMATS)
    beside = str(provenance_beside(args.output)) if chosen == "csv" and args.output else None
    if beside is not None:
        check_output(beside, args.logs, replace=args.replace)
    from slackwater.analysis.api import tries

    result = tries(
        args.trial,
        *args.logs,
        sources=sources_asked(args.source),
        ahead_of_utc=offset_asked(args.ahead_of_utc),
    )
    if chosen != "csv":
        forms = {"json": result.to_json, "html": result.to_html, "text": result.__str__}
        write(forms[chosen](), args.output, form=chosen, replace=args.replace)
        return 0
    _stop_without_tries(result, Place(args.trial))
    write(result.to_csv(), args.output, form=chosen, replace=args.replace)
    if beside is not None:
        write(result.to_json(), beside, form="json", replace=args.replace)
        write(str(result), None)
    else:
        complain(result.summary)
    return 0


def _stop_without_tries(result: TriesResult, place: Place) -> None:
    """Refuse to write a table without a row, and say why there is none."""
    if result.tries:
        return
    told = []
    for each in result.sessions:
        session = each.span.session
        reasons = list(dict.fromkeys([*each.notes, *(left.reason for left in each.left_out)]))
        more = f"; and {len(reasons) - 4} more" if len(reasons) > 4 else ""
        why = (
            "; ".join(reasons[:4]) + more or "nothing in them is like any manoeuvre of the protocol"
        )
        told.append(
            Finding(
                "tries-not-found",
                Severity.ERROR,
                f"the logs hold no try of session {session}: {why}",
                "see all that was looked at with 'slackwater logs LOG --trial TRIAL --tries'",
                place,
                session=session,
            )
        )
    raise InputError(told)
