"""Which look at a trial this is: its declared end, a declared look, or one that nobody declared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slackwater.analysis.statistics.sequential import look_confidences
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.findings import Finding, Severity

SOURCE = "P. Armitage, C. K. McPherson, B. C. Rowe (1969): repeated looks raise the error rate"


@dataclass(frozen=True, slots=True)
class Look:
    """One look at the sessions of a comparison.

    Attributes
    ----------
    sessions : int
        Sessions that the configuration with the fewest has.
    planned : int
        Sessions with each configuration that the protocol declares.
    number, of : int
        Which of the declared looks this is, counted from 1; 0 where it is none of them.
    """

    sessions: int
    planned: int
    number: int
    of: int

    @property
    def end(self) -> bool:
        """This is the declared end of the trial."""
        return self.sessions == self.planned

    @property
    def declared(self) -> bool:
        """The protocol declares this look."""
        return self.number > 0

    def final(self, established: bool) -> bool:
        """Whether a verdict of this look is final: at the end, or past a declared boundary."""
        return self.end or (self.declared and established)

    @property
    def caveat(self) -> str:
        """Why a verdict of this look is not final."""
        if self.declared:
            return f"not final: look {self.number} of {self.of}; the trial goes on"
        if self.sessions > self.planned:
            return "not final: more sessions than the protocol declares"
        return "not final: the protocol declares no look here"


def look_at(protocol: Protocol, fitted: Sequence[str], pair: Sequence[str]) -> Look:
    """Which look the sessions run so far make.

    Parameters
    ----------
    protocol : Protocol
    fitted : sequence of str
        Configuration of each session run.
    pair : sequence of str
        The configurations compared.
    """
    sessions = min(list(fitted).count(name) for name in pair)
    planned = protocol.sessions.per_configuration
    looks = protocol.analysis.looks
    counts = looks.at_sessions if looks else (planned,)
    number = counts.index(sessions) + 1 if sessions in counts else 0
    return Look(sessions, planned, number, len(counts))


def confidence_at(protocol: Protocol, look: Look, confidence: float, family: int) -> float:
    """Confidence that the comparisons of this look are computed with.

    Parameters
    ----------
    protocol : Protocol
    look : Look
    confidence : float
        Of all looks together, 0 to 1.
    family : int
        Comparisons that it covers together.

    Returns
    -------
    float
        The declared one where no looks are declared. A look between the declared ones is held to
        the boundary of the one before it, and one before the first to that of the first.
    """
    looks = protocol.analysis.looks
    if looks is None or len(looks.at_sessions) == 1:
        return confidence
    levels = look_confidences(looks.fractions, looks.boundary, confidence, max(family, 1))
    reached = sum(count <= look.sessions for count in looks.at_sessions)
    return float(levels[max(reached - 1, 0)])


def look_findings(look: Look, established: int) -> list[Finding]:
    """What a reader has to know of a look that is not the end.

    Parameters
    ----------
    look : Look
    established : int
        Differences established at this look.
    """
    have = f"{look.sessions} of {look.planned} sessions with each configuration have been run"
    if look.end:
        return []
    if look.declared:
        told = "; differences already established are final" if established else ""
        return [
            Finding(
                "declared-look",
                Severity.WARNING,
                f"not final: {have}; this is look {look.number} of {look.of}{told}",
                "go on with the trial, or stop it if what is established is what you wanted",
                source=SOURCE,
            )
        ]
    if look.sessions > look.planned:
        return [
            Finding(
                "undeclared-look",
                Severity.WARNING,
                f"not final: {look.sessions} sessions with each configuration where the protocol "
                f"declares {look.planned}; going on after a look raises the rate of false verdicts",
                "declare looks with analysis: looks before the next trial; if the number was "
                "settled before any result was seen, put it into the protocol and say so there",
                source=SOURCE,
            )
        ]
    return [
        Finding(
            "undeclared-look",
            Severity.WARNING,
            f"not final: {have}, and the protocol declares no look here; a trial that may stop "
            "whenever a difference shows finds differences that are not there",
            "run the sessions that are missing, or declare looks beforehand with "
            "analysis: {looks: {at_sessions: [...]}}",
            source=SOURCE,
        )
    ]
