"""Claims without the runs behind them: bounds, noise alone, the best of several, what digits tell."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from audited_claims import audited, one

from slackwater.analysis.audit.best_of_many import best_of
from slackwater.analysis.audit.noise_without_data import Budget, reckon
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.protocol.claims.claim import Behind

EXAMPLES = Path(__file__).parents[2] / "examples"
TRIAL = str(EXAMPLES / "workboat-interceptors" / "trial.yaml")


@pytest.mark.parametrize(
    ("claim", "ends"),
    [
        ({"stated": {"change": "at least 3 %"}}, (0.03, None)),
        ({"quantity": "slip", "stated": {"difference": "at least 3 %"}}, (0.03, None)),
        # A bound is not rounded in its own favour: 320, and not 319.5, over 300.5.
        (
            {"quantity": "range", "stated": {"baseline": "300 nmi", "modified": "over 320 nmi"}},
            (320 / 300.5 - 1, None),
        ),
        (
            {"quantity": "range", "stated": {"baseline": "300 nmi", "difference": "over 20 nmi"}},
            (20 / 300.5, None),
        ),
    ],
)
def test_a_bound_without_data_is_weighed_by_the_size_that_it_names(
    claim: dict[str, Any], ends: tuple[float, None]
) -> None:
    found = one(claim, between="0.1 %")
    assert (found.stated_low, found.stated_high) == (pytest.approx(ends[0], rel=1e-9), ends[1])
    assert found.low is not None
    assert 0 < found.low < ends[0]


@pytest.mark.parametrize("change", ["no more than 3 % slower", "within 3 %", "no change"])
def test_a_margin_without_data_is_no_difference_that_noise_could_hide(change: str) -> None:
    found = one({"stated": {"change": change}}, between="5 %", behind_each_figure={"sessions": 2})
    assert found.verdict == "untestable"
    assert "stays within a margin" in found.why
    assert (found.low, found.high) == (None, None)


def test_bounds_on_both_values_state_no_change() -> None:
    values = {"baseline": "at least 13 kn", "modified": "at least 14 kn"}
    for more in ({}, {"trial": TRIAL}):
        found = one({"at": "2200 rpm", "stated": values}, **more)
        assert found.verdict == "untestable"
        assert "states no change" in found.why


def test_interval_without_data() -> None:
    # sqrt(2) x 1.5 % x 1.96 = 4.16 % either side of ln 1.05 = 4.879 % (check: +0.7 to +9.4 %).
    found = reckon(0.05, "ratio", "", Behind(sessions=1), Budget(0.015, 0.015))
    assert found.low == pytest.approx(0.0072, abs=5e-4)
    assert found.high == pytest.approx(0.0946, abs=5e-4)
    assert found.verdict == ""
    wider = reckon(0.05, "ratio", "", Behind(sessions=1), Budget(0.02, 0.02))
    assert wider.verdict == "within noise"
    more = reckon(0.05, "ratio", "", Behind(sessions=4), Budget(0.02, 0.02))
    assert more.verdict == ""
    either = reckon(0.05, "ratio", "", Behind(sessions=1), Budget(0.01, 0.03))
    assert either.verdict == ""  # the noise may be at the low end
    unknown = reckon(0.05, "ratio", "", Behind(), Budget(0.03, 0.03))
    assert unknown.verdict == ""  # nothing is known of the sessions


def test_few_known_sessions_widen_the_interval() -> None:
    sure = reckon(0.05, "ratio", "", Behind(sessions=2), Budget(0.01, 0.01))
    hardly = reckon(0.05, "ratio", "", Behind(sessions=2), Budget(0.01, 0.01, df=3.0))
    assert sure.low is not None
    assert hardly.low is not None
    assert hardly.low < sure.low


def test_runs_one_way() -> None:
    claim = {"stated": {"baseline": "16.2 kn", "modified": "17.1 kn"}, "at": "2400 rpm"}
    strong = {"sessions": 1, "directions": "one_way", "current": "0.5 kn"}
    assert one(claim, behind_each_figure=strong).verdict == "within noise"
    weak = {**strong, "current": "0.1 kn"}
    assert one(claim, behind_each_figure=weak).verdict == "untestable"


def test_nothing_known_gives_questions() -> None:
    found = one({"stated": {"change": "+5 %"}})
    assert found.verdict == "untestable"
    assert len(found.questions) >= 6
    assert any("sessions" in q for q in found.questions)
    assert any("which set point" in q for q in found.questions)


def test_best_of_several() -> None:
    # The median of the largest of n independent standard normals solves Phi(x)^n = 1/2.
    assert best_of(12).typical == pytest.approx(1.5882, abs=5e-5)
    assert best_of(1).typical == pytest.approx(0.0, abs=1e-12)
    assert best_of(12, shared=1.0).typical == pytest.approx(0.0, abs=1e-3)
    assert best_of(12, shared=0.5).typical < best_of(12).typical


def test_selection_is_told() -> None:
    points = [
        {"at": f"{rpm} rpm", "stated": {"change": c}}
        for rpm, c in ((1800, "+1 %"), (2200, "+6 %"), (2600, "+2 %"))
    ]
    whole = {"stated": {"change": "up to 9 %"}}
    unlike = {"at": "1400 rpm", "at_modified": "1500 rpm", "stated": {"change": "+7 %"}}
    found = audited(
        *points, whole, unlike, selection={"set_points": 12, "chosen": "afterwards"}
    ).claims
    checks = [[r.check for r in c.reasons] for c in found]
    assert "left-out" in checks[0]
    assert "chosen-afterwards" in checks[0]
    assert "best-of-several" in checks[3]
    assert "unlike-set-points" in checks[4]


def test_up_to_more_than_the_table_shows() -> None:
    points = [
        {"at": f"{rpm} rpm", "stated": {"change": c}} for rpm, c in ((1800, "+1 %"), (2200, "+6 %"))
    ]
    whole = {"stated": {"change": "up to 20 %"}}
    conflicts = audited(*points, whole).conflicts
    assert [c.claims for c in conflicts] == [("C3", "C1", "C2")]
    more = audited(*points, whole, selection={"set_points": 12})
    assert not more.conflicts  # the rest of the sweep is not published


def test_findings_on_digits_and_plausibility_are_no_verdict() -> None:
    claims = [
        {"at": "2400 rpm", "stated": {"baseline": "16.2034 kn", "modified": "17.1071 kn"}},
        {"quantity": "slip", "stated": {"baseline": "35 %", "modified": "32 %", "change": "-9 %"}},
        {"at": "2400 rpm", "stated": {"change": "+40 %"}},
        {"quantity": "slip", "stated": {"baseline": "85 %"}},
        {"quantity": "economy", "stated": {"baseline": "90 nmi/L"}},
        {"quantity": "speed", "at": "9 kn", "stated": {"baseline": "95 kn"}},
        {
            "quantity": "fuel_flow",
            "at": "3400 rpm",
            "stated": {"baseline": "95.0 L/h", "modified": "95.4 L/h", "change": "0.4 %"},
        },
    ]
    boat = {"waterline_length": "6 m", "fuel": "diesel", "engine_power": "150 kW"}
    found = audited(*claims, instruments={"speed": "0.05 kn"}, boat=boat).claims
    checks = [[r.check for r in c.reasons if r.outcome == "finding"] for c in found]
    assert "more-digits-than-carried" in checks[0]
    assert "percentage-of-a-percentage" in checks[1]
    assert "power-needed" in checks[2]
    assert "slip" in checks[3]
    assert "economy" in checks[4]
    assert "speed-for-length" in checks[5]
    assert "specific-consumption" in checks[6]
    assert all(c.verdict == "untestable" for c in found)
    for claim in found:
        for reason in claim.reasons:
            if reason.check in ("slip", "economy", "speed-for-length", "power-needed"):
                assert reason.source


@pytest.mark.parametrize("change", [0.055, -0.02])
def test_the_interval_without_data_is_that_of_one_session_each_and_prior_noise(
    change: float,
) -> None:
    """A claim's noise is reckoned as a trial's: the comparison itself, told the same noise."""
    budget = Budget(0.006, 0.006, within=0.004, df=11.0, told="earlier trials")
    behind = Behind.model_validate({"sessions": "1", "double_runs": "2"})
    told = reckon(change, "ratio", "", behind, budget)
    values = np.log([[20.0], [20.0 * (1 + change)]])
    found = compare(
        values,
        np.zeros(1),
        contrasts(["A", "B"], "A", "B", np.ones((2, 1), dtype=bool)),
        prior=PriorNoise(0.006**2, 0.0, 0.004**2 / 2, 11.0),
    )
    assert found is not None
    assert told.low == pytest.approx(float(np.expm1(found.low[0])), rel=1e-9)
    assert told.high == pytest.approx(float(np.expm1(found.high[0])), rel=1e-9)
