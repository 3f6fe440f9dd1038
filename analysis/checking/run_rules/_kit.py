"""What a rule on the runs of a trial is written with, so that its file imports in one statement."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slackwater.analysis.checking.run_rules._rule import RunsRule
from slackwater.analysis.checking.run_rules._runs import (
    DoubleRun,
    RunMade,
    all_double_runs,
    at_set_points,
    by_session,
    nearest_declared,
    number,
    row_place,
    runs_of,
    sessions_of,
    set_point_text,
    speed_measure,
)
from slackwater.protocol.rules._kit import Example, Finding, Found, Iterator, Severity, Trial
from slackwater.protocol.rules._trials import listed, touched

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
else:
    RunTable = Any

__all__ = [
    "DoubleRun",
    "Example",
    "Finding",
    "Found",
    "Iterator",
    "RunMade",
    "RunTable",
    "RunsRule",
    "Severity",
    "Trial",
    "all_double_runs",
    "at_set_points",
    "by_session",
    "listed",
    "nearest_declared",
    "number",
    "row_place",
    "runs_of",
    "sessions_of",
    "set_point_text",
    "speed_measure",
    "touched",
]
