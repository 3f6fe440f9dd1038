"""What rules on manoeuvres look at: the table of tries, read along with that of the runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._runs import row_place
from slackwater.analysis.handling.tries_read import tried_table
from slackwater.analysis.intake.tries import TryTable
from slackwater.protocol.findings import InputError, Place
from slackwater.protocol.rules import _needs
from slackwater.protocol.rules._outcome import Lack

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial


def table_of(trial: Trial) -> TryTable | None:
    """The tries of a trial; None where there are none, or they cannot be read."""
    try:
        return tried_table(trial)
    except (InputError, OSError):
        return None


def made(trial: Trial) -> TryTable:
    """The same for a rule that needs `tries`, which has seen that it is there."""
    table = table_of(trial)
    assert table is not None
    return table


def tries(trial: Trial, _: RunTable) -> Lack | None:
    """A table of tries that can be read."""
    if (lack := _needs.tried(trial)) is not None:
        return lack
    there = table_of(trial) is not None
    return None if there else Lack("there are no tries that can be read", "the table of tries")


def tries_place(trial: Trial, row: int) -> Place:
    """A row of the table of tries."""
    table = table_of(trial)
    return Place(str(trial.manoeuvres), row) if table is None else row_place(trial, table, row)
