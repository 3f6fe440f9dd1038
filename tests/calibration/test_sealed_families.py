"""What is found afterwards is one family: simulated trials in which nothing had changed.

Every sweep goes through `compare`, as those of a trial do, at the confidence that `terms_of` gives.
"""

from __future__ import annotations

import numpy as np
import pytest

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.verdict.terms import terms_of
from slackwater.protocol.declared.protocol import load_protocol

TRIALS, SWEEPS, SET_POINTS = 4000, 8, 3
FITTED = list("ABBAAB")


def _table() -> SessionValues:
    shape = (len(FITTED), SET_POINTS)
    points = np.arange(1.0, SET_POINTS + 1)
    return SessionValues(
        quantity="torque",
        unit="N*m",
        scale="ratio",
        better=None,
        sessions=tuple(f"S{n}" for n in range(1, len(FITTED) + 1)),
        positions=points,
        labels=tuple(f"{p:g} rpm" for p in points),
        values=np.ones(shape),
        run_variance=np.zeros(shape),
        double_runs=np.full(shape, 2),
        instrument_variance=np.zeros(SET_POINTS),
    )


def _false_alarms(confidence: float) -> float:
    """Chance that any of the sweeps of a trial shows what is not there."""
    rng = np.random.default_rng(20260504)
    present = np.ones((len(FITTED), SET_POINTS), dtype=bool)
    layout = contrasts(FITTED, "A", "B", present)
    any_found = np.zeros(TRIALS, dtype=bool)
    for _ in range(SWEEPS):
        shared = rng.normal(0, 0.006, (TRIALS, len(FITTED), 1))
        values = shared + rng.normal(0, 0.004, (TRIALS, *present.shape))
        found = compare(values, np.zeros((TRIALS, SET_POINTS)), layout, confidence=confidence)
        assert found is not None
        any_found |= found.established.any(axis=-1)
    return float(any_found.mean())


def test_a_search_through_eight_quantities_keeps_the_error_of_one_family() -> None:
    protocol = load_protocol("two-way-sweep")
    declared = terms_of(protocol, _table(), SWEEPS, None, True)
    afterwards = terms_of(protocol, _table(), SWEEPS, None, False)
    assert declared.confidence == pytest.approx(0.95)
    assert afterwards.confidence == pytest.approx(1 - 0.05 / SWEEPS)
    error = np.sqrt(0.05 * 0.95 / TRIALS)  # Monte Carlo
    assert _false_alarms(afterwards.confidence) < 0.05 + 3 * error
    # At the confidence of a single sweep, eight independent ones go wrong far more often; at 0.05
    # each it would be 1 - 0.95^8 = 0.34.
    assert _false_alarms(declared.confidence) > 0.15


def test_what_is_found_afterwards_is_a_family_whatever_the_protocol_says() -> None:
    protocol = load_protocol("two-way-sweep")
    analysis = protocol.analysis.model_copy(update={"family": "single"})
    single = protocol.model_copy(update={"analysis": analysis})
    assert not terms_of(single, _table(), SWEEPS, None, True).simultaneous
    assert terms_of(single, _table(), SWEEPS, None, False).simultaneous
    analysis = protocol.analysis.model_copy(update={"family": "all"})
    together = protocol.model_copy(update={"analysis": analysis})
    assert terms_of(together, _table(), 2, None, True).confidence == pytest.approx(0.975)
