"""What rules on runs need before they can look, each asked in one place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._rule import Need
from slackwater.analysis.checking.run_rules._runs import (
    all_double_runs,
    runs_of,
    sessions_of,
    speed_measure,
)
from slackwater.protocol.rules import _needs
from slackwater.protocol.rules._outcome import Lack
from slackwater.protocol.rules._trials import listed

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

_START = "a start for every run"


def reciprocal(trial: Trial, _: RunTable) -> Lack | None:
    """Runs declared out and back."""
    return _needs.reciprocal_runs(trial.protocol)


def clocked(_: Trial, runs: RunTable) -> Lack | None:
    """A run with a start, at least."""
    timed = any(math.isfinite(run.start) for run in runs_of(runs))
    return None if timed else Lack("no run has a start", _START)


def several_sessions(_: Trial, runs: RunTable) -> Lack | None:
    """Sessions to hold against each other."""
    count = len(sessions_of(runs))
    if count > 1:
        return None
    return Lack("there is one session" if count else "no session has a run", "further sessions")


def over_ground(trial: Trial, _: RunTable) -> Lack | None:
    """A speed over ground."""
    told = "speed_over_ground" in trial.protocol.told
    return None if told else Lack("no speed over ground is measured", "'speed_over_ground'")


def a_speed(trial: Trial, _: RunTable) -> Lack | None:
    """A speed of any kind."""
    return None if speed_measure(trial) else Lack("no speed is measured", "a speed")


def held_measured(trial: Trial, _: RunTable) -> Lack | None:
    """A reading of what is held; set-point-not-measured speaks where there is none."""
    held = trial.protocol.set_point_measure
    return None if held in trial.protocol.measures else Lack(f"{held} is not among the measures")


def current_limited(trial: Trial, _: RunTable) -> Lack | None:
    """An upper limit on the current."""
    return _needs.upper_limit_on("current")(trial.protocol)


def pair_by_pair(trial: Trial, _: RunTable) -> Lack | None:
    """A current that is taken out of each double run by itself."""
    paired = trial.protocol.analysis.current == "double_run"
    return None if paired else Lack("the current is not taken out pair by pair")


def double_runs(count: int) -> Need:
    """So many whole double runs in use, in every session."""

    def need(_: Trial, runs: RunTable) -> Lack | None:
        have = {s: sum(one.used for one in all_) for s, all_ in all_double_runs(runs).items()}
        return _less(count, have, "double runs in use", f"{count} double runs in each session")

    return need


def starts(count: int) -> Need:
    """So many runs with a start, in every session."""

    def need(_: Trial, runs: RunTable) -> Lack | None:
        have = {
            session: sum(math.isfinite(run.start) for run in group)
            for session, group in sessions_of(runs).items()
        }
        return _less(count, have, "runs with a start", _START)

    return need


def _less(count: int, have: Mapping[str, int], what: str, lets: str) -> Lack | None:
    few = [session for session, number in have.items() if number < count]
    return Lack(f"fewer than {count} {what} in {listed(few, 8)}", lets) if few else None
