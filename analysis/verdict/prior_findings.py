"""What a reader has to know of noise taken from earlier trials."""

from __future__ import annotations

from collections.abc import Iterable

from slackwater.analysis.verdict.judgement import Judged
from slackwater.protocol.findings import Finding, Severity

SOURCE = "A. O'Hagan and L. Pericchi (2012): conflict between a prior and the data, for the idea"


def prior_findings(judged: Iterable[Judged]) -> list[Finding]:
    """Priors that the trial's own mean squares contradict, and those that nothing can check."""
    dropped: dict[str, None] = {}
    unchecked: dict[str, None] = {}
    for each in judged:
        if each.differences is None or not each.prior:
            continue
        fits = each.differences.noise.prior_fits
        if fits is None:
            unchecked.setdefault(each.table.quantity)
        elif not fits.all():
            dropped.setdefault(each.table.quantity)
    found = []
    if dropped:
        found.append(
            Finding(
                "prior-does-not-fit",
                Severity.WARNING,
                f"sessions of this trial scatter more than earlier trials let expect: "
                f"{_named(dropped)}; the noise of earlier trials was left out there",
                "look for what made these sessions differ; bring the noise block up to date with "
                "'slackwater noise'",
                source=SOURCE,
            )
        )
    if unchecked:
        found.append(
            Finding(
                "prior-unchecked",
                Severity.WARNING,
                f"no session is repeated, so all noise is that of earlier trials: "
                f"{_named(unchecked)}; a verdict holds only if this trial was no noisier",
                "run each configuration in two sessions or more",
                source=SOURCE,
            )
        )
    return found


def _named(quantities: Iterable[str]) -> str:
    return ", ".join(name.replace("_", " ") for name in quantities)
