"""Ratings through the one path: session values, verdict, agreement, blinding, ranks."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis import analyse
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.result.result import Result
from slackwater.analysis.statistics.panel import agree, least_agreed, panel_of, shared_excess
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.steps import held_by_ranks
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "ride-felt-blind"
Change = Callable[[str], str]


def laid(tmp_path: Path, ratings: Change = str, trial: Change = str) -> Path:
    """The example in a folder of its own, its files changed."""
    folder = tmp_path / "trial"
    shutil.copytree(EXAMPLE, folder)
    for name, change in (("ratings.csv", ratings), ("trial.yaml", trial)):
        path = folder / name
        path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    return folder / "trial.yaml"


@pytest.fixture(scope="module")
def result() -> Result:
    return analyse(EXAMPLE / "trial.yaml")


def verdicts(result: Result) -> dict[str, str]:
    return {row.quantity: str(row.verdict) for row in result.compared}


def test_the_example_finds_what_was_put_in(result: Result) -> None:
    assert verdicts(result) | {"speed": "within noise"} == {
        "speed": "within noise",
        "ride": "gain",
        "steering_effort": "within noise",
        "noise_felt": "untestable",
    }
    row = next(row for row in result.compared if row.quantity == "ride")
    assert row.unit == "points"
    assert row.scale == "difference"
    assert row.deciding
    assert row.low is not None
    assert row.low > 0


def test_the_difference_is_that_of_the_means(result: Result) -> None:
    """With every rater in every session, levels cancel: the plain difference of the scores."""
    rows = [row for row in result.records("rating_scores") if row["quantity"] == "ride"]
    mean = {
        name: np.mean([row["score"] for row in rows if row["configuration"] == name])
        for name in ("off", "on")
    }
    row = next(row for row in result.compared if row.quantity == "ride")
    assert_allclose(row.change, mean["on"] - mean["off"], rtol=1e-9)


def test_no_agreement_is_untestable_with_its_reason(result: Result) -> None:
    row = next(row for row in result.compared if row.quantity == "noise_felt")
    assert "do not agree" in row.reason
    told = next(row for row in result.records("ratings") if row["quantity"] == "noise_felt")
    assert told["agrees"] is False
    assert told["reason"] == row.reason


def test_every_rater_and_every_guess_is_in_the_result(result: Result) -> None:
    assert len(result.records("rating_scores")) == 8 * 3 * 5
    rows = result.records("blinding")
    assert [(row["index"], row["configuration"]) for row in rows] == [
        ("Bang", "off"),
        ("Bang", "on"),
        ("James", None),
    ]
    assert rows[-1]["right"] + rows[-1]["wrong"] + rows[-1]["unsure"] == 8 * 5
    assert any(each.role == "ratings" for each in result.inputs)
    assert "NaN" not in result.to_json()


def test_without_blinding_every_output_says_so(tmp_path: Path) -> None:
    found = analyse(laid(tmp_path, trial=lambda text: text + "raters_aware: [R2]\n"))
    assert all(row["blinding"] == "not blind" for row in found.records("ratings"))
    assert "not blind" in str(found)
    assert "not blind" in found.to_html()
    row = next(
        row for row in json.loads(found.to_json())["comparisons"] if row["quantity"] == "ride"
    )
    assert row["at"] == "not blind, 5 raters"


def test_guesses_that_are_right_take_the_blindness_away(tmp_path: Path) -> None:
    fitted = {"F1": "off", "F2": "on", "F3": "on", "F4": "off"}
    fitted |= {"F5": "on", "F6": "off", "F7": "off", "F8": "on"}

    def known(text: str) -> str:
        head, *rows = text.splitlines()
        cells = [row.split(",") for row in rows]
        return "\n".join([head, *(",".join([*c[:4], fitted[c[0]], ""]) for c in cells)]) + "\n"

    found = analyse(laid(tmp_path, known))
    assert {row["blinding"] for row in found.records("ratings")} == {"blinding did not hold"}
    assert [row["value"] for row in found.records("blinding")] == pytest.approx([1.0, 1.0, 0.0])


def test_one_rater_is_no_panel(tmp_path: Path) -> None:
    def alone(text: str) -> str:
        head, *rows = text.splitlines()
        return "\n".join([head, *(row for row in rows if ",R1," in row)]) + "\n"

    found = analyse(laid(tmp_path, alone))
    assert verdicts(found)["ride"] == "untestable"
    assert "R1 alone" in next(row.reason for row in found.compared if row.quantity == "ride")


def test_raters_who_never_met_cannot_be_told_from_sessions(tmp_path: Path) -> None:
    """Two raters in the sessions of one configuration, three in those of the other."""
    off = {"F1", "F4", "F6", "F7"}

    def parted(text: str) -> str:
        head, *rows = text.splitlines()
        kept = [
            row for row in rows if (row.split(",")[0] in off) == (row.split(",")[2] in ("R1", "R2"))
        ]
        return "\n".join([head, *kept]) + "\n"

    found = analyse(laid(tmp_path, parted))
    assert verdicts(found)["ride"] == "untestable"
    assert "share no session" in next(r.reason for r in found.compared if r.quantity == "ride")


def judged_on(values: list[float], name: str) -> Judged:
    """Six sessions, in turns, through the one comparison."""
    sessions = tuple(f"S{i}" for i in range(6))
    table = SessionValues(
        quantity=name,
        unit="points",
        scale="difference",
        better="more",
        sessions=sessions,
        positions=np.array([np.nan]),
        labels=("blind, 4 raters",),
        values=np.array(values)[:, None],
        run_variance=np.zeros((6, 1)),
        double_runs=np.full((6, 1), 4),
        instrument_variance=np.zeros(1),
        kind="whole sweep",
    )
    return judge_sweep(table, ["a", "b"] * 3, "a", "b", Terms())


def test_ranks_take_a_verdict_away_and_give_none() -> None:
    points = judged_on([3.0, 5.0, 3.1, 5.1, 2.9, 4.9], "ride")
    along = judged_on([-0.5, 0.5, -0.4, 0.6, -0.6, 0.4], "ride_by_ranks")
    against = judged_on([0.1, -0.1, 0.2, -0.2, 0.0, 0.1], "ride_by_ranks")
    assert str(points.rows[0].verdict) == "gain"
    assert held_by_ranks(points, along) == points
    (row,) = held_by_ranks(points, against).rows
    assert str(row.verdict) == "untestable"
    assert "ranks" in row.reason
    assert row.change == points.rows[0].change
    assert row.p_value is row.low is row.high is row.noise_floor is row.worth is None
    level = judged_on([3.0, 3.1, 3.2, 2.9, 3.0, 3.1], "ride")
    assert held_by_ranks(level, along) == level


def test_what_raters_who_missed_sessions_add() -> None:
    """Simulated: the variance of a difference beyond each session's own is not less than reckoned."""
    rng = np.random.default_rng(3)
    seen = np.ones((6, 4), bool)
    seen[0, :2] = seen[4, 2] = seen[5, :3] = False
    first = np.array([1, 0, 0, 1, 1, 0], bool)
    groups = np.array([first, ~first])
    differences, own, shared = [], [], []
    for _ in range(400):
        scores = np.where(seen, rng.normal(size=(6, 4)) + rng.normal(size=4) * 2, np.nan)
        panel = panel_of(scores)
        differences.append(panel.values[~first].mean() - panel.values[first].mean())
        diagonal = np.diag(panel.covariance)
        own.append((diagonal[first].sum() + diagonal[~first].sum()) / 9)
        shared.append(shared_excess(panel, groups).sum())
    seen_variance = np.var(differences)
    assert seen_variance <= (np.mean(own) + np.mean(shared)) * (1 + 3 * np.sqrt(2 / 400))


def test_a_whole_panel_adds_nothing() -> None:
    panel = panel_of(np.random.default_rng(4).normal(size=(6, 4)))
    groups = np.array([[True] * 3 + [False] * 3, [False] * 3 + [True] * 3])
    assert_allclose(shared_excess(panel, groups), 0.0, atol=1e-12)


def test_ratings_need_a_protocol_that_asks_for_them(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        analyse(laid(tmp_path, trial=lambda t: t.replace("blind-rating", "two-way-sweep")))
    assert any("has nobody rate" in each.message for each in error.value.findings)


@pytest.mark.parametrize(
    ("item", "message"),
    [
        ("{points: 7, anchors: {1: hard, 8: soft}}", "an anchor stands at 8"),
        ("{points: 7, anchors: {2: hard, 7: soft}}", "no anchor says what 1"),
        ("{points: 7, anchors: {1: hard}}", "no anchor says what 7"),
        ("{points: 1, anchors: {1: hard, 2: soft}}", "'1'"),
    ],
)
def test_scales_are_anchored_at_both_ends(tmp_path: Path, item: str, message: str) -> None:
    path = tmp_path / "protocol.yaml"
    path.write_text(
        "protocol: p\nruns: {set_points: {of: engine_speed, values: [2000 rpm]}}\n"
        "measures: {engine_speed: {unit: rpm}}\n"
        f"ratings: {{items: {{ride: {item}}}}}\n",
        encoding="utf-8",
    )
    with pytest.raises(InputError) as error:
        load_protocol(path)
    assert any(message in each.message for each in error.value.findings)


def test_what_a_difference_has_to_pass_for_raters_to_agree() -> None:
    """The bound that plans use, held to the F of the panel that verdicts use, score by score."""
    rng = np.random.default_rng(4)
    seen = {True: 0, False: 0}
    for _ in range(60):
        scores = rng.normal(size=(6, 4)) + rng.normal(0, 0.3, (6, 1))
        modified = np.array([False, True, True, False, False, True])
        sides = np.array([~modified, modified])
        for apart in rng.normal(0, 1.5, 5):
            panel = panel_of(scores + apart * modified[:, None])
            runs = np.array(panel.residual_variance / 4)
            agreed = panel.agreement_p < 0.05
            means = [panel.values[side].mean() for side in sides]
            least = least_agreed(panel.values, runs, sides, 4, 0.95)
            assert bool(agree(panel.values, runs, 4, 0.95)) == agreed
            assert bool(abs(means[1] - means[0]) > least) == agreed
            seen[bool(agreed)] += 1
    assert min(seen.values()) > 30
    assert least_agreed(np.zeros(4), np.array(0.1), np.eye(2, 4, dtype=bool), 1, 0.95) == np.inf
