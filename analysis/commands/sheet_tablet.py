"""`slackwater sheet TRIAL --for tablet` or `--for raters`: the page, into a file or served."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from slackwater.analysis.commands.output import check_output, complain, write
from slackwater.analysis.commands.sheet_layout import lay_out, refuse

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial


def run(args: argparse.Namespace, protocol: Protocol, trial: Trial | None) -> int:
    """Write the page or serve it; 0 when done.

    Raises
    ------
    InputError
        When the options cannot be used, or the page cannot be written or served.
    """
    from slackwater.analysis.report.sheet.tablet_page import render

    if args.format not in (None, "html"):
        raise refuse(
            f"the sheet for a tablet is a page, not {args.format}",
            "leave --format out; tables and text come without --for",
        )
    if not args.serve and args.output is not None:
        check_output(args.output, [args.source], replace=args.replace)
    contents = lay_out(protocol, trial, args)
    made = _of_raters if args.medium == "raters" else _of_crew
    data = made(contents, protocol, trial)
    if trial and not trial.sessions:
        complain("the trial lists no sessions yet; write them into it before anything is merged")
    page = render(data, served=args.serve)
    if args.serve:
        from slackwater.analysis.commands.sheet_serving import serve

        return serve(page, data["trial"], args.on, args.output or "handed-in")
    write(page, args.output, form="html", replace=args.replace)
    return 0


def _of_crew(contents: SheetContents, protocol: Protocol, trial: Trial | None) -> dict[str, Any]:
    """The data of the page of runs and tries."""
    from slackwater.analysis.report.sheet.tablet_data import tablet_data
    from slackwater.analysis.sheet.prepared import refuse_formulas

    data = tablet_data(contents, protocol, trial)
    heads = [*data["head"], *data.get("try_head", ())]
    refuse_formulas([heading for _, heading in heads] + [s["id"] for s in data["sessions"]])
    if protocol.ratings is not None:
        complain(
            "people score on a page of their own, which does not say what is fitted: --for raters"
        )
    return data


def _of_raters(contents: SheetContents, protocol: Protocol, trial: Trial | None) -> dict[str, Any]:
    """The data of the raters' page; a session whose id names what is fitted is told."""
    from slackwater.analysis.report.sheet.raters_data import raters_data
    from slackwater.analysis.sheet.prepared import refuse_formulas

    asked = protocol.ratings
    if asked is None:
        raise refuse(
            "the protocol asks nobody to score", "declare 'ratings:' in it, or take --for tablet"
        )
    data = raters_data(contents, asked, trial)
    refuse_formulas([session["id"] for session in data["sessions"]])
    if asked.blind:
        complain("give it to the raters on a device that does not hold the crew's page as well")
    for session in contents.schedule.sessions:
        if asked.blind and _names(session.id, contents.configurations):
            complain(
                f"the id of session '{session.id}' names a configuration, and the raters read it: "
                "give the sessions ids that say nothing, such as F1, F2"
            )
    return data


def _names(id: str, configurations: Mapping[str, str]) -> bool:
    """Whether the id of a session has the name or the title of a configuration as a word in it."""
    texts = [text for pair in configurations.items() for text in pair if len(text) > 1]
    return any(
        re.search(rf"(?<![^\W\d_]){re.escape(t)}(?![^\W\d_])", id, re.IGNORECASE) for t in texts
    )
