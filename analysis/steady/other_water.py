"""What is said of double runs whose two runs lie over other water, and are a pair by the order they were made in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.analysis.steady.doubling import LEAST_OVERLAP
from slackwater.protocol.findings import Finding, Place, Severity
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.intake.provenance import CutSession, Provenance
    from slackwater.analysis.steady.cutting import CutRun


def note_of(run: CutRun) -> str:
    """For the row of the table."""
    return f"paired by order: shares {_share(run.overlap)} of the water"


def told_in(session: CutSession, unit: str) -> list[str]:
    """A line for each such double run of a session: "double run 1 at 1500 rpm shares 29 % of its water"."""
    pairs = {
        (run.set_point, run.double_run): run.water_shared
        for run in session.runs
        if run.paired_by == "order"
    }
    return [
        f"double run {number} at {show_number(point)} {unit} shares {_share(shared)} of its water"
        for (point, number), shared in pairs.items()
    ]


def pair_words(run: CutRun, unit: str) -> str:
    """The same of a run as it was cut, as a sentence."""
    return (
        f"Double run {run.double_run} at {show_number(run.set_point)} {unit} is paired by the order made in: "
        f"it shares {_share(run.overlap)} of its water, {LEAST_OVERLAP:.0%} are asked for."
    )


def order_findings(provenance: Provenance, place: Place) -> Iterator[Finding]:
    """The double runs paired by order, a finding for each session that has any."""
    for session in provenance.sessions:
        if told := told_in(session, provenance.parameters.unit):
            yield Finding(
                "paired-by-order",
                Severity.WARNING,
                f"session {session.session}: {'; '.join(told)}, where {LEAST_OVERLAP:.0%} are asked for; the runs were "
                "paired since one follows the other",
                "nothing where the current is the same all over the place; else set both runs aside, for the current "
                "does not drop out of their mean",
                place,
                session=session.session,
            )


def _share(part: float) -> str:
    """In per cent, of the part as a provenance has it: so it is the same wherever it is told."""
    return f"{round(part, 3):.0%}"
