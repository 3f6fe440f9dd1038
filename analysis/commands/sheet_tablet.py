"""`slackwater sheet TRIAL --for tablet`: the page, into a file or served."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, complain, write
from slackwater.analysis.commands.sheet_layout import lay_out, refuse

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial


def run(args: argparse.Namespace, protocol: Protocol, trial: Trial | None) -> int:
    """Write the page or serve it; 0 when done.

    Raises
    ------
    InputError
        When the options cannot be used, or the page cannot be written or served.
    """
    from slackwater.analysis.report.sheet.tablet_data import tablet_data
    from slackwater.analysis.report.sheet.tablet_page import render
    from slackwater.analysis.sheet.run_table import refuse_formulas

    if args.format not in (None, "html"):
        raise refuse(
            f"the sheet for a tablet is a page, not {args.format}",
            "leave --format out; tables and text come without --for tablet",
        )
    if not args.serve and args.output is not None:
        check_output(args.output, [args.source], replace=args.replace)
    contents = lay_out(protocol, trial, args)
    data = tablet_data(contents, protocol, trial)
    heads = [*data["head"], *data.get("try_head", ())]
    refuse_formulas([heading for _, heading in heads] + [s["id"] for s in data["sessions"]])
    if trial and not trial.sessions:
        complain("the trial lists no sessions yet; write them into it before anything is merged")
    page = render(data, served=args.serve)
    if args.serve:
        from slackwater.analysis.commands.sheet_serving import serve

        return serve(page, data["trial"], args.on, args.output or "handed-in")
    write(page, args.output, form="html", replace=args.replace)
    return 0
