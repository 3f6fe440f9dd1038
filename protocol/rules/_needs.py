"""What rules on protocols and trial files need before they can look, each asked in one place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.rules._breaches import common_unit, groups, recorded
from slackwater.protocol.rules._outcome import Lack
from slackwater.protocol.rules._trials import compared, listed

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial


def reciprocal_runs(protocol: Protocol) -> Lack | None:
    """Runs out and back."""
    return None if protocol.runs.directions == "reciprocal" else Lack("runs go one way")


def two_configurations(protocol: Protocol) -> Lack | None:
    """Something to compare with."""
    several = len(set(protocol.sessions.order)) > 1
    return None if several else Lack("the order holds one configuration only")


def several_set_points(protocol: Protocol) -> Lack | None:
    """A sweep."""
    return None if len(protocol.set_point_values) > 1 else Lack("there is one set point only")


def rated(protocol: Protocol) -> Lack | None:
    """Something that people score."""
    return None if protocol.ratings is not None else Lack("nobody rates anything")


def scored(trial: Trial) -> Lack | None:
    """The same, for a trial."""
    return rated(trial.protocol)


def manoeuvred(protocol: Protocol) -> Lack | None:
    """A manoeuvre."""
    return None if protocol.manoeuvres else Lack("no manoeuvre is declared")


def tried(trial: Trial) -> Lack | None:
    """The same, for a trial."""
    return manoeuvred(trial.protocol)


def worthwhile_declared(protocol: Protocol) -> Lack | None:
    """A size to hold things against; the rule no-worthwhile-difference speaks where there is none."""
    declared = protocol.analysis.worthwhile
    return None if declared else Lack("no worthwhile difference is declared")


def limit_on(name: str) -> Callable[[Protocol], Lack | None]:
    """A limit; the rule that it is missing speaks where there is none."""

    def need(protocol: Protocol) -> Lack | None:
        words = name.replace("_", " ")
        return None if name in protocol.limits else Lack(f"no limit on {words} is declared")

    return need


def upper_limit_on(name: str) -> Callable[[Protocol], Lack | None]:
    """A limit that is an upper bound."""

    def need(protocol: Protocol) -> Lack | None:
        limit = protocol.limits.get(name)
        bound = limit is not None and (limit.at_most or limit.between)
        return None if bound else Lack(f"no upper limit on {name.replace('_', ' ')} is declared")

    return need


def begun(trial: Trial) -> Lack | None:
    """A session at least."""
    return None if trial.sessions else Lack("no session is in the file yet", "sessions")


def dated(trial: Trial) -> Lack | None:
    """A date for every session compared."""
    bare = [s.id for s in trial.sessions if s.configuration in compared(trial) and not s.day]
    if not bare:
        return begun(trial)
    return Lack(f"{listed(bare, 8)} without a date", "a date for every session")


def limits_of(group: str, *, compares: bool) -> Callable[[Trial], Lack | None]:
    """Limits of single sessions, or of the difference between configurations, to hold against.

    `group` is `loading` or `conditions`; empty for both.
    """

    def need(trial: Trial) -> Lack | None:
        if limits_recorded(trial, group, compares=compares):
            return begun(trial)
        kind = "the difference between configurations" if compares else "single sessions"
        return Lack(f"no limit on {kind} is declared{f' under {group}' if group else ''}")

    return need


def limits_recorded(trial: Trial, group: str, *, compares: bool) -> list[tuple[str, Limit]]:
    """The limits on what sessions record; what is read on every run is looked at with the runs."""
    return [
        (name, limit)
        for of, name, limit in groups(trial)
        if group in ("", of) and limit.compares == compares and name not in trial.protocol.measures
    ]


def unrecorded(trial: Trial, group: str, *, compares: bool) -> Iterator[Lack]:
    """Each limit that some session compared cannot be held against."""
    for name, limit in limits_recorded(trial, group, compares=compares):
        unit = common_unit(trial, name, limit)
        bare = [
            session.id
            for session in trial.sessions
            if session.configuration in compared(trial)
            and (unit is None or recorded(trial, session, name, unit) is None)
        ]
        if bare:
            words = name.replace("_", " ")
            yield Lack(f"{words} is not recorded in {listed(bare, 8)}", f"{words} of each session")
