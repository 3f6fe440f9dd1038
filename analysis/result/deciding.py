"""The deciding figure of a trial, and what the further figures come to beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.analysis.verdict.judgement import Judged
    from slackwater.protocol.declared.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Deciding:
    """Which figure decides, and how often the others may be wrong.

    Attributes
    ----------
    figure : str
        As declared.
    told : bool
        The trial gives it.
    error : float
        Chance that it names any difference that is not there, at most. [1]
    further : int
        Further sweeps and figures that were judged.
    further_error : float
        Chance that any of them names a difference that is not there, at most (Bonferroni). [1]
    """

    figure: str
    told: bool
    error: float
    further: int
    further_error: float

    def to_dict(self) -> dict[str, Any]:
        """As JSON carries it."""
        return asdict(self)


def deciding_of(protocol: Protocol, judged: Sequence[Judged]) -> Deciding | None:
    """What a protocol's deciding figure comes to in a trial; None where it declares none."""
    figure = protocol.analysis.decides
    if figure is None:
        return None
    sweeps = [each.rows for each in judged if each.rows]
    own = [rows for rows in sweeps if any(row.deciding for row in rows)]
    # A sweep that is parted by a seal takes the larger error of its parts.
    errors = [
        max(1 - row.confidence for row in rows)
        for rows in sweeps
        if rows not in own and any(row.p_value is not None for row in rows)
    ]
    level = 1 - protocol.analysis.confidence.to("%").value / 100
    # Where all quantities are one family, its parts of the error were shared out beforehand.
    whole = level if protocol.analysis.family == "all" else 1.0
    return Deciding(
        figure=figure,
        told=bool(own),
        error=round(level, 12),
        further=len(errors),
        further_error=round(min(sum(errors), whole), 12),
    )


def deciding_findings(found: Deciding | None) -> list[Finding]:
    """A deciding figure that the trial does not give."""
    if found is None or found.told:
        return []
    return [
        Finding(
            "deciding-figure-missing",
            Severity.WARNING,
            f"{found.figure} was declared to decide, and this trial does not give it: all verdicts "
            "are those of further figures",
            "measure what it is made of, or declare another figure before the next trial",
        )
    ]
