"""Claims held against a pool: the mean over boats decides, and the next boat stands beside it."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_outcomes import asked, changes, entered, outcome

from slackwater.analysis.audit.with_pool import evidence_of_pool
from slackwater.analysis.cli import main
from slackwater.analysis.many.pool_result import PoolResult
from slackwater.analysis.many.pooling import pool_outcomes
from slackwater.protocol.claims.claim import Claim

POOL = Path(__file__).parents[2] / "examples" / "five-launches" / "pool.yaml"


@pytest.fixture(scope="module")
def pool() -> PoolResult:
    values = (0.028, 0.034, 0.030, 0.041, 0.033)
    return pool_outcomes(
        entered(*(outcome(f"b{n}", changes(v)) for n, v in enumerate(values))), asked()
    )


def claim(**more: object) -> Claim:
    return Claim.model_validate({"id": "c", "quantity": "speed", **more})


@pytest.mark.parametrize(
    ("stated", "verdict"),
    [
        ("at least 2 % more", "upheld"),
        ("at least 3 % more", "compatible"),
        ("10 % more", "overstated"),
        ("2 % less", "contradicted"),
        ("no change", "contradicted"),
    ],
)
def test_the_verdict_is_that_on_the_mean(stated: str, verdict: str, pool: PoolResult) -> None:
    found = evidence_of_pool(claim(stated={"change": stated}), pool, "nearest")
    row = pool.compared[0]
    assert found.verdict == verdict, found.why
    assert (found.low, found.high) == (row.low, row.high)
    assert "the trial" not in found.why
    assert [reason.check for reason in found.reasons] == ["against-data", "next-boat"]


def test_configurations_are_known_by_id_and_by_title(pool: PoolResult) -> None:
    for names in (
        {"baseline": "bare", "modified": "fitted"},
        {"baseline": "Bare", "modified": "Fitted"},
    ):
        assert evidence_of_pool(claim(stated={"change": "3 % more"}, **names), pool, "nearest").low
    other = claim(stated={"change": "3 % more"}, baseline="bare", modified="painted")
    assert evidence_of_pool(other, pool, "nearest").verdict == "untestable"


def test_what_a_pool_cannot_tell(pool: PoolResult) -> None:
    value = claim(stated={"modified": "17.1 kn"})
    assert "no values" in evidence_of_pool(value, pool, "nearest").why.lower()
    fuel = Claim.model_validate({"id": "f", "quantity": "range", "stated": {"change": "3 % more"}})
    assert "gives no range" in evidence_of_pool(fuel, pool, "nearest").why
    elsewhere = claim(stated={"change": "3 % more"}, at="3000 rpm")
    found = evidence_of_pool(elsewhere, pool, "nearest")
    assert found.verdict == "untestable"
    assert "2000 rpm" in found.why


def test_claims_that_name_a_trial_take_no_pool(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trial = POOL.parent / "first" / "trial.yaml"
    path = tmp_path / "claims.yaml"
    path.write_text(
        f"trial: {trial}\nclaims:\n  - {{id: a, quantity: speed, stated: {{change: 3 % more}}}}\n",
        encoding="utf-8",
    )
    assert main(["audit", str(path), "--pool", str(POOL)]) == 2
    assert "a pool is to take its place" in capsys.readouterr().err


def test_a_whole_audit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "claims.yaml"
    path.write_text(
        "claims:\n  - {id: a, quantity: economy, stated: {change: at least 1 % more}}\n",
        encoding="utf-8",
    )
    assert main(["audit", str(path), "--pool", str(POOL), "--format", "json"]) in (0, 1)
    assert '"trial": "five-launches"' in capsys.readouterr().out
