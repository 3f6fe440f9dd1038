"""The tries of a trial with where they come from: the one place that reads both, or finds them in its logs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.files import provenance_beside
from slackwater.analysis.intake.tables import no_runs
from slackwater.analysis.intake.tries import TryTable
from slackwater.analysis.intake.try_table import asked_of, read_tries, read_try_table
from slackwater.analysis.steady.trial_runs import runs_of
from slackwater.protocol.files.reading import is_there
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.handling.tries_result import TriesResult
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

FOUND = "tries found in the logs"  # what findings call a table that stands in no file
_WRITE = (
    "write the table with 'slackwater logs --trial TRIAL --tries --output tries.csv', fill in what is not told, and name it "
    "under 'manoeuvres:'"
)


_last: list[tuple[Trial, TryTable]] = []  # the trial asked for last, and what was found in its logs


def tried_table(trial: Trial) -> TryTable | None:
    """The tries of a trial, with where they come from if a file beside their table tells it.

    A trial that names logs and no table of tries has them found in the logs.

    Raises
    ------
    InputError
        With everything that keeps the table from being used.
    """
    if trial.protocol.manoeuvres and trial.manoeuvres is None and trial.logs:
        if not (_last and _last[0][0] is trial):  # rules ask for them one by one, and logs are long
            _last[:] = [(trial, _found(trial))]
        return _last[0][1]
    table = read_tries(trial)
    if table is None or trial.manoeuvres is None:
        return table
    path = provenance_beside(trial.folder / trial.manoeuvres)
    if not is_there(path):
        return table
    from slackwater.analysis.handling.tries_checks import looked_over

    found, findings = looked_over(trial, table, path)
    return replace(table, provenance=found, findings=(*table.findings, *findings))


def _found(trial: Trial) -> TryTable:
    """Find, write the table as the command does, and read it as every table is."""
    from slackwater.analysis.handling.trial_tries import tries_in
    from slackwater.analysis.intake.provenance import told_by
    from slackwater.analysis.intake.try_provenance import TryProvenance
    from slackwater.analysis.wording.characters import utf_8

    result = tries_in(trial)
    provenance = told_by(TryProvenance, result.to_json())
    if not result.tries:
        sha256 = provenance.table.sha256
        return TryTable((), FOUND, sha256, _none(trial, result), provenance, in_file=False)
    try:
        table = read_try_table(Path(FOUND), asked_of(trial), utf_8(result.to_csv()))
    except InputError as error:
        raise InputError([replace(each, fix=_WRITE) for each in error.findings]) from None
    return replace(table, provenance=provenance, in_file=False)


def _none(trial: Trial, result: TriesResult) -> tuple[Finding, ...]:
    """That the logs hold no try, with what was seen."""
    place = trial.document.place(("logs",))
    reasons = [
        text
        for each in result.sessions
        for text in (*each.notes, *(left.reason for left in each.left_out))
    ]
    seen = "; ".join(list(dict.fromkeys(reasons))[:4]) or "nothing in them is like one"
    message = f"the logs hold no try of any manoeuvre: {seen}"
    fix = "see all that was looked at with 'slackwater logs --trial TRIAL --tries', or name a table under 'manoeuvres:'"
    return (Finding("tries-not-found", Severity.WARNING, message, fix, place),)


def runs_beside(trial: Trial, tries: TryTable | None) -> RunTable:
    """The runs of a trial; none, and a warning, where its logs hold tries and no run.

    Raises
    ------
    InputError
        With everything that keeps the runs from being used.
    """
    try:
        return runs_of(trial)
    except InputError as error:
        only = all(each.rule in ("no-runs", "run-not-found") for each in error.findings)
        if not (trial.logs and only and tries is not None and tries.used):
            raise
        return no_runs(
            trial, f"the logs hold no run ({error.findings[0].message.partition(': ')[2]})"
        )
