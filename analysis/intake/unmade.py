"""Rows that were prepared for runs, and that nobody filled in."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.runs import Run

NAMED = 8  # runs that a finding names one by one

_FIX = (
    "fill them in if they were made; if they were made and cannot be used, give the reason in "
    "set_aside"
)


def is_unmade(run: Run) -> bool:
    """Whether a row says which run it is for, and nothing of a run that was made."""
    noted = [run.heading, run.duration, *run.values.values()]
    return run.used and run.start is None and not run.note and all(map(math.isnan, noted))


def tell_unmade(unmade: Sequence[Run], made: Sequence[Run], unit: str, problems: Problems) -> None:
    """Tell, session by session, which of the runs prepared were not made.

    A table in which no row at all is filled in cannot be used.
    """
    if unmade and not made and not problems.errors:
        problems.error(
            "sheet-blank",
            f"none of the {len(unmade)} rows is filled in: they say which runs to make, and hold no "
            "run that was made",
            "fill in the start, the duration and what was measured; delete the rows of runs not made",
            row=unmade[0].row,
        )
        return
    kept: dict[str, int] = defaultdict(int)
    for run in made:
        kept[run.session] += 1
    groups: dict[str, list[Run]] = defaultdict(list)
    for run in unmade:
        groups[run.session].append(run)
    for session, runs in groups.items():
        if kept[session]:
            number = len(runs)
            are = "is" if number == 1 else "are"
            message = (
                f"session {session}: {number} of {number + kept[session]} runs {are} not filled in, "
                f"and taken as not made: {_listed(runs, unit)}"
            )
        else:
            message = (
                f"session {session}: none of its {len(runs)} runs is filled in (rows "
                f"{runs[0].row.number} to {runs[-1].row.number}); it is taken as not run"
            )
        problems.warning("run-not-made", message, _FIX, row=runs[0].row, session=session)


def _listed(runs: Sequence[Run], unit: str) -> str:
    named = [
        f"{run.set_point:g} {unit} double run {run.double_run} {run.direction}".rstrip()
        + f" (row {run.row.number})"
        for run in runs[:NAMED]
    ]
    more = [f"and {len(runs) - NAMED} more"] if len(runs) > NAMED else []
    return ", ".join(named + more)
