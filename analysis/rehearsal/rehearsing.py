"""From a protocol and a seed to the files of an invented trial."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from slackwater.analysis.rehearsal.papers import (
    HEAD,
    MARK,
    runs_text,
    trial_text,
    truth_text,
    way_text,
)
from slackwater.analysis.rehearsal.scores import scores_text
from slackwater.analysis.rehearsal.tries import tries_text
from slackwater.analysis.rehearsal.world import runs_of, truth_of
from slackwater.analysis.sheet.contents import SheetContents, sheet_contents
from slackwater.analysis.sheet.run_table import headings, prepared
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.schedule.making import make_schedule, seats_of
from slackwater.protocol.schedule.planned import Circumstances, Schedule, ScheduleError
from slackwater.protocol.schedule.session_order import LETTERS

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol

FIRST_DAY = date(2026, 5, 4)


def rehearse(protocol: Protocol, seed: int) -> dict[str, str]:
    """The files of an invented trial, by name.

    Parameters
    ----------
    protocol : Protocol
    seed : int
        Of everything invented; the same seed gives the same files.

    Returns
    -------
    dict of str to str
        All but the sheet's page, which is a report.

    Raises
    ------
    InputError
        When the protocol's sessions do not fit into their days.
    """
    contents = contents_of(protocol, seed)
    schedule, titles = contents.schedule, contents.configurations
    truth = truth_of(protocol, list(titles), seed)
    head = headings(contents)
    id = f"rehearsal-{protocol.protocol}"
    held = protocol.set_point_measure in ("speed", "speed_over_ground", "speed_through_water")
    scored = {}
    if protocol.ratings is not None:
        scored["ratings.csv"] = scores_text(protocol, schedule, truth, seed)
    if protocol.manoeuvres:
        scored["tries.csv"] = tries_text(protocol, schedule, truth, seed)
    return scored | {
        "read-me-first.txt": way_text(id),
        "protocol.yaml": HEAD + protocol.document.text,
        "trial.yaml": trial_text(protocol, schedule, titles, seed, id),
        "runs.csv": runs_text(list(runs_of(protocol, schedule, truth, seed)), head),
        "sheet.csv": prepared(contents, head).csv(),
        "truth.txt": truth_text(truth, titles, held, tried=bool(protocol.manoeuvres)),
    }


def contents_of(protocol: Protocol, seed: int) -> SheetContents:
    """The sheet of an invented trial, marked as such."""
    names = _names(protocol)
    found = sheet_contents(protocol, _schedule(protocol, names, seed))
    return replace(
        found,
        trial=f"rehearsal-{protocol.protocol}",
        title=f"{MARK}, for practice: {found.title}",
        boat=f"{MARK} boat",
        configurations={name: f"{name.replace('-', ' ')} ({MARK})" for name in names.values()},
    )


def _names(protocol: Protocol) -> dict[str, str]:
    """A name for each letter of the order."""
    letters = sorted(set(protocol.sessions.order))
    plain = ("baseline", "modified", *LETTERS[2:])
    fitted = protocol.sessions.fitted
    return {letter: fitted.get(letter, plain[LETTERS.index(letter)]) for letter in letters}


def _schedule(protocol: Protocol, names: dict[str, str], seed: int) -> Schedule:
    change = protocol.sessions.change
    circumstances = Circumstances(first_day=FIRST_DAY)
    if change is not None:
        circumstances = replace(circumstances, change=change.to("s").value)
    try:
        return make_schedule(
            protocol, seed, circumstances, seats_of(protocol.sessions.order, names)
        )
    except ScheduleError as error:
        raise InputError(
            [Finding("schedule-unfit", Severity.ERROR, error.message, error.fix)]
        ) from error
