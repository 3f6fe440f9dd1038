"""Protocol and trial held against all rules, and the verdicts that broken limits take away."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.analysis.checking.method_rules import unknown_waiver
from slackwater.analysis.checking.registry import protocol_rules, run_rules
from slackwater.protocol.rules import trial_rules
from slackwater.protocol.rules._applied import Checked, protocol_rule_findings, sift
from slackwater.protocol.rules._breaches import pair_breaches, session_breaches

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import ComparisonPair, Trial
    from slackwater.protocol.findings import Finding


def check_protocol(protocol: Protocol) -> Checked:
    """Everything the rules find in a protocol: can this method show what it claims?"""
    return sift(protocol_rule_findings(protocol, protocol_rules()), protocol.waive)


def check_method(trial: Trial) -> Checked:
    """The same for the protocol of a trial, whose own waivers count too."""
    return sift(protocol_rule_findings(trial.protocol, protocol_rules()), trial.waivers)


def deviations(trial: Trial, runs: RunTable | None = None) -> Checked:
    """Where a trial, as run, departs from its protocol; without runs, as far as its file tells."""
    found: list[Finding] = []
    for rule in trial_rules():
        found += rule.check(trial)
    if runs is not None:
        for runs_rule in run_rules():
            found += runs_rule.check(trial, runs)
    found += unknown_waiver.unknown(trial.document, trial.waive)
    return sift(found, trial.waivers)


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
