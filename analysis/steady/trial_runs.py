"""The runs of a trial, whatever it takes them from: the one place that turns a trial's sources into rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from slackwater.analysis.intake.files import provenance_beside
from slackwater.analysis.intake.tables import no_runs, read_runs
from slackwater.protocol.files.reading import is_there
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.analysis.logs.channels import Log
    from slackwater.analysis.steady.cut_result import CutResult
    from slackwater.protocol.declared.trial import Trial

CUT = "runs cut from the logs"  # what findings call a table that stands in no file


def runs_of(trial: Trial) -> RunTable:
    """The runs of a trial, from its table or cut from its logs, by the same rules.

    Raises
    ------
    InputError
        With everything that keeps them from being used.
    """
    if trial.logs:
        return _cut_runs(trial)
    if without_runs(trial):
        return no_runs(trial)
    table = read_runs(trial)
    if not is_there(provenance_beside(trial.folder / trial.runs)):
        return table
    from slackwater.analysis.steady.provenance_checks import looked_over

    provenance, findings = looked_over(trial, table)
    return replace(table, provenance=provenance, findings=(*table.findings, *findings))


def without_runs(trial: Trial) -> bool:
    """Whether a trial has tries or ratings and no runs at all: it names none, and there are none."""
    named = "runs" in trial.document.data or bool(trial.logs)
    return bool(trial.beside) and not named and not is_there(trial.folder / trial.runs)


def sources_of(trial: Trial) -> list[Path]:
    """The files that a trial's runs come from, whether they are there or not."""
    return [trial.folder / log for log in trial.logs] or [trial.folder / trial.runs]


def sources_key(trial: Trial) -> str:
    """The key of the trial's file that names them."""
    return "logs" if trial.logs else "runs"


def _cut_runs(trial: Trial) -> RunTable:
    """Cut, write the table as the command does, and read it as every table is."""
    from slackwater.analysis.intake.provenance import provenance_of
    from slackwater.analysis.steady.not_found import stop_without_runs
    from slackwater.analysis.steady.run_rows import to_csv
    from slackwater.analysis.wording.characters import utf_8

    result = cut_own(trial)
    stop_without_runs(result, trial.document.place(("logs",)))
    table = read_runs(trial, CUT, utf_8(to_csv(result)))
    return replace(table, provenance=provenance_of(result.to_json()), in_file=False)


def cut_own(
    trial: Trial,
    logs: Sequence[str | Path] = (),
    *,
    plan: str | Path | None = None,
    sources: Mapping[str, Sequence[str]] | None = None,
    ahead_of_utc: timedelta | None = None,
) -> CutResult:
    """Cut the runs of a trial from the logs given, or from those that it names itself.

    What is not given is taken as the trial has it under `cut:`.

    Raises
    ------
    InputError
    """
    from slackwater.analysis.steady.cut_trial import cut_trial
    from slackwater.analysis.steady.plan_order import read_plan

    logs_read = logs_of(trial, logs)
    own = trial.cut
    if plan is None and own.plan is not None:
        plan = trial.folder / own.plan
    return cut_trial(
        trial,
        logs_read,
        None if plan is None else read_plan(str(plan), trial),
        {**own.asked, **(sources or {})},
        own.ahead_of_utc if ahead_of_utc is None else ahead_of_utc,
    )


def logs_of(trial: Trial, logs: Sequence[str | Path] = ()) -> list[Log]:
    """The logs given, or those that a trial names itself.

    Raises
    ------
    InputError
        When there are none, or with all that is wrong with any.
    """
    from slackwater.analysis.logs.forms import read_logs
    from slackwater.analysis.steady.cut_trial import told_by

    if logs:
        return list(read_logs(*logs, told=told_by(trial)))
    if not trial.logs:
        message, fix = "the trial names no logs", "give the logs, or name them under 'logs:'"
        raise InputError([Finding("no-logs", Severity.ERROR, message, fix, trial.document.place())])
    return own_logs(trial)


def own_logs(trial: Trial) -> list[Log]:
    """The logs that a trial names, under the names that it gives them.

    Raises
    ------
    InputError
        With all that is wrong with any; a fault that is of no line of a log stands at its name.
    """
    from slackwater.analysis.logs.forms import read_logs
    from slackwater.analysis.steady.cut_trial import told_by

    found: list[Log] = []
    told = told_by(trial)
    wrong: list[Finding] = []
    for index, name in enumerate(trial.logs):
        try:
            found += [
                _renamed(log, trial.folder / name, name)
                for log in read_logs(trial.folder / name, told=told)
            ]
        except InputError as error:
            wrong += [_at_its_name(each, trial, index) for each in error.findings]
    if wrong:
        raise InputError(wrong)
    return found


def _renamed(log: Log, path: Path, name: Path) -> Log:
    """The log under the name given, so that no result tells which folder it lay in."""
    inside = PurePath(log.path).relative_to(path)
    return replace(log, path=PurePath(name) / inside)


def _at_its_name(finding: Finding, trial: Trial, index: int) -> Finding:
    if finding.place is not None and finding.place.line is not None:
        return finding
    message = f"the log '{trial.logs[index]}' {finding.message}"
    return replace(finding, message=message, place=trial.document.place(("logs", index)))
