"""Protocol and trial held against all rules, and the verdicts that broken limits take away."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.analysis.checking.method_rules import unknown_waiver
from slackwater.analysis.checking.registry import protocol_rules, run_rules
from slackwater.protocol.rules import trial_rules
from slackwater.protocol.rules._applied import Checked, applied, unseen
from slackwater.protocol.rules._breaches import pair_breaches, session_breaches

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import ComparisonPair, Trial


def check_protocol(protocol: Protocol) -> Checked:
    """What comes of the rules on a protocol: can this method show what it claims?"""
    return applied(((rule, rule.said(protocol)) for rule in protocol_rules()), protocol.waive)


def check_method(trial: Trial) -> Checked:
    """The same for the protocol of a trial, whose own waivers count too."""
    said = ((rule, rule.said(trial.protocol)) for rule in protocol_rules())
    return applied(said, trial.waivers)


def deviations(trial: Trial, runs: RunTable | None = None) -> Checked:
    """Where a trial, as run, departs from its protocol; without runs, as far as its file tells."""
    return (
        applied(((rule, rule.said(trial)) for rule in trial_rules()), trial.waivers)
        + _of_runs(trial, runs)
        + _of_waivers(trial)
    )


def _of_runs(trial: Trial, runs: RunTable | None) -> Checked:
    if runs is None:
        return unseen(run_rules(), "the runs were not read", "runs that can be read")
    return applied(((rule, rule.said(trial, runs)) for rule in run_rules()), trial.waivers)


def _of_waivers(trial: Trial) -> Checked:
    """The trial's own waivers; those of its protocol are looked at with the protocol."""
    said = unknown_waiver.unknown(trial.document, trial.waive)
    return applied([(unknown_waiver.RULE, said)] if trial.waive else (), trial.waivers)


@dataclass(frozen=True, slots=True)
class Broken:
    """A limit on loading or conditions that a trial broke.

    Parameters
    ----------
    configurations : tuple of str
        Those whose comparisons it touches: one, or both of a pair.
    session : str
        The session outside its limit; empty where the difference of the two is.
    reason : str
    """

    configurations: tuple[str, ...]
    session: str
    reason: str

    def touches(self, pair: ComparisonPair) -> bool:
        """Whether a comparison lies across it."""
        sides = {pair.baseline, pair.modified}
        return set(self.configurations) <= sides


def broken_limits(trial: Trial, runs: RunTable) -> tuple[Broken, ...]:
    """The broken limits that forbid verdicts; none where the protocol says `report`.

    Waiving a rule silences it; the verdict comes back only with `limits_broken: report`, which has
    to be declared beforehand.
    """
    if trial.protocol.analysis.limits_broken == "report":
        return ()
    return tuple(_broken(trial, runs))


def _broken(trial: Trial, runs: RunTable) -> Iterator[Broken]:
    from slackwater.analysis.checking.run_rules._conditions import current_breaches, run_breaches

    fitted = {session.id: session.configuration for session in trial.sessions}
    for breach in session_breaches(trial):
        session = breach.sessions[0]
        yield Broken((fitted[session],), session, f"a limit was broken: {breach.text}")
    for breach in pair_breaches(trial):
        yield Broken(breach.pair or (), "", f"a limit was broken: {breach.text}")
    for outside in (*run_breaches(trial, runs), *current_breaches(trial, runs)):
        rows = f"{outside.rows[0][1]} at row {outside.rows[0][0]}"
        more = f" and {len(outside.rows) - 1} more" if len(outside.rows) > 1 else ""
        words = outside.name.replace("_", " ")
        reason = (
            f"a limit was broken: {words} of {rows}{more} in session {outside.session}; the limit "
            f"is {outside.limit}"
        )
        yield Broken((fitted[outside.session],), outside.session, reason)


def refused_positions(
    broken: tuple[Broken, ...], pair: ComparisonPair, table: SessionValues
) -> dict[int, str]:
    """The positions of a comparison on which no verdict may be given, with the reasons."""
    reasons: dict[int, list[str]] = {}
    for one in broken:
        if not one.touches(pair):
            continue
        for position in range(len(table.positions)):
            if one.session and not _has_value(table, one.session, position):
                continue
            reasons.setdefault(position, []).append(one.reason)
    return {position: _joined(list(dict.fromkeys(all_))) for position, all_ in reasons.items()}


def _has_value(table: SessionValues, session: str, position: int) -> bool:
    if session not in table.sessions:
        return False
    value = float(table.values[table.sessions.index(session), position])
    return not math.isnan(value)


def _joined(reasons: list[str]) -> str:
    first, *others = reasons
    if not others:
        return first
    rest = [reason.removeprefix("a limit was broken: ") for reason in others[:2]]
    more = f"; and {len(others) - 2} more" if len(others) > 2 else ""
    return "; ".join([first.replace("a limit was", "limits were", 1), *rest]) + more
