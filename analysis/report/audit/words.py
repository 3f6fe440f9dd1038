"""The words of the letter: what a layman reads of an audit."""

from __future__ import annotations

import re

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.outcome import (
    AGREES,
    DISAGREES,
    FINDING,
    OPEN,
    VERDICTS,
    AuditResult,
    ClaimAudit,
    Reason,
)
from slackwater.analysis.wording.numbers import MISSING, NBSP

#: Each verdict as a sentence that needs no statistician.
MEANINGS: dict[str, str] = {
    "upheld": "The runs behind the claim bear it out, as it is stated.",
    "compatible": "The claim fits the runs, which leave open whether it is as large as stated.",
    "understated": "There is a real difference, and it is larger than stated.",
    "overstated": "What is real in it is smaller than stated.",
    "within noise": "The runs neither show what is claimed nor rule it out.",
    "refuted": "The runs rule out what is claimed.",
    "contradicted": "The runs show the opposite of what is claimed.",
    "inconsistent": "The figures of the claim cannot all be true at once.",
    "untestable": "The claim cannot be tested, either way, with what is at hand.",
}
#: What "within noise" means where no runs are at hand.
NOISE_ALONE = "The difference is no larger than chance alone would make it."
#: Signs for the verdicts, so that colour is not needed to tell them apart.
MARKS: dict[str, str] = {
    "upheld": "✓",
    "compatible": "≈",
    "understated": "△",
    "overstated": "▽",
    "within noise": "○",
    "refuted": "⊘",
    "contradicted": "✕",
    "inconsistent": "≠",
    "untestable": "?",
}
LIMITS = (
    "An audit tells what the published figures and the runs at hand can carry. It is no judgement of "
    "a person or a product, and an untestable claim may well be true. What holds for this boat in "
    "these conditions need not hold for another; aboard, local rules, the skipper's judgement and "
    "licensed practice come before any figure."
)
_HEADINGS = {
    "against-data": "The runs behind it",
    "stated-value": "The values stated",
    "on-the-day": "On the day",
    "ratings": "The raters",
    "manoeuvres": "How it was tried",
    "next-boat": "The next boat",
    "conditions": "Conditions",
    "noise": "Noise",
    "vanishing-noise": "What noise would hide it",
    "sessions-needed": "What it takes",
    "sessions": "Sessions",
    "one-way": "Runs one way",
    "best-of-several": "Best of several",
    "left-out": "Left out",
    "whole-sweep": "The whole sweep",
    "up-to": "Up to",
    "chosen-afterwards": "Chosen afterwards",
    "unlike-set-points": "Different set points",
    "stated-twice": "Stated twice",
    "together": "With the other claims",
    "difference": "The difference",
    "percentage": "The percentage",
    "all-at-once": "All figures at once",
    "round-figures": "Round figures",
}


def heading(reason: Reason) -> str:
    """The name of a check as people read it."""
    plain = reason.check.replace("-", " ")
    return _HEADINGS.get(reason.check, plain[:1].upper() + plain[1:])


def outcome(reason: Reason) -> str:
    """What a check came to, in a word or two."""
    return {AGREES: "agrees", DISAGREES: "does not agree", FINDING: "note", OPEN: "open"}.get(
        reason.outcome, reason.outcome
    )


def count(number: int, noun: str) -> str:
    """The number with its noun."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def seals(result: AuditResult) -> list[str]:
    """What seals say of the claims and of the protocol, a sentence each; none without a seal."""
    return list(dict.fromkeys(said.sentence for _, said in result.seals if said.sentence))


def replied(result: AuditResult) -> list[str]:
    """What the author replied to a letter; nothing where there was no reply."""
    reply = result.reply
    if reply is None:
        return []
    who = f" by {reply.by}" if reply.by else ""
    told = [f"The reply{who} ({reply.file}) is counted in, as its author gives it."]
    told += [
        f"{finding.message[:1].upper()}{finding.message[1:]}."
        for finding in result.findings
        if finding.rule.startswith("reply-")
    ]
    return told + [f"{question} {answer}" for question, answer in reply.answers]


def summary(result: AuditResult) -> str:
    """The first sentences of the letter."""
    together = [
        f"{' and '.join([', '.join(c.claims[:-1]), c.claims[-1]])} cannot "
        f"{'both' if len(c.claims) == 2 else 'all'} be true."
        for c in result.conflicts
    ]
    return " ".join([_counted(result), *together])


def _counted(result: AuditResult) -> str:
    """How many claims have which verdict."""
    total = len(result.claims)
    counts = result.counts
    if len(counts) == 1:
        word = next(iter(counts))
        return f"The one claim is {word}." if total == 1 else f"All {total} claims are {word}."
    parts = []
    for word in VERDICTS:
        if word in counts:
            verb = "is" if counts[word] == 1 else "are"
            parts.append(f"{counts[word]} {verb} {word}")
    listed = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return f"Of {count(total, 'claim')}, {listed}."


def meaning(result: AuditResult, claim: ClaimAudit) -> str:
    """The verdict of a claim as a sentence that needs no statistician."""
    if claim.verdict == "within noise" and not result.trial:
        return NOISE_ALONE
    return MEANINGS[claim.verdict]


def short(result: AuditResult, claim: ClaimAudit) -> str:
    """The verdict in a sentence or two that need no statistician."""
    text = meaning(result, claim)
    if claim.verdict == "inconsistent":
        likely = next((r.likely for r in claim.reasons if r.likely), "")
        if likely:
            return f"{text} The likeliest slip: {likely}."
        wrong = next((r.message for r in claim.reasons if r.outcome == DISAGREES), "")
        return f"{text} {wrong}"
    if claim.verdict == "untestable" and (result.trial or not claim.stated):
        return f"{text} {claim.why}"
    if claim.verdict == "refuted" and (off := _value_off(claim)):
        return f"{text} {off}"
    if not result.trial or claim.recomputed is None or claim.low is None:
        return text
    numbers = dict(figures(claim, has_data=True))
    if is_value(claim):
        return f"{text} The runs give {numbers['recomputed']} ({numbers['interval']})."
    given = shown.change(claim.recomputed, claim.unit)
    interval = shown.interval(claim.low, claim.high, claim.unit)
    return f"{text} The runs give {given}, and at {100 * result.confidence:.3g} % confidence {interval}."


def _value_off(claim: ClaimAudit) -> str:
    """What is said of a stated value that the runs rule out; empty where none is."""
    return next(
        (r.message for r in claim.reasons if r.check == "stated-value" and r.outcome == FINDING), ""
    )


def subject(result: AuditResult, claim: ClaimAudit) -> str:
    """What a claim is about, in a line."""
    title = claim.quantity.replace("_", " ")
    at = "" if not claim.at else f" at {claim.at}" if claim.at[0].isdigit() else f", {claim.at}"
    if not claim.baseline:
        return f"{title or 'a claim'}{at}"
    names = [result.names.get(name, name) for name in (claim.modified, claim.baseline)]
    return f"{title}{at}: {names[0]} against {names[1]}"


def stated(claim: ClaimAudit) -> str:
    """The figures of a claim as they were printed, in a line."""
    if not claim.stated:
        return "not read"
    figures = {k: re.sub(r"(?<=[0-9]) (?=[^0-9 ])", NBSP, text) for k, text in claim.stated.items()}
    parts = []
    if "baseline" in figures and "modified" in figures:
        parts.append(f"{figures['baseline']} to {figures['modified']}")
    else:
        parts += [f"{name} {figures[name]}" for name in ("baseline", "modified") if name in figures]
    if "difference" in figures:
        parts.append(f"a difference of {figures['difference']}")
    if "change" in figures:
        parts.append(figures["change"])
    return "; ".join(parts)


def is_value(claim: ClaimAudit) -> bool:
    """Whether the claim states a value and no change."""
    names = claim.stated.keys()
    return not ({"change", "difference"} & names or {"baseline", "modified"} <= names)


def figures(claim: ClaimAudit, *, has_data: bool) -> list[tuple[str, str]]:
    """Stated, recomputed and interval, each with its name."""
    if is_value(claim):
        unit = shown.unit_of(claim.unit)
        numbers = (claim.recomputed, claim.low, claim.high)
        mean, low, high = ("" if v is None else f"{v:.4g}".replace("-", "−") for v in numbers)
        return [
            ("stated", stated(claim)),
            ("recomputed", f"{mean}{unit}" if mean else MISSING),
            ("interval", f"{low} to {high}{unit}" if low and high else MISSING),
        ]
    rows = [("stated", stated(claim))]
    ends = (claim.stated_low, claim.stated_high)
    if ends == (None, None):
        change = MISSING
    else:
        change = shown.stated_range(shown.span_from(*ends), claim.unit)
    rows.append(("stated change, with its rounding", change))
    rows.append(
        (
            "recomputed from the runs" if has_data else "follows from the two values",
            shown.change(claim.recomputed, claim.unit),
        )
    )
    if claim.stated_over_measured is not None:
        rows.append(("stated over measured", shown.times(claim.stated_over_measured)))
    interval = "interval of the trial" if has_data else "interval with the noise reckoned with"
    rows.append((interval, shown.interval(claim.low, claim.high, claim.unit)))
    return rows


def settles(claim: ClaimAudit) -> list[str]:
    """What would settle a claim, each thing once."""
    if claim.verdict == "upheld":
        return []
    found = [r.settle for r in claim.reasons if r.settle]
    if claim.verdict in ("within noise", "untestable"):
        needed = [r.message for r in claim.reasons if r.check == "sessions-needed"]
        found += [n[:1].lower() + n[1:].rstrip(".") for n in needed]
        if any(r.check == "conditions" for r in claim.reasons):
            found.append("sessions that keep to the limits of the protocol")
        elif not found:
            found.append(
                "more sessions with each configuration, planned for a difference this size"
            )
    return list(dict.fromkeys(found))
