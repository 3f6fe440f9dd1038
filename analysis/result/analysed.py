"""A trial with everything computed from it, before it is put into a result."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.analysis.manoeuvres.tried import Tried
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.analysis.ratings.rated import Rated
    from slackwater.analysis.reduction.reduction import Reduction
    from slackwater.analysis.verdict.judgement import Judged
    from slackwater.analysis.verdict.leanings import OtherCurrent
    from slackwater.analysis.verdict.sealed_families import Sealed
    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True)
class Analysed:
    """A trial with everything computed from it, before it is put into a result.

    Attributes
    ----------
    trial : Trial
    runs : RunTable
    reduction : Reduction
    tables : dict of SessionValues
        By quantity; those that are compared.
    judged : tuple of Judged
        One for each pair of configurations and quantity.
    configurations : tuple of str
        What was fitted in each session, in the order of `Trial.sessions`.
    sealed : Sealed
        What a seal says of what was declared beforehand.
    other_current : OtherCurrent or None
        What decides, with the current taken out in another way.
    doubts : tuple of str
        Runs in doubt, and what the verdicts would be without them, in sentences.
    rated : Rated or None
        What people scored, where anybody did.
    by_ranks : tuple of Judged
        The comparisons of what was scored, by ranks within each rater; they give no verdict.
    tried : Tried or None
        What was read of manoeuvres, where any was tried.
    """

    trial: Trial
    runs: RunTable
    reduction: Reduction
    tables: dict[str, SessionValues]
    judged: tuple[Judged, ...]
    configurations: tuple[str, ...]
    sealed: Sealed
    other_current: OtherCurrent | None = None
    doubts: tuple[str, ...] = ()
    rated: Rated | None = None
    by_ranks: tuple[Judged, ...] = ()
    tried: Tried | None = None
