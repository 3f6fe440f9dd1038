"""A file of the wrong kind is told in one line, with the command that takes it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from slackwater.protocol.claims.claims_file import load_claims
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import InputError
from slackwater.protocol.library import shipped

EXAMPLES = Path(__file__).parents[2] / "examples"
TRIAL = EXAMPLES / "workboat-interceptors" / "trial.yaml"
CLAIMS = EXAMPLES / "published-article" / "honest.yaml"
PROTOCOL = shipped()["two-way-sweep"]


@pytest.mark.parametrize(
    ("load", "path", "said"),
    [
        (load_trial, PROTOCOL, "this is a protocol; a trial is needed here"),
        (load_trial, CLAIMS, "this is a file of claims; a trial is needed here"),
        (load_protocol, TRIAL, "this is a trial; a protocol is needed here"),
        (load_claims, TRIAL, "this is a trial; a file of claims is needed here"),
    ],
)
def test_told_once(load: Callable[[Path], object], path: Path, said: str) -> None:
    with pytest.raises(InputError) as caught:
        load(path)
    assert [finding.message for finding in caught.value.findings] == [said]
    assert "slackwater " in caught.value.findings[0].fix
