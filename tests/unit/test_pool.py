"""Pools of invented outcomes whose sums are known, and worlds that are small or not alike."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_outcomes import asked, changes, entered, outcome

from slackwater.analysis.cli import main
from slackwater.analysis.many.alignment import Placed, froude_number
from slackwater.analysis.many.boats import Entered, joined
from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.many.pool_result import PooledPlace, PoolResult
from slackwater.analysis.many.pooling import pool_outcomes
from slackwater.analysis.statistics.random_effects import pool
from slackwater.analysis.verdict.verdicts import Word
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "five-launches"
VALUES = (0.028, 0.034, 0.030, 0.041)


def _four(**keys: object) -> PoolResult:
    return pool_outcomes(
        entered(*(outcome(f"b{n}", changes(v)) for n, v in enumerate(VALUES))), asked(**keys)
    )


def _only(result: PoolResult) -> PooledPlace:
    (sweep,) = result.sweeps
    (place,) = sweep.places
    return place


def test_the_mean_is_that_of_random_effects() -> None:
    place = _only(_four())
    found = pool(np.array(VALUES), np.full(4, 0.006**2), 8.0)
    assert place.mean.change == pytest.approx(math.expm1(float(found.mean)))
    assert place.heterogeneity == pytest.approx(math.sqrt(float(found.heterogeneity)))
    assert place.mean.degrees_of_freedom == 3
    assert [each.weight for each in place.boats] == pytest.approx([0.25] * 4)


def test_one_decision_is_said_four_ways() -> None:
    for values in (
        (0.028, 0.034, 0.030, 0.041),
        (0.001, -0.002, 0.003, 0.0),
        (0.0, 0.05, 0.1, 0.02),
    ):
        trials = entered(*(outcome(f"b{n}", changes(v)) for n, v in enumerate(values)))
        place = _only(pool_outcomes(trials, asked()))
        for row in (place.mean, place.next_boat):
            assert row.low is not None
            assert row.high is not None
            assert row.p_value is not None
            assert row.change is not None
            assert row.noise_floor is not None
            clear = row.low > 0 or row.high < 0
            assert clear == (row.p_value <= 0.05)
            assert clear == (abs(row.change) > row.noise_floor)
            assert clear == row.verdict.established


def test_the_next_boat_is_never_surer_than_the_mean() -> None:
    for tau in (0.0, 0.002, 0.02):
        values = [0.03 + tau * each for each in (-1.2, -0.3, 0.4, 1.1)]
        trials = entered(*(outcome(f"b{n}", changes(v)) for n, v in enumerate(values)))
        place = _only(pool_outcomes(trials, asked()))
        assert place.next_boat.low is not None
        assert place.mean.low is not None
        assert place.next_boat.low <= place.mean.low


def test_verdict_words_and_worth_are_those_of_a_trial() -> None:
    mean = _only(_four()).mean
    assert mean.verdict is Word.GAIN
    assert mean.worth == "exceeds"
    same = entered(*(outcome(f"b{n}", changes(0.0005 * n, standard_error=0.001)) for n in range(4)))
    assert _only(pool_outcomes(same, asked())).mean.verdict is Word.EQUIVALENT


def test_two_boats_tell_nothing_of_the_next() -> None:
    trials = entered(outcome("a", changes(0.03)), outcome("b", changes(0.031)))
    place = _only(pool_outcomes(trials, asked()))
    assert place.next_boat.verdict is Word.UNTESTABLE
    assert "2 boats" in place.next_boat.reason
    assert "three" in place.next_boat.reason
    assert place.mean.low is not None


def test_one_boat_is_no_pool_however_many_trials() -> None:
    trials = entered(*(outcome(f"t{n}", changes(0.03), boat="Same") for n in range(4)))
    result = pool_outcomes(trials, asked())
    place = _only(result)
    assert result.boats == ("Same",)
    assert place.mean.verdict is Word.UNTESTABLE
    assert place.next_boat.verdict is Word.UNTESTABLE
    assert any(f.rule == "trials-of-one-boat" for f in result.findings)


def test_trials_of_one_boat_are_joined_and_widened_where_they_differ() -> None:
    alike = joined([Placed(0.02, 0.01, 6.0), Placed(0.021, 0.01, 6.0)])
    assert alike.value == pytest.approx(0.0205)
    assert alike.standard_error == pytest.approx(0.01 / math.sqrt(2))
    assert alike.df == pytest.approx(12.0)
    apart = joined([Placed(0.0, 0.01, 6.0), Placed(0.1, 0.01, 6.0)])
    assert apart.standard_error == pytest.approx(0.05)  # half the distance of two


def test_the_same_runs_under_two_names_count_once() -> None:
    one = outcome("a", changes(0.03))
    twin = replace(one, trial="b", boat="Another", runs_sha256="re-saved")
    result = pool_outcomes(entered(one, twin, outcome("c", changes(0.02))), asked())
    assert result.boats == ("Invented a", "Invented c")
    (left,) = [each for each in result.trials if each.state == "left out"]
    assert left.name == "b.yaml"
    assert "a.yaml" in left.reason


def test_what_differs_between_trials_is_told() -> None:
    other = outcome(
        "b",
        changes(0.02, worthwhile=0.02),
        version="2.0",
        tool="0.0.9",
        decides=None,
        confidence=0.9,
        configurations={"bare": "Bare", "fitted": "Something else"},
    )
    result = pool_outcomes(entered(outcome("a", changes(0.03)), other), asked())
    rules = {finding.rule for finding in result.findings}
    assert {
        "changes-named-apart", "protocols-differ", "tool-versions-differ", "declared-apart"
    } <= rules  # fmt: skip
    assert _only(result).mean.worthwhile is None
    assert result.confidence == 0.95


def test_units_are_brought_together_or_the_trial_is_left_out() -> None:
    one = outcome("a", changes(-0.5, scale="difference", unit="kn", worthwhile=None))
    metric = changes(-0.5 * 1.852, scale="difference", unit="km/h", worthwhile=None,
                     standard_error=0.006 * 1.852)  # fmt: skip
    place = _only(pool_outcomes(entered(one, outcome("b", metric)), asked()))
    assert place.boats[1].change == pytest.approx(-0.5)
    alien = outcome("c", changes(-0.5, scale="difference", unit="L/h", worthwhile=None))
    result = pool_outcomes(entered(one, alien), asked())
    assert any(f.rule == "units-differ" for f in result.findings)


def test_speeds_in_another_unit_are_the_same_place() -> None:
    def at_speed(name: str, position: float, unit: str) -> Outcome:
        found = changes(
            0.02, kind="equal speed", axis_unit=unit, at=f"{position:g} {unit}", position=position
        )
        return outcome(name, found)

    trials = entered(at_speed("a", 10.0, "kn"), at_speed("b", 18.52, "km/h"))
    place = _only(pool_outcomes(trials, asked()))
    assert place.mean.at == "10 kn"
    assert len(place.boats) == 2


def test_places_of_one_boat_alone_are_told() -> None:
    trials = entered(outcome("a", changes(0.03, (2000.0, 2500.0))), outcome("b", changes(0.02)))
    result = pool_outcomes(trials, asked())
    assert [place.mean.at for place in result.sweeps[0].places] == ["2000 rpm"]
    assert any("2500 rpm" in finding.message for finding in result.findings)


def test_boats_of_unlike_size_are_aligned_by_froude_number() -> None:
    # The line between the neighbours, by hand: each boat's change rises as her set point.
    points = (1000.0, 2000.0, 3000.0)
    found = []
    for name, length in (("a", 8.0), ("b", 10.0), ("c", 12.0)):
        rising = tuple(replace(one, value=0.01 * n) for n, one in enumerate(changes(0.0, points)))
        found.append(outcome(name, rising, waterline_length=length))
    result = pool_outcomes(entered(*found), asked(align="froude", at=["0.6"]))
    place = _only(result)
    expected = []
    for length in (8.0, 10.0, 12.0):
        rpm = 0.6 / froude_number(1.0, length) / 0.003
        expected.append(math.expm1(0.01 * (rpm - 1000) / 1000))
    assert [each.change for each in place.boats] == pytest.approx(expected)
    assert place.mean.at == "Fn 0.6"


def test_a_boat_without_a_length_is_not_aligned_and_told() -> None:
    points = (1000.0, 2000.0)
    trials = entered(
        *(outcome(n, changes(0.03, points), waterline_length=length)
          for n, length in (("a", 8.0), ("b", 9.0), ("c", None)))
    )  # fmt: skip
    result = pool_outcomes(trials, asked(align="froude", at=["0.5"]))
    assert len(_only(result).boats) == 2
    (told,) = [f for f in result.findings if f.rule == "cannot-be-aligned"]
    assert "c.yaml" in told.message


def test_round_places_are_chosen_where_boats_overlap() -> None:
    points = (1000.0, 2000.0, 3000.0)
    trials = entered(*(outcome(n, changes(0.03, points)) for n in "abc"))
    result = pool_outcomes(trials, asked(align="top speed"))
    labels = [place.mean.at for place in result.sweeps[0].places]
    assert labels == [
        "40 % of top speed",
        "60 % of top speed",
        "80 % of top speed",
        "100 % of top speed",
    ]


def test_declared_places() -> None:
    trials = entered(
        outcome("a", changes(0.03, (2000.0, 2400.0))), outcome("b", changes(0.02, (2600.0,)))
    )
    where = {"cruise": {"a": "2400 rpm", "b": "2600 rpm"}}
    result = pool_outcomes(trials, asked(align="declared", positions=where))
    assert _only(result).mean.at == "cruise"
    assert len(_only(result).boats) == 2


def test_each_boat_is_left_out_in_turn() -> None:
    values = (0.0, 0.001, 0.0, 0.03)
    trials = entered(
        *(outcome(f"b{n}", changes(v, standard_error=0.001)) for n, v in enumerate(values))
    )
    place = _only(pool_outcomes(trials, asked()))
    without = {each.boat: each for each in place.without}
    assert without["Invented b3"].change == pytest.approx(1 / 3000, abs=1e-5)
    assert place.leans_on == ("Invented b3",)


def test_several_comparisons_have_to_be_told_apart() -> None:
    both = (*changes(0.03), *changes(0.01, modified="other"))
    one = outcome("a", both, configurations={"bare": "B", "fitted": "F", "other": "O"})
    rest = [outcome(n, changes(0.02)) for n in "bc"]
    result = pool_outcomes(entered(one, *rest), asked())
    assert "say which" in next(t.reason for t in result.trials if t.state == "left out")
    named = [Entered("a.yaml", one, modified="fitted"), *entered(*rest)]
    assert len(pool_outcomes(named, asked()).boats) == 3


def test_an_untestable_trial_has_no_weight() -> None:
    lone = outcome("a", changes(0.5, standard_error=None, df=None))
    result = pool_outcomes(entered(lone, *(outcome(n, changes(0.02)) for n in "bc")), asked())
    assert [each.boat for each in _only(result).boats] == ["Invented b", "Invented c"]


def test_nothing_to_pool() -> None:
    with pytest.raises(InputError, match="no trial is left"):
        pool_outcomes(entered(outcome("a", ())), asked())


# What follows takes whole trials through the command.


def test_the_example_through_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pool", str(EXAMPLE / "pool.yaml"), "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert len(found["boats"]) == 5
    assert found["pooled"][0]["deciding"] is True
    assert {row["at"] for row in found["pooled"] if row["kind"] == "equal speed"} == {
        "Fn 0.7", "Fn 0.8", "Fn 0.9", "Fn 1", "Fn 1.1"
    }  # fmt: skip


def test_a_broken_trial_does_not_stop_the_rest(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text("trial: broken\nprotocol: nowhere\n", encoding="utf-8")
    files = [str(EXAMPLE / name / "trial.yaml") for name in ("first", "second")]
    options = ["--align", "froude", "--at", "0.8"]
    assert main(["pool", *files, str(broken), *options]) == 0
    out = capsys.readouterr().out
    assert "Left out:" in out
    assert "2 trials of 2 boats" in " ".join(out.split())
    assert main(["pool", str(broken)]) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pool: p\ntrials: [a.yaml]\nalign: declared\n", "no positions"),
        ("pool: p\ntrials: [a.yaml]\nat: [0.5]\n", "goes with 'align: froude'"),
        ("pool: p\ntrials: [a.yaml]\nalign: top speed\nat: [1.5]\n", "above 1"),
        ("pool: p\ntrials: [a.yaml]\nalign: length\n", "froude"),
        ("pool: p\n", "trials"),
        ("pool: p\ntrials: [{trail: a.yaml}]\n", "trial"),
    ],
)
def test_a_faulty_pool_file(
    text: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "pool.yaml"
    path.write_text(text, encoding="utf-8")
    assert main(["pool", str(path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert "pool.yaml:" in err
    assert "Traceback" not in err


def test_options_go_with_trials_not_with_a_pool_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pool", str(EXAMPLE / "pool.yaml"), "--align", "froude"]) == 2
    assert "pool file" in capsys.readouterr().err
