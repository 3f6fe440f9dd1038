"""What crews differ by, on boats that they share; and where crews and boats cannot be told apart."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from fleet_trials import fleet
from invented_outcomes import changes, outcome
from jsonschema import Draft202012Validator

import slackwater
from slackwater.analysis.many.boats import Entered, findings_on, members_of
from slackwater.analysis.many.crews import crews_of
from slackwater.analysis.many.method_result import method_of
from slackwater.analysis.many.method_schema import method_schema
from slackwater.analysis.many.outcome import Outcome, SessionLevel
from slackwater.analysis.statistics.crossed import between_groups, connected
from slackwater.protocol.declared.trial import load_trial

BOATS = ("Heron", "Teal")


def tried(crew: str, boat: str, number: int, off: float) -> Outcome:
    """A trial of one session that lay off by a fraction of the usual."""
    name = f"{crew}-{boat}-{number}"
    level = SessionLevel(
        session="S1", configuration="bare", day="2026-05-01", quantity="speed", unit="kn",
        scale="ratio", at=("2000 rpm",), values=(12.0 * float(np.exp(off)),), crew=crew,
    )  # fmt: skip
    return replace(outcome(name, ()), boat=boat, levels=(level,), crews=(crew,) if crew else ())


def fleet_of(between: float, own: float, seed: int, crews: str = "abcd") -> list[Outcome]:
    rng = np.random.default_rng(seed)
    is_off = {crew: between * rng.standard_normal() for crew in crews}
    return [
        tried(crew, boat, n, is_off[crew] + own * rng.standard_normal())
        for crew in crews
        for boat in BOATS
        for n in range(3)
    ]


def test_a_component_of_crews_is_told_on_shared_boats() -> None:
    (found,) = crews_of(fleet_of(0.02, 0.002, 3), ["speed"]).found()
    assert (found.crews, found.boats, found.trials) == (tuple("abcd"), BOATS, 24)
    drawn = 0.02 * np.random.default_rng(3).standard_normal(4)
    assert found.value == pytest.approx(drawn.std(ddof=1), rel=0.05)
    assert found.low is not None
    assert found.high is not None
    assert 0 < found.low < found.value < found.high
    assert found.trials_differ_by == pytest.approx(0.002, rel=0.4)
    assert found.p_value is not None
    assert found.p_value < 1e-4


def test_the_answer_prints_and_is_described() -> None:
    found = method_of(fleet_of(0.02, 0.002, 3), "crew")
    assert "crews differ by" in " ".join(str(found).split())
    Draft202012Validator(method_schema()).validate(json.loads(found.to_json()))
    assert found.to_dict()["crews"][0]["crews"] == list("abcd")


def test_crews_that_share_no_boat_are_confounded_with_boats() -> None:
    apart = [tried("north", "Heron", n, 0.0) for n in range(3)]
    apart += [tried("south", "Teal", n, 0.1) for n in range(3)]
    told = crews_of(apart, ["speed"])
    assert told.found() == ()
    (sentence,) = told.confounded()
    assert "cannot be told apart" in sentence
    assert "north on Heron and south on Teal" in sentence
    joined = [*apart, tried("south", "Heron", 1, 0.0), tried("south", "Heron", 2, 0.001)]
    assert crews_of(joined, ["speed"]).confounded() == ()
    once = [tried("north", "Heron", 1, 0.0), tried("south", "Heron", 1, 0.1)]
    assert "too seldom" in crews_of(once, ["speed"]).confounded()[0]
    assert "all trials" in crews_of(apart[:3], ["speed"]).confounded()[0]
    assert crews_of([tried("", "Heron", 1, 0.0)], ["speed"]).confounded() == ()


def test_a_pool_tells_where_crews_and_boats_are_one() -> None:
    def rules(*outcomes: Outcome) -> list[str]:
        changed = [
            replace(outcome(each.trial, changes(0.03)), boat=each.boat, crews=each.crews)
            for each in outcomes
        ]
        members, left = members_of([Entered(each.trial, each) for each in changed])
        return [each.rule for each in findings_on(members, left)]

    one, other = tried("north", "Heron", 1, 0.0), tried("south", "Teal", 1, 0.0)
    assert "crews-and-boats" in rules(one, other)
    assert "one-crew" in rules(one, tried("north", "Teal", 1, 0.0))
    crossed = rules(one, other, tried("north", "Teal", 2, 0.0))
    assert not {"crews-and-boats", "one-crew"} & set(crossed)


def test_who_sailed_is_the_session_s_or_the_trial_s(tmp_path: Path) -> None:
    path = fleet(tmp_path / "trials", 1)[0]
    trial = load_trial(path)
    assert {trial.crew_of(each) for each in trial.sessions} == {"north"}
    text = path.read_text("utf-8").replace("{id: S1,", "{id: S1, sailed_by: quay,")
    path.write_text(text, encoding="utf-8")
    trial = load_trial(path)
    assert [trial.crew_of(each) for each in trial.sessions][:2] == ["quay", "north"]


def test_an_archive_tells_crews(tmp_path: Path) -> None:
    folder = tmp_path / "trials"
    for path in fleet(folder, 12):
        if not path.name.startswith("reference"):
            path.unlink()
    result = slackwater.archive(folder)
    found = {each.quantity: each for each in result.method.crews}
    assert found["speed"].crews == ("north", "quay", "sound")
    assert found["speed"].trials == 6
    assert "crews differ by" in " ".join(str(result).split())
    assert {group.name for group in result.method.groups if group.kind == "crew"} == {
        "north", "quay", "sound",
    }  # fmt: skip


def test_parts_that_share_nothing() -> None:
    parts = connected(["x", "x", "y", "z"], ["a", "b", "b", "c"])
    assert sorted(sorted(groups) for _, groups in parts) == [["a", "b"], ["c"]]


# Of crews that do not differ, and of crews that differ as much as their trials do: 400 unequal sets each.
@pytest.mark.parametrize("between", [0.0, 1.0])
def test_what_the_interval_promises(between: float) -> None:
    sets = 400
    rng = np.random.default_rng(11)
    blocks = [*"xxxxxxxx", *"yyyyyyyyyy"]
    groups = [*"aabbccdd", *"aaabbcddee"]
    names = sorted(set(groups))
    covered = alike = 0
    for _ in range(sets):
        off = dict(zip(names, between * rng.standard_normal(len(names)), strict=True))
        level = {"x": 3.0, "y": -2.0}
        values = [
            level[block] + off[group] + rng.standard_normal()
            for block, group in zip(blocks, groups, strict=True)
        ]
        found = between_groups(values, blocks, groups)
        assert found.low is not None
        assert found.high is not None
        covered += found.low <= between <= found.high
        alike += (found.p_value or 1.0) < 0.05
    error = np.sqrt(0.05 * 0.95 / sets)
    assert covered / sets >= 0.95 - 3 * error
    if between == 0:
        assert alike / sets <= 0.05 + 3 * error
    else:
        assert alike / sets > 0.3
