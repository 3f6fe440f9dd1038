"""The trial that a table of runs makes, sent along with an author's reply.

Nothing was declared beforehand that anybody could show, so the trial has no limits and no order to
depart from; its set points and sessions are those that the table has.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from slackwater.protocol.catalogue.recipes import powers
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.trial import Trial, build_trial
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import Quantity, same_dimension

if TYPE_CHECKING:
    from slackwater.protocol.claims.claim import Claims
    from slackwater.protocol.claims.reply import Reply
    from slackwater.protocol.starting_trial import Seen, SeenSession

#: What departs from a protocol of which nothing was declared is no departure.
_UNDECLARED = (
    "session-order",
    "sessions-extra",
    "sessions-missing",
    "runs-extra",
    "runs-missing",
    "set-point-order",
    "first-direction",
    "separate-instruments",
    "set-point-not-measured",
)
_HELD = (("engine_speed", "rpm"), ("speed", "kn"), ("throttle", "%"))


def trial_of(claims: Claims, reply: Reply) -> Trial:
    """The trial of the table that a reply names.

    Raises
    ------
    InputError
        When the table cannot be read, or does not tell which session had which configuration.
    """
    from slackwater.analysis.intake.proposing import propose
    from slackwater.analysis.intake.tables import read_runs

    table = reply.document.folder / (reply.runs or "")
    first = _protocol(claims, [])
    seen, _ = propose(table, first)
    trial = _trial(claims, reply, first, seen)
    points = sorted(set(read_runs(trial).columns["set_point"]))
    return _trial(claims, reply, _protocol(claims, points), seen)


def _protocol(claims: Claims, points: Sequence[float]) -> Protocol:
    of, unit = _held(claims)
    behind = claims.behind_each_figure
    one_way = behind is not None and behind.directions == "one_way"
    measured = {"speed_over_ground", *(p for c in claims.claims for p in _measured(c.quantity))}
    return Protocol.model_validate(
        {
            "protocol": "as-replied",
            "runs": {
                "set_points": {
                    "of": of,
                    "values": [str(Quantity(point, unit)) for point in points] or [f"1 {unit}"],
                },
                "directions": "one_way" if one_way else "reciprocal",
                "double_runs": (behind.double_runs if behind else None) or 1,
            },
            "measures": {name: {} for name in sorted(measured)},
            "analysis": {"current": "none"} if one_way else {},
        }
    )


def _held(claims: Claims) -> tuple[str, str]:
    """What the claims' places are set points of, and its unit."""
    units = [claim.at.unit for claim in claims.claims if claim.at is not None]
    for of, unit in _HELD:
        if any(same_dimension(each, unit) for each in units):
            return of, unit
    return _HELD[0]


def _measured(quantity: str) -> list[str]:
    """What has to be read on every run for a quantity; speed is read over the ground."""
    parts = powers(quantity, {"speed_over_ground", "fuel_flow"})
    return ["speed_over_ground" if name == "speed" else name for name in parts]


def _trial(claims: Claims, reply: Reply, protocol: Protocol, seen: Seen) -> Trial:
    sessions = [_session(reply, each) for each in seen.sessions]
    pairs = dict.fromkeys((claim.baseline, claim.modified) for claim in claims.claims)
    fitted = dict.fromkeys(
        [*(name for pair in pairs for name in pair), *(s["configuration"] for s in sessions)]
    )
    data: dict[str, Any] = {
        "trial": "as-replied",
        "protocol": protocol,
        "configurations": {name: {} for name in fitted},
        "comparisons": [{"baseline": one, "modified": other} for one, other in pairs],
        "sessions": sessions,
        "runs": str(reply.runs),
        "waive": [
            {"rule": rule, "reason": "the table came with a reply, and nothing was declared"}
            for rule in (*_UNDECLARED, *_of_what_is_missing())
        ],
        **_words(seen),
    }
    trial, findings = build_trial(replace(reply.document, data=data))
    if trial is None:
        raise InputError(findings)
    return trial


def _of_what_is_missing() -> list[str]:
    """The rules that something was not declared."""
    from slackwater.analysis.checking.registry import protocol_rules

    return [rule.id for rule in protocol_rules() if rule.id.startswith("no-")]


def _words(seen: Seen) -> dict[str, Any]:
    """What is to be read into the table's own words."""
    data: dict[str, Any] = {
        "columns": {n: t[0] if len(t) == 1 else list(t) for n, t in seen.columns.items()},
        "units": dict(seen.units),
        "directions": dict(seen.directions),
        "dates": seen.dates,
    }
    return {key: value for key, value in data.items() if value}


def _session(reply: Reply, seen: SeenSession) -> dict[str, str]:
    said = reply.sessions.get(seen.id)
    configuration = (said.configuration if said else "") or seen.configuration
    if not configuration:
        raise InputError([_unknown(reply, seen.id)])
    date = (said.date.isoformat() if said and said.date else "") or seen.date
    found = {"id": seen.id, "configuration": configuration, "date": date}
    return {key: value for key, value in found.items() if value}


def _unknown(reply: Reply, session: str) -> Finding:
    return Finding(
        "session-unknown",
        Severity.ERROR,
        f"the table sent along does not tell which configuration session {session} had",
        f"add a column 'configuration' to the table, or 'sessions: {{{session}: {{configuration: "
        "...}}' to the reply",
        reply.document.place(("runs",)),
    )
