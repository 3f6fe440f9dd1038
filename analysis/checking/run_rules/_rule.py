"""Rules on the runs of a trial; they look at the run table, so that they live beside the analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.rules._rule import Rule

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsRule(Rule):
    """A rule on the runs of a trial: were they made as the protocol says?"""

    check: Callable[[Trial, RunTable], Iterator[Finding]]
