"""The sessions were run in another order than declared."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun
from slackwater.protocol.rules._trials import compared, in_order_of_time, letters, listed, touched


def subsequence(part: str, whole: str) -> bool:
    """Whether the letters of one order stand in the other in the same order."""
    rest = iter(whole)
    return all(letter in rest for letter in part)


def check(trial: Trial) -> Found:
    names, wanted = letters(trial), trial.protocol.sessions.order
    taking_part = compared(trial)
    ordered = [s for s in in_order_of_time(trial) if s.configuration in taking_part]
    run = "".join(names[session.configuration] for session in ordered)
    # Missing and added sessions have rules of their own.
    if not run or subsequence(run, wanted) or subsequence(wanted, run):
        return
    key = ", ".join(f"{names[name]} {name}" for name in taking_part)
    ids = [session.id for session in ordered]
    yield RULE.found(
        trial.document.place(("sessions",)),
        f"the sessions were run in the order {run} ({key}: {listed(ids, 8)}); declared is "
        f"{wanted}{touched(trial, ids)}",
    )


RULE = TrialRule(
    id="session-order",
    severity=Severity.WARNING,
    title="The sessions were run in another order than declared.",
    looks_at=(
        "sessions",
        "protocol.sessions.order",
    ),
    why=(
        "The order decides which drifts cancel: fouling, wear, warming water, practice. An "
        "order changed on the way may have been changed for a reason that touches the result."
    ),
    fix="say in the report why; where the dates are wrong, correct them",
    source=("common practice; R. A. Fisher, The Design of Experiments (1935): order by chance"),
    passes=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    fails=Example(protocol="sessions: {per_configuration: 3, order: AABBAB}"),
    check=check,
    needs=(begun,),
)
