"""What a protocol declares a worthwhile difference for, and the trial does not tell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.catalogue.recipes import WRITTEN, given, lacking, needs
from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed


def not_told(analysed: Analysed) -> Iterator[Finding]:
    """A finding for each quantity that was declared to matter and is not among the comparisons."""
    protocol = analysed.trial.protocol
    told = {judged.table.quantity for judged in analysed.judged}
    for name in protocol.analysis.worthwhile:
        if name in told:
            continue
        why, fix = _reason(analysed, name)
        yield Finding(
            rule="worthwhile-not-told",
            severity=Severity.WARNING,
            message=f"a worthwhile difference of {name} is declared, but the trial tells no {name}: "
            f"{why}",
            fix=fix,
            place=protocol.document.place(("analysis", "worthwhile", name), key=True),
        )


def _reason(analysed: Analysed, name: str) -> tuple[str, str]:
    protocol = analysed.trial.protocol
    held = protocol.set_point_measure
    if name in protocol.rated:
        return (
            "nobody scored it",
            "name the table of ratings under 'ratings:' in the trial, or take it away",
        )
    if name in protocol.tried:
        return (
            "no try has a value of it",
            "name the table of tries under 'manoeuvres:' in the trial, or take it away",
        )
    if name == held:
        return (
            "it is what was held at the set points, and no result",
            "take it away, or declare one for what was measured",
        )
    if name in ("speed_over_ground", "speed_through_water") and "speed" in analysed.tables:
        return (
            "it is compared as the speed through the water",
            "declare the worthwhile difference of 'speed' instead",
        )
    measured = {each for each in protocol.told if each in analysed.reduction.frame}
    missing = lacking(name, given({*measured, held}))
    if missing:
        listed = " and ".join(missing)
        return f"{listed} was not measured", f"measure {listed}, or take it away"
    lack = [need for need in needs(name, {*measured, held}) if _undeclared(analysed, need)]
    if lack:
        return (
            f"the {lack[0].replace('_', ' ')} is not declared",
            f"write {WRITTEN[lack[0]]}",
        )
    listed_measure = MEASURES.get(name)
    if listed_measure is not None and listed_measure.table != "set points":
        return (
            "the sweep does not reach far enough or has too few set points to show it",
            "run more set points, or take it away",
        )
    return "no session gave a value of it", "see what is said of the sessions and runs"


def _undeclared(analysed: Analysed, need: str) -> bool:
    trial = analysed.trial
    if need in ("fuel_capacity", "fuel_density"):
        return getattr(trial.boat, need) is None
    if need == "duty":
        return trial.duty is None
    return any(getattr(each, need) is None for each in trial.configurations.values())
