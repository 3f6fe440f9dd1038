"""Noise budgets of invented trials whose noise is known, and what is made of them."""

from __future__ import annotations

import json
from collections.abc import Callable
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.cli import main
from slackwater.analysis.pipeline import compute
from slackwater.analysis.planning.noise_budget import (
    BETWEEN,
    DOUBLE_RUNS,
    PASSES,
    SPECIFIC,
    Budget,
    budgets,
)
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.report.noise.text import headline, render
from slackwater.analysis.report.noise.yaml_block import block
from slackwater.analysis.statistics.interlaboratory import TableError, interlaboratory
from slackwater.analysis.statistics.variance import (
    component_interval,
    difference_interval,
    mean_square_interval,
)
from slackwater.protocol.declared.noise_file import load_noise
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.declared.trial import load_trial

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors" / "trial.yaml"

TRIAL = """\
trial: NAME
boat: {title: Invented launch}
protocol:
  protocol: repeats
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm, 3000 rpm, 4000 rpm]}
    double_runs: 3
  sessions: {per_configuration: COUNT}
  measures:
    speed_over_ground: {unit: kn, shared: true}
    fuel_flow: {unit: L/h, shared: true}
  analysis: {current: CURRENT}
configurations: {bare: {title: Bare}, fitted: {title: Fitted}}
sessions:
SESSIONS
runs: runs.csv
"""

Make = Callable[..., Path]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Write an invented trial: speed and fuel flow with noise of every kind."""

    def write(
        name: str = "first",
        *,
        sessions: int = 12,
        between: float = 0.01,
        specific: float = 0.004,
        double_run: float = 0.003,
        one_pass: float = 0.005,
        drift: float = 0.0,
        level: float = 0.0,
        month: int = 5,
        current: str = "tide_fit",
        only: str = "",
        repeats: int = 3,
        seed: int = 1,
    ) -> Path:
        rng = np.random.default_rng(seed)
        folder = tmp_path / name
        folder.mkdir()
        declared, rows = [], []
        for s in range(sessions):
            fitted = only or ("bare", "fitted")[(s + s // 2) % 2]
            day = f"2026-{month:02d}-{1 + 2 * s:02d}"
            declared.append(f"  - {{id: S{s}, configuration: {fitted}, date: {day}}}")
            shared = between * rng.standard_normal() + drift * s + level
            clock, tide = 8 * 3600.0, rng.uniform(0, 6.28)
            for p in rng.permutation(4):
                own = shared + specific * rng.standard_normal()
                own += 0.03 * (fitted == "fitted")
                for k in range(repeats):
                    pair = own + double_run * rng.standard_normal()
                    for way in ("out", "back") if k % 2 else ("back", "out"):
                        sign = 1 if way == "out" else -1
                        speed = (8 + 4 * p) * np.exp(pair + one_pass * rng.standard_normal())
                        speed += sign * 0.5 * np.sin(clock / 7000 + tide)
                        flow = (10 + 9 * p) * np.exp(
                            own + one_pass * rng.standard_normal() + 0.01 * sign
                        )
                        minute = int(clock) // 60
                        start = f"{day}T{minute // 60:02d}:{minute % 60:02d}:{int(clock) % 60:02d}"
                        rows.append(
                            f"S{s},{1000 * (p + 1)},{k + 1},{way},{start},60,{speed:.5f},{flow:.5f}"
                        )
                        clock += 150
        heading = (
            "session,set_point [rpm],double_run,direction,start,duration [s],"
            "speed_over_ground [kn],fuel_flow [L/h]"
        )
        (folder / "runs.csv").write_text("\n".join([heading, *rows, ""]), encoding="utf-8")
        text = TRIAL.replace("NAME", name).replace("SESSIONS", "\n".join(declared))
        text = text.replace("CURRENT", current).replace("COUNT", str(sessions // 2))
        path = folder / "trial.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def budget_of(*paths: Path, quantity: str = "speed") -> Budget:
    (found,) = budgets([compute(load_trial(path)) for path in paths], quantity)
    return found


TRUTH = {BETWEEN: 0.01, SPECIFIC: 0.004, DOUBLE_RUNS: 0.003, PASSES: 0.005}


def test_every_component_is_found_again(make: Make) -> None:
    """Twelve trials: each interval holds its truth as often as it says, all together come near."""
    paths = [make(f"t{k}", seed=20 + k) for k in range(12)]
    held = 0
    for path in paths:
        found = budget_of(path)
        for name, value in TRUTH.items():
            each = found.component(name)
            held += each.low is not None and each.low <= value <= (each.high or 0.0)
    assert held >= 42  # of 48; fewer would happen once in 300 times
    found = budget_of(*paths)
    for name, value in TRUTH.items():
        assert_allclose(found.component(name).value, value, rtol=0.2)
    assert found.between_df == 120
    assert found.double_runs == pytest.approx(3)
    assert_allclose(found.within_session, sqrt(0.003**2 + 0.005**2 / 2), rtol=0.05)
    assert sum(each.part or 0 for each in found.components) == pytest.approx(1)
    lawful = sqrt(0.01**2 + 0.004**2 + 0.003**2 + 0.005**2 / 2)
    assert_allclose(found.reproducibility, lawful, rtol=0.1)


def test_a_steady_difference_between_out_and_back_is_no_noise(make: Make) -> None:
    found = budget_of(make(), quantity="fuel_flow")
    passes = found.component(PASSES)
    assert_allclose(passes.value, 0.005, rtol=0.15)  # the wind's 2 % are taken out


def test_passes_are_not_told_from_a_current_that_was_not_fitted(make: Make) -> None:
    path = make(current="double_run")
    assert budget_of(path).component(PASSES).value is None
    assert budget_of(path, quantity="fuel_flow").component(PASSES).value is not None


def test_intervals_hold_what_they_say() -> None:
    rng = np.random.default_rng(5)
    trials = 4000
    for first, n, second, m in ((4.0, 5, 1.0, 30), (1.5, 4, 1.0, 12), (10.0, 3, 1.0, 3)):
        below = above = 0
        for a, b in zip(
            first * rng.chisquare(n, trials) / n, second * rng.chisquare(m, trials) / m, strict=True
        ):
            ends = difference_interval(a, n, b, m)
            assert ends is not None
            below += first - second < ends[0]
            above += first - second > ends[1]
        # 2.5 % at either end, and three Monte Carlo errors.
        assert max(below, above) / trials < 0.025 + 3 * (0.025 * 0.975 / trials) ** 0.5
    # 4 degrees of freedom: 0.599 to 2.874 times s (table of the chi-square distribution).
    ends = mean_square_interval(1.0, 4)
    assert ends is not None
    assert_allclose(np.sqrt(ends), [0.599, 2.874], atol=5e-4)
    assert difference_interval(1.0, 0, 1.0, 3) is None


def test_a_component_that_chance_hid_is_not_known_to_be_nought() -> None:
    # One degree of freedom, and a mean square far below that of the runs.
    assert difference_interval(1e-4, 1, 1.0, 20) == (0.0, 0.0)
    hidden = component_interval(1e-4, 1, 1.0, 20)
    assert hidden == component_interval(1.0, 1, 1.0, 20)
    assert hidden is not None
    assert hidden[0] == 0
    assert hidden[1] > 100  # one degree of freedom rules out little
    assert component_interval(4.0, 5, 1.0, 30) == difference_interval(4.0, 5, 1.0, 30)
    assert component_interval(1.0, 0, 1.0, 3) is None
    # Of what the second rests on nothing is known: it may be all of the first, or nothing.
    whole = mean_square_interval(4.0, 5)
    assert whole is not None
    assert component_interval(4.0, 5, 1.0, 0) == (0.0, whole[1])
    assert component_interval(4.0, 5, 0.0, 0) == whole


def test_a_drift_is_found_and_said(make: Make) -> None:
    steady, drifting = make("steady", between=0.002), make("drifting", between=0.002, drift=-0.004)
    (trend,) = budget_of(steady).trends
    assert (trend.kind, trend.found) == ("drift", False)
    found = budget_of(drifting)
    (trend,) = found.trends
    assert trend.found
    assert trend.low <= -0.06 <= trend.high  # 0.4 % every second day is 6 % a month
    text = render(NoiseResult((found,), ("drifting",))).replace("\n", " ")
    assert "FOUND, speed −6" in text
    assert "ABBA" in text


def test_a_shift_between_trials_is_found_and_said(make: Make) -> None:
    early, same = make("early", between=0.003), make("same", between=0.003, month=6, seed=2)
    late = make("late", between=0.003, month=7, level=-0.02, seed=4)
    shifts = [t for t in budget_of(early, same).trends if t.kind == "shift"]
    assert len(shifts) == 2
    assert not any(t.found for t in shifts)
    found = budget_of(late, early)  # in whichever order they are given
    shifts = [t for t in found.trends if t.kind == "shift"]
    assert all(t.found and t.low <= -0.02 <= t.high for t in shifts)
    assert "from early to late" in shifts[0].subject
    assert "never across the two" in render(
        NoiseResult(
            (found,),
            (
                "early",
                "late",
            ),
        )
    ).replace("\n", " ")


def test_a_drift_that_is_not_there_is_seldom_found(make: Make) -> None:
    found = [budget_of(make(f"t{k}", seed=50 + k)).trends[0].found for k in range(12)]
    assert sum(found) <= 3  # more would happen once in 50 000 times at 5 % each


def test_the_block_goes_into_a_protocol(make: Make, tmp_path: Path) -> None:
    found = budgets([compute(load_trial(make()))])
    text = block(NoiseResult(tuple(found), ("first",)))
    (tmp_path / "noise.yaml").write_text(text, encoding="utf-8")
    noise = load_noise(tmp_path / "noise.yaml")
    assert set(noise) == {"speed", "fuel_flow", "economy"}
    speed = found[0]
    assert noise["speed"].sessions == round(speed.between_df) + 1 == 11
    between = speed.component(BETWEEN).value
    assert_allclose(noise["speed"].between_sessions.to("%").value / 100, between, rtol=0.06)
    with_noise = (
        "protocol: p\nruns: {set_points: {of: engine_speed, values: [1000 rpm]}}\n"
        "measures: {speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}}\n" + text
    )
    (tmp_path / "p.yaml").write_text(with_noise, encoding="utf-8")
    assert load_protocol(tmp_path / "p.yaml").noise["speed"] == noise["speed"]


def test_without_repeated_sessions_nothing_is_made_up(make: Make) -> None:
    found = budget_of(make("once", sessions=2))
    assert found.component(BETWEEN).value is None
    assert found.reproducibility is None
    assert found.within_session is not None
    once = NoiseResult((found,), ("once",))
    text = block(once)
    assert "noise:" not in text.splitlines()
    assert "left out" in text
    assert "nothing tells how sessions differ" in render(once).replace("\n", " ")


def test_single_double_runs_tell_the_noise_of_runs_by_their_passes(make: Make) -> None:
    """Their freedom is that of passes; without any a mean square of runs would pass for exact."""
    held = 0
    for seed in range(12):
        found = budget_of(make(f"single{seed}", repeats=1, double_run=0.0, seed=seed))
        assert found.component(DOUBLE_RUNS).value is None
        for name, truth in ((BETWEEN, 0.01), (SPECIFIC, 0.004)):
            each = found.component(name)
            assert each.low is not None
            assert each.high is not None
            assert each.value is not None
            assert each.low <= each.value <= each.high
            held += each.low <= truth <= each.high
    assert held >= 20  # of 24; fewer would happen once in 170 times
    few = (
        budget_of(make(f"few{k}", repeats=1, sessions=4, specific=0.0, seed=k)) for k in range(30)
    )
    none = next(each.component(SPECIFIC) for each in few if not each.component(SPECIFIC).value)
    assert none.low == 0.0
    assert none.high is not None
    assert none.high > 0


def test_a_difference_that_may_be_nought_is_told_by_its_end(make: Make) -> None:
    nothing = (budget_of(make(f"t{k}", between=0.0, sessions=4, seed=k)) for k in range(20))
    found = next(each for each in nothing if not each.component(BETWEEN).value)
    told = headline(found)
    assert told.startswith("speed: sessions with nothing changed differ by ")
    assert "\u00a0% at most, and perhaps not at all, double runs within a session by" in told


def test_one_configuration_repeated_is_enough(make: Make) -> None:
    found = budget_of(make("only", only="bare"))
    assert found.between_df == 11
    assert_allclose(found.component(BETWEEN).value, 0.01, rtol=0.5)


def test_interlaboratory_tables_that_give_nothing() -> None:
    for table in ([[1.0, 2.0]], [[1.0], [2.0]], [[1.0, np.nan], [2.0, 3.0]]):
        with pytest.raises(TableError):
            interlaboratory(table)
    equal = interlaboratory(np.ones((3, 2)))
    assert (equal.repeatability, equal.reproducibility) == (0.0, 0.0)
    assert np.isfinite(equal.h).all()
    assert np.isfinite(equal.k).all()


def test_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "noise.yaml"
    assert main(["noise", str(EXAMPLE), "--output", str(path)]) == 0
    assert "speed" in load_noise(path)
    assert main(["noise", str(EXAMPLE), "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {row["component"] for row in found["noise"]} == {BETWEEN, SPECIFIC, DOUBLE_RUNS, PASSES}
    assert main(["noise", str(EXAMPLE), "--quantity", "speed"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Speed: sessions with nothing changed differ by")
    assert "economy" not in text
    assert max(len(line) for line in text.splitlines() if "noise" not in line) <= 110
    assert main(["noise", str(EXAMPLE), "--quantity", "sped"]) == 2
    assert "they give speed" in capsys.readouterr().err
    planned = ["plan", "two-way-sweep", "--noise", str(path), "--quantity", "economy"]
    assert main([*planned, "--levels", str(EXAMPLE), "--format", "json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert plan["noise"]["assumed"] is False
    assert plan["options"][0]["fuel"] > 0


def test_one_estimator_of_each_component(make: Make) -> None:
    """`noise` of one trial tells what `analyse` tells of it."""
    from slackwater.analysis import analyse

    for quantity in ("speed", "fuel_flow", "economy"):
        path = make(f"same-{quantity.replace('_', '-')}", sessions=6, seed=4)
        budget = budget_of(path, quantity=quantity)
        table = analyse(path).noise
        told = table[table["quantity"] == quantity].set_index("component")["value"]
        assert budget.component(BETWEEN).value == pytest.approx(told["between sessions"], rel=1e-9)
        own = budget.component(SPECIFIC).value
        assert own == pytest.approx(told["session by set point"], rel=1e-9, abs=1e-12)
