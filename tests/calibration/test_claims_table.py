"""What the verdicts on claims promise: a sample of the table that `claims_table.py` prints, and all of it."""

from __future__ import annotations

import pytest
from claims_table import ROWS, Outcome, outcomes


@pytest.fixture(scope="module")
def sample() -> tuple[list[Outcome], int]:
    return outcomes(30, 5, orders=("ABBAAB",))


def test_no_claim_that_the_trial_rules_out_is_let_through(
    sample: tuple[list[Outcome], int],
) -> None:
    found, let_through = sample
    assert len(found) == len(ROWS)
    assert let_through == 0


def test_every_row_of_the_table_keeps_its_promise(sample: tuple[list[Outcome], int]) -> None:
    for one in sample[0]:
        assert one.trials > 20
        assert one.keeps(3), (one.row.name, one.row.change, one.share)


@pytest.mark.full
@pytest.mark.parametrize("order", ["ABBAAB", "ABBAABBA"])
def test_the_table_in_full(order: str) -> None:
    found, let_through = outcomes(400, 20260601, orders=(order,))
    assert let_through == 0
    for one in found:
        assert one.trials >= 300
        assert one.keeps(), (one.row.name, one.row.change, one.share)
