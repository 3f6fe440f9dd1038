"""Rules on the runs of a trial; they look at the run table, so that they live beside the analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.rules._outcome import Lack, Said
from slackwater.protocol.rules._rule import Rule, first_lack

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsRule(Rule):
    """A rule on the runs of a trial: were they made as the protocol says?

    `needs` are asked first, as those of a protocol's rules.
    """

    check: Callable[[Trial, RunTable], Iterator[Said]]
    needs: tuple[Callable[[Trial, RunTable], Lack | None], ...] = ()

    def said(self, trial: Trial, runs: RunTable) -> Iterator[Said]:
        """What it says of the runs of a trial."""
        lack = first_lack(need(trial, runs) for need in self.needs)
        return self.check(trial, runs) if lack is None else iter((lack.of(self.id),))
