"""What rules on ratings look at: the table of scores, read along with that of the runs."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._runs import row_place
from slackwater.analysis.intake.rating_table import RatingTable, read_ratings
from slackwater.protocol.findings import InputError, Place
from slackwater.protocol.rules import _needs
from slackwater.protocol.rules._outcome import Lack

if TYPE_CHECKING:
    from slackwater.analysis.intake.rating_table import Rating
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial


def table_of(trial: Trial) -> RatingTable | None:
    """The ratings of a trial; None where there are none, or they cannot be read."""
    try:
        return read_ratings(trial)
    except InputError:
        return None


def scores(trial: Trial, _: RunTable) -> Lack | None:
    """A table of ratings that can be read."""
    if (lack := _needs.scored(trial)) is not None:
        return lack
    there = table_of(trial) is not None
    return None if there else Lack("there are no ratings that can be read", "the table of ratings")


def by_rater(trial: Trial) -> dict[str, list[Rating]]:
    """The ratings that count, by who gave them."""
    found: dict[str, list[Rating]] = defaultdict(list)
    table = table_of(trial)
    for each in table.used if table is not None else ():
        found[each.rater].append(each)
    return found


def ratings_place(trial: Trial, row: int) -> Place:
    """A row of the table of ratings."""
    table = table_of(trial)
    return Place(str(trial.ratings), row) if table is None else row_place(trial, table, row)
