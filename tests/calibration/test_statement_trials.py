"""Every line of a statement is upheld by the audit, and none says what the analysis does not."""

from __future__ import annotations

import pytest
from statement_trials import Tally, statements

SEED = 20261126


def _all_hold(tally: Tally) -> None:
    assert tally.not_upheld == []
    assert tally.beyond == []
    # What could not fail would show nothing: the draw has to bring every kind of line.
    assert {"not shown", "range", "within", "size"} <= set(tally.said)
    assert tally.claims > 20 * tally.trials


def test_statements_of_a_few_trials_hold() -> None:
    _all_hold(statements(3, SEED))


@pytest.mark.full
def test_statements_of_500_trials_hold() -> None:
    _all_hold(statements(500, SEED))


def test_a_claim_that_says_more_is_noticed() -> None:
    """The check can fail: a claim made half as large again is no longer upheld by the audit."""
    import tempfile
    from pathlib import Path

    import numpy as np
    import yaml
    from statement_trials import draw

    import slackwater
    from slackwater.analysis.statement.claims_file import claims_text

    found = 0
    for number in range(2):
        with tempfile.TemporaryDirectory() as folder:
            trial = draw(np.random.default_rng((SEED, number)), Path(folder))
            data = yaml.safe_load(claims_text(slackwater.statement(trial), trial, folder))
            for claim in data["claims"]:
                (side, stated), *_ = claim["stated"].items()
                if side in ("baseline", "modified"):
                    number_, unit = stated.split(" ", 1)
                    claim["stated"][side] = f"{1.5 * float(number_):.2f} {unit}"
            file = Path(folder) / "claims.yaml"
            file.write_text(yaml.safe_dump(data), encoding="utf-8")
            found += sum(one.verdict != "upheld" for one in slackwater.audit(file).claims)
    assert found > 25
