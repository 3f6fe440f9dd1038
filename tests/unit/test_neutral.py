"""At equal engine speed, pairs that differ in what engine speed turns have no better side."""

from __future__ import annotations

from pathlib import Path

from slackwater.analysis.verdict.neutral import neutral_remarks
from slackwater.protocol.declared.trial import load_trial

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_a_pair_whose_propellers_differ_is_named_with_what_differs() -> None:
    (told,) = neutral_remarks(load_trial(EXAMPLES / "finer-pitch-propeller" / "trial.yaml"))
    assert "pitch" in told
    assert "higher or lower, and no gain or loss" in told


def test_nothing_is_said_where_the_drive_is_the_same() -> None:
    assert neutral_remarks(load_trial(EXAMPLES / "workboat-interceptors" / "trial.yaml")) == ()
