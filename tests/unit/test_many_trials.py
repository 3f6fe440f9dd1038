"""The method's own performance from invented outcomes: reference boat, groups of noise, noise for a plan."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_outcomes import outcome
from jsonschema import Draft202012Validator

from slackwater.analysis.cli import main
from slackwater.analysis.many.method_result import method_of
from slackwater.analysis.many.noise_groups import (
    for_plans,
    group_of,
    noise_by,
)
from slackwater.analysis.many.outcome import Outcome, SessionLevel
from slackwater.analysis.many.reference_boat import (
    SeriesError,
    reference_chart,
    reference_precision,
    series_of,
)
from slackwater.analysis.many.trial_scatter import scatter_of_trials
from slackwater.analysis.planning.noise_budget import BETWEEN
from slackwater.analysis.planning.noise_sums import NoiseSums
from slackwater.analysis.planning.run_deviations import Scatter
from slackwater.analysis.report.noise.yaml_block import block

POINTS = ("1500 rpm", "2000 rpm", "2500 rpm")
USUAL = (8.0, 11.0, 15.0)


def level(session: str, day: str, off: float, **more: object) -> SessionLevel:
    """A session that lay off by a fraction at all set points."""
    made = SessionLevel(
        session=session,
        configuration="bare",
        day=day,
        quantity="speed",
        unit="kn",
        scale="ratio",
        at=POINTS,
        values=tuple(value * math.exp(off) for value in USUAL),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def reference(
    trials: int, sessions: int, shift_from: int, shift: float, seed: int = 3
) -> list[Outcome]:
    """Trials of a reference boat, a month apart, that lies lower from one of them on."""
    rng = np.random.default_rng(seed)
    found = []
    for n in range(trials):
        month = f"{2020 + n // 12}-{n % 12 + 1:02d}"
        off = shift if n >= shift_from else 0.0
        levels = tuple(
            level(f"S{s}", f"{month}-{5 + s:02d}", off + 0.004 * rng.standard_normal())
            for s in range(sessions)
        )
        found.append(outcome(f"r{n}", (), boat="Reference", levels=levels))
    return found


def sums(between: float, df: float = 4.0, **more: object) -> NoiseSums:
    """A trial whose sessions have that variance between them."""
    made = NoiseSums(
        quantity="speed", unit="", scale="ratio", sessions=6, cells=18, between=between * df,
        between_df=df, specific=8 * 1e-6, specific_df=8.0, unit_share=1.0, runs=0.0,
        scatter=Scatter(1e-4, 20.0, 2e-4, 20.0, 0.5),
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def test_a_shift_of_the_reference_boat_is_dated() -> None:
    series = series_of(reference(16, 2, shift_from=10, shift=-0.012), "reference")
    found = reference_chart(series, reference=16)
    assert found.shift_begins is not None
    assert found.shift_begins[:7] in ("2020-11", "2020-12")  # the eleventh trial, or the next
    assert found.shift_told is not None
    assert found.shift_told >= found.shift_begins
    shift = found.chart.shift
    assert shift is not None
    assert shift.low < -0.012 < shift.high
    json.dumps(found.to_dict(), allow_nan=False)


def test_a_steady_boat_has_no_shift() -> None:
    series = series_of(reference(16, 2, shift_from=99, shift=0.0), "Reference")
    found = reference_chart(series)
    assert found.shift_begins is None
    assert found.to_dict()["shift"] is None


def test_sessions_that_give_no_level_are_told() -> None:
    trials = reference(6, 2, 99, 0.0)
    odd = (
        level("X", "", 0.0),
        level("Y", "2021-01-01", 0.0, at=("900 rpm",), values=(5.0,)),
    )
    extra = outcome("odd", (), boat="Reference", levels=odd)
    series = series_of([*trials, extra], "Reference")
    assert {name for name, _ in series.left_out} == {"odd, X", "odd, Y"}
    assert len(series.points) == 12


def test_the_same_trial_twice_counts_once() -> None:
    trials = reference(6, 2, 99, 0.0)
    assert len(series_of([*trials, replace(trials[0], trial="again")], "Reference").points) == 12


def test_a_boat_that_is_not_there() -> None:
    with pytest.raises(SeriesError, match="there are Reference"):
        series_of(reference(3, 2, 99, 0.0), "Other")
    with pytest.raises(SeriesError, match="no session of nothing"):
        series_of(reference(3, 2, 99, 0.0), "Reference", configuration="nothing")
    with pytest.raises(SeriesError, match="needed at least"):
        reference_chart(series_of(reference(2, 1, 99, 0.0), "Reference"))


def test_precision_of_the_method_by_trials() -> None:
    trials = reference(8, 3, 99, 0.0)
    off = tuple(replace(each, values=tuple((v or 0) * 1.06 for v in each.values))
                for each in trials[5].levels)  # fmt: skip
    trials[5] = replace(trials[5], levels=off)
    found = reference_precision(series_of(trials, "Reference"))
    assert found.furthest == "r5"
    assert found.grubbs_p < 0.01
    assert [o.trial for o in found.occasions if o.h_remark] == ["r5"]
    assert found.precision.repeatability == pytest.approx(0.004, rel=0.4)
    assert found.precision.reproducibility > 2 * found.precision.repeatability
    assert found.cochran_p > 0.01


@pytest.mark.parametrize(
    ("kind", "more", "name"),
    [
        ("boat", {"waterline_length": 9.1}, "6 to 12 m"),
        ("boat", {"waterline_length": None, "length_overall": 30.0}, "over 24 m"),
        ("boat", {"waterline_length": None}, None),
        ("sea", {"wave_height": 0.3}, "2, 0.1 to 0.5 m"),
        ("sea", {}, None),
        ("season", {"first_day": "2026-12-01", "last_day": "2027-02-20"}, "December to February"),
        ("season", {"first_day": "2026-05-01", "last_day": "2026-07-01"}, None),
    ],
)
def test_groups(kind: str, more: dict[str, object], name: str | None) -> None:
    assert group_of(outcome("a", (), **more), kind) == name  # type: ignore[arg-type]


def test_noise_by_class_of_boat() -> None:
    small = [outcome(f"s{n}", (), waterline_length=5.0, noise=(sums(4e-4),)) for n in range(3)]
    large = [outcome(f"l{n}", (), waterline_length=20.0, noise=(sums(1e-4),)) for n in range(3)]
    groups = noise_by([*large, *small], "boat")
    assert [group.name for group in groups] == ["up to 6 m", "12 to 24 m"]
    values = [group.budgets[0].component(BETWEEN) for group in groups]
    assert values[0].value == pytest.approx(math.sqrt(4e-4 - 1e-6))
    assert values[1].value == pytest.approx(math.sqrt(1e-4 - 1e-6))
    assert values[0].low is not None
    assert values[0].df == 12


def test_a_trial_that_scatters_more_than_the_others_stands_out() -> None:
    trials = [outcome(f"t{n}", (), noise=(sums(1e-4),)) for n in range(6)]
    wild = outcome("wild", (), noise=(sums(40e-4),))
    found = scatter_of_trials([*trials, wild])
    assert [each.trial for each in found if each.stands_out] == ["wild"]
    assert found[0].times == pytest.approx(math.sqrt(40))


def test_noise_for_a_plan_tells_what_it_is_not_made_of() -> None:
    fits = [outcome(f"t{n}", (), noise=(sums(1e-4),)) for n in range(3)]
    twin = replace(fits[0], trial="twin")
    lone = outcome("lone", (), noise=(sums(0.0, 0.0),))
    other = outcome("other", (), waterline_length=30.0, noise=(sums(9e-4),))
    found = for_plans([*fits, twin, lone, other], fits=lambda o: group_of(o, "boat") == "6 to 12 m")
    assert found.noise.trials == ("t0", "t1", "t2")
    reasons = dict(found.left_out)
    assert "those of t0" in reasons["twin"]
    assert "two sessions" in reasons["lone"]
    assert "another kind" in reasons["other"]
    text = block(found.noise)
    assert "sessions: 13" in text
    assert "between_sessions: 0.99 %" in text or "between_sessions: 1.0 %" in text


def test_the_answer_of_a_method_prints_and_is_described() -> None:
    trials = [
        replace(each, noise=(sums(1e-4),), wave_height=0.2)
        for each in reference(16, 2, shift_from=10, shift=-0.012)
    ]
    found = method_of(trials, "sea", "Reference")
    text = " ".join(str(found).split())
    assert "SHIFTED" in text
    assert found.chart is not None
    assert str(found.chart.shift_begins) in text
    assert "repeatability" in text
    assert "2, 0.1 to 0.5 m" in text
    from slackwater.analysis.many.method_schema import method_schema

    Draft202012Validator(method_schema()).validate(json.loads(found.to_json()))


def test_the_command_groups_and_refuses(capsys: pytest.CaptureFixture[str]) -> None:
    trial = str(Path(__file__).parents[2] / "examples" / "workboat-interceptors" / "trial.yaml")
    assert main(["noise", trial, "--by", "sea", "--reference", "Workboat (invented)"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "2, 0.1 to 0.5 m" in out
    assert "5 are needed at least" in out
    assert "two trials of her" in out
    assert main(["noise", trial, "--by", "moon"]) == 2
    assert "boat, sea, season" in capsys.readouterr().err
