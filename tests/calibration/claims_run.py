"""Ten thousand invented claims through the audit, and the table of what it makes of them.

python tests/calibration/claims_run.py [NUMBER] [SEED]
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from claims_generator import consistent
from claims_printed import Case
from claims_slips import KINDS, faulty

from slackwater.analysis.audit.arithmetic import check_arithmetic
from slackwater.analysis.audit.best_of_many import check_selection
from slackwater.analysis.audit.conflicts import conflicts_of, impossible_alone
from slackwater.analysis.audit.outcome import DISAGREES
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of


@dataclass
class Tally:
    """What became of the claims."""

    made: Counter[str] = field(default_factory=Counter)
    hidden: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    explained: Counter[str] = field(default_factory=Counter)
    accused_hidden: Counter[str] = field(default_factory=Counter)
    taken_for: Counter[tuple[str, str]] = field(default_factory=Counter)
    wrong: list[tuple[Case, str]] = field(default_factory=list)


def audit_case(case: Case) -> tuple[bool, str]:
    """Whether the audit finds that its figures cannot all be true, and the first explanation."""
    claims, findings = build_claims(document_of(case.data))
    if claims is None:
        raise ValueError(f"{case.data}: {findings[0].message}")
    found = [reason for one in check_arithmetic(claims) for reason in one]
    found += [reason for _, reason in impossible_alone(claims)]
    found += [reason for one in check_selection(claims) for reason in one]
    bad = [r.explanation for r in found if r.outcome == DISAGREES]
    bad += [conflict.explanation for _, conflict in conflicts_of(claims)]
    return bool(bad), bad[0] if bad else ""


def simulate(number: int, seed: int) -> Tally:
    """Half consistent claims, half with a planted slip, one kind after the other."""
    rng = random.Random(seed)
    tally = Tally()
    for index in range(number):
        case = consistent(rng) if index % 2 == 0 else faulty(rng, KINDS[index // 2 % len(KINDS)])
        kind = case.kind or "consistent"
        tally.made[kind] += 1
        accused, explanation = audit_case(case)
        if case.hidden:
            tally.hidden[kind] += 1
            tally.accused_hidden[kind] += accused
            if accused:
                tally.wrong.append((case, f"hidden, {explanation}"))
            continue
        tally.found[kind] += accused
        if kind == "consistent":
            if accused:
                tally.wrong.append((case, explanation))
            continue
        tally.explained[kind] += explanation == kind
        if explanation != kind:
            tally.taken_for[(kind, explanation or "nothing")] += 1
            tally.wrong.append((case, explanation))
    return tally


def table(tally: Tally) -> str:
    """The tally as text."""
    head = f"{'planted':16}{'made':>7}{'hidden':>8}{'seen':>7}{'found':>8}{'explained':>11}"
    lines = [head, "-" * len(head)]
    for kind in ("consistent", *KINDS):
        seen = tally.made[kind] - tally.hidden[kind]
        part = f"{100 * tally.explained[kind] / seen:.1f} %" if kind in KINDS and seen else ""
        lines.append(
            f"{kind:16}{tally.made[kind]:7}{tally.hidden[kind]:8}{seen:7}"
            f"{tally.found[kind]:8}{part:>11}"
        )
    seen = sum(tally.made[k] - tally.hidden[k] for k in KINDS)
    right = sum(tally.explained[k] for k in KINDS)
    lines.append("-" * len(head))
    lines.append(
        f"all slips: {100 * right / seen:.2f} % of {seen} with the right explanation first"
    )
    lines.append(f"hidden by rounding and yet accused: {sum(tally.accused_hidden.values())}")
    for (kind, other), count in tally.taken_for.most_common():
        lines.append(f"  {kind} taken for {other}: {count}")
    return "\n".join(lines)


if __name__ == "__main__":
    words = sys.argv[1:]
    outcome = simulate(int(words[0]) if words else 10_000, int(words[1]) if words[1:] else 20260601)
    print(table(outcome))
