"""Comparisons that have no better side, although their quantity has one elsewhere."""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.wording.words import listed
from slackwater.protocol.declared.drive import drive_differs, turning_held
from slackwater.protocol.declared.trial import ComparisonPair, Trial

#: Figures of a whole sweep that are still read at one engine speed, the same for both sides.
_AT_ENGINE_SPEED = ("top_speed", "planing_engine_speed")


def as_compared(table: SessionValues, trial: Trial, pair: ComparisonPair) -> SessionValues:
    """The table with the side that counts as better in this comparison.

    Neither does at equal engine speed where the propeller, its pitch or the gear differ.
    """
    if _at_engine_speed(table, trial) and drive_differs(trial, pair):
        return replace(table, better=None)
    return table


def _at_engine_speed(table: SessionValues, trial: Trial) -> bool:
    at_set_points = table.kind == "set points" or table.quantity in _AT_ENGINE_SPEED
    return at_set_points and turning_held(trial)


def neutral_remarks(trial: Trial) -> tuple[str, ...]:
    """Which pairs are compared without a better side at equal engine speed, and why."""
    if not turning_held(trial):
        return ()
    told = []
    for pair in trial.comparisons:
        if differing := drive_differs(trial, pair):
            names = [
                trial.configurations[name].title or name for name in (pair.modified, pair.baseline)
            ]
            told.append(
                f"{names[0]} and {names[1]} differ in {listed(differing)}, so that one engine speed "
                "asks different things of them: what is compared there is higher or lower, and no "
                "gain or loss. Comparisons at equal speed are fair."
            )
    return tuple(told)
