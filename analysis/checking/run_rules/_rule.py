"""Rules on the runs of a trial; they look at the run table, so that they live beside the analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from slackwater.protocol.rules._outcome import Lack, Said
from slackwater.protocol.rules._rule import Rule, first_lack

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

Need = Callable[["Trial", "RunTable"], Lack | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsRule(Rule):
    """A rule on the runs of a trial: were they made as the protocol says?

    `needs` are asked first, as those of a protocol's rules. What `everywhere` finds lacking in some
    sessions is said as well, and the others are looked at.
    """

    check: Callable[[Trial, RunTable], Iterator[Said]]
    needs: tuple[Need, ...] = ()
    everywhere: Need | None = None

    def said(self, trial: Trial, runs: RunTable) -> Iterator[Said]:
        """What it says of the runs of a trial."""
        lack = first_lack(need(trial, runs) for need in self.needs)
        if lack is not None:
            return iter((lack.of(self.id),))
        bare = self.everywhere(trial, runs) if self.everywhere else None
        return chain(() if bare is None else (bare.of(self.id),), self.check(trial, runs))
