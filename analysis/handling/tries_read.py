"""The tries of a trial with where they come from: the one place that reads both."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from slackwater.analysis.intake.files import provenance_beside
from slackwater.analysis.intake.try_table import read_tries
from slackwater.protocol.files.reading import is_there

if TYPE_CHECKING:
    from slackwater.analysis.intake.tries import TryTable
    from slackwater.protocol.declared.trial import Trial


def tried_table(trial: Trial) -> TryTable | None:
    """The tries of a trial, with where they come from if a file beside their table tells it.

    Raises
    ------
    InputError
        With everything that keeps the table from being used.
    """
    table = read_tries(trial)
    if table is None or trial.manoeuvres is None:
        return table
    path = provenance_beside(trial.folder / trial.manoeuvres)
    if not is_there(path):
        return table
    from slackwater.analysis.handling.tries_checks import looked_over

    found, findings = looked_over(trial, table, path)
    return replace(table, provenance=found, findings=(*table.findings, *findings))
