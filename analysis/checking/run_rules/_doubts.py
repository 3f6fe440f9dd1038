"""What a trial's verdicts had better not rest on unseen: values that do not belong, and copies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._copies import copied
from slackwater.analysis.checking.run_rules._doubtful import Doubtful, doubtful_runs
from slackwater.analysis.checking.run_rules._runs import number, set_point_text

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True)
class Doubt:
    """Runs in doubt for one reason.

    Attributes
    ----------
    rows : frozenset of int
        Of the run table.
    message : str
        What is wrong with them, in a clause.
    copied : bool
        They say what other runs have said; else they say what nothing else bears out.
    """

    rows: frozenset[int]
    message: str
    copied: bool


def doubts_of(trial: Trial, runs: RunTable) -> tuple[Doubt, ...]:
    """Everything in doubt about the runs of a trial, copied sessions first."""
    return (*_copies(runs), *(_far(trial, each) for each in doubtful_runs(trial, runs)))


def _copies(runs: RunTable) -> Iterator[Doubt]:
    sessions, pairs = copied(runs)
    for session in sessions:
        rows = {run.row for copy in session.copies for run in copy.again.runs}
        yield Doubt(frozenset(rows), session.words, True)
    for copy in pairs:
        rows = {run.row for run in copy.again.runs}
        yield Doubt(
            frozenset(rows),
            f"the double run from row {copy.again.row} (session {copy.again.session}) carries the "
            f"values of that from row {copy.first.row} (session {copy.first.session})",
            True,
        )


def _far(trial: Trial, found: Doubtful) -> Doubt:
    return Doubt(frozenset({found.run.row}), far_words(trial, found), False)


def far_words(trial: Trial, found: Doubtful) -> str:
    """What is wrong with a value that does not belong, in a clause."""
    measure, run = trial.protocol.measure(found.measure), found.run
    way = f", {run.direction}" if run.direction else ""
    return (
        f"row {run.row} (session {run.session}, {set_point_text(trial, run.set_point)}{way}) has a "
        f"{measure.title[:1].lower()}{measure.title[1:]} of {number(found.value)} {measure.unit}, "
        f"where the other runs let expect {found.expected:.3g} {measure.unit}"
    )
