"""Files of claims: every fault told at once, each with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.claims.claims_file import load_claims
from slackwater.protocol.findings import Finding, InputError

HEAD = "behind_each_figure: {sessions: 1, double_runs: 1}\nclaims:\n"


def load(tmp_path: Path, body: str, head: str = HEAD) -> Claims:
    file = tmp_path / "claims.yaml"
    file.write_text(head + body, encoding="utf-8")
    return load_claims(file)


def faults(tmp_path: Path, body: str, head: str = HEAD) -> tuple[Finding, ...]:
    with pytest.raises(InputError) as caught:
        load(tmp_path, body, head)
    return caught.value.findings


def test_reads_the_claim_of_the_manual(tmp_path: Path) -> None:
    claims = load(
        tmp_path,
        "  - id: C1\n"
        "    quantity: speed\n"
        "    baseline: bare\n"
        "    modified: fitted\n"
        "    at: 2400 rpm\n"
        "    stated: {baseline: 16.2 kn, modified: 17.1 kn, difference: 0.9 kn, change: +5.6 %}\n",
    )
    claim = claims.claims[0]
    assert (claim.id, claim.baseline, str(claim.at)) == ("C1", "bare", "2400 rpm")
    assert [str(f) for f in claim.stated.figures.values()] == [
        "16.2 kn",
        "17.1 kn",
        "0.9 kn",
        "+5.6 %",
    ]
    assert claims.behind(claim).sessions == 1


def test_own_word_before_that_for_all(tmp_path: Path) -> None:
    claims = load(
        tmp_path,
        "  - {id: C1, quantity: speed, stated: {change: 5 %}, behind: {sessions: 4}}\n",
    )
    behind = claims.behind(claims.claims[0])
    assert (behind.sessions, behind.double_runs) == (4, 1)


@pytest.mark.parametrize(
    ("claim", "rule", "says"),
    [
        ("quantity: speed, stated: {baseline: 0 kn, modified: 3 kn}", "unfit-value", "above zero"),
        ("quantity: speed, stated: {baseline: -3 kn}", "unfit-value", "above zero"),
        ("quantity: speed, stated: {change: 1500 %}", "unfit-value", "1,000 %"),
        ("quantity: speed, stated: {change: -120 %}", "unfit-value", "nothing of the baseline"),
        ("quantity: speed, stated: {change: 3 kn}", "unfit-unit", "not a percentage"),
        ("quantity: speed, stated: {baseline: 17 L}", "unfit-unit", "a volume; speed is a speed"),
        ("quantity: speed, stated: {baseline: 17}", "unfit-unit", "has no unit"),
        ("quantity: economy, stated: {modified: 3 kn}", "unfit-unit", "distance per volume"),
        ("quantity: sped, stated: {change: 3 %}", "unknown-quantity", "'sped'"),
        ("quantity: speed, stated: {}", "unfit-value", "no figure is stated"),
        ("quantity: speed, stated: {difrence: 3 kn}", "unknown-key", "difrence"),
        ("quantity: speed, stated: {change: =1+1}", "unfit-value", "not a quantity"),
        ("quantity: speed, stated: {change: 1e999 %}", "unfit-value", "beyond anything"),
        ("quantity: slip, stated: {baseline: 0 %, change: 3 %}", "unfit-value", "no percentage"),
        (
            "quantity: speed, baseline: a, modified: a, stated: {change: 3 %}",
            "unfit-value",
            "compared with itself",
        ),
        (
            "quantity: speed, at: 2400 rpm, at_modified: 15 kn, stated: {change: 3 %}",
            "unfit-value",
            "'at' is in rpm",
        ),
        (
            "quantity: speed, stated: {change: 3 %}, beside: {baseline: {fuelflow: 3 L/h}}",
            "unknown-quantity",
            "'fuelflow'",
        ),
    ],
)
def test_each_fault_has_its_place(tmp_path: Path, claim: str, rule: str, says: str) -> None:
    found = faults(tmp_path, f"  - {{id: C1, {claim}}}\n")
    assert rule in [f.rule for f in found]
    one = next(f for f in found if f.rule == rule)
    assert says in one.message
    assert one.place is not None
    assert one.place.line == 3
    assert one.place.column is not None
    assert one.place.column > 1


def test_all_faults_at_once(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        "  - {id: C1, quantity: sped, stated: {baseline: 0 kn}}\n"
        "  - {id: C1, quantity: speed, stated: {change: 2000 %}}\n",
    )
    assert len(found) == 4
    assert {f.place.line for f in found if f.place} == {3, 4}


def test_slip_may_be_negative(tmp_path: Path) -> None:
    claims = load(
        tmp_path,
        "  - {id: C1, quantity: slip, stated: {baseline: -2 %, modified: 3 %, difference: 5 %}}\n",
    )
    assert len(claims.claims[0].stated.figures) == 3


def test_no_claim_at_all(tmp_path: Path) -> None:
    found = faults(tmp_path, "", "claims: []\n")
    assert [f.message for f in found] == ["there is no claim here; one at least is needed"]
