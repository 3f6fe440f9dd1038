"""A trial that broke its protocol gets no clean verdict; what is waived is shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from slackwater.analysis.checking.applying import broken_limits, check_method, deviations
from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.pipeline import analyse
from slackwater.analysis.result.result import Result
from slackwater.protocol.rules._rule import Example

Lay = Callable[[Example], Any]


def result(lay: Lay, example: Example) -> Result:
    return analyse(lay(example).folder / "trial.yaml")


def verdicts(found: Result, *, at: str = "") -> set[str]:
    """The verdicts of a result, at the set points where `at` is their unit."""
    rows = found.comparisons
    return set(rows[rows["at"].fillna("").str.endswith(at)]["verdict"])


def test_kept_limits_leave_the_verdicts(lay: Lay) -> None:
    found = result(lay, Example())
    assert "untestable" not in verdicts(found, at=" rpm")
    assert found.deviations == ()


@pytest.mark.parametrize(
    ("example", "words"),
    [
        (
            Example(trial="sessions: [{id: S2, wind_speed: 9 kn}]"),
            "wind speed 9 kn in session S2; the limit is at most 8 kn",
        ),
        (
            Example(trial="sessions: [{id: S4, fuel: 30 %}]"),
            "fuel 30 % in session S4; the limit is between 40 % and 100 %",
        ),
        (
            Example(trial="sessions: [{id: S2, displacement: 7800 kg}]"),
            "mean displacement is 7400 kg with bare and 7533.3 kg with fitted",
        ),
        (
            Example(trial="sessions: [{id: S2, crew: 4}]"),
            "crew is not the same in all sessions of bare and fitted: 3, 4",
        ),
        (
            Example(trial="sessions: [{id: S2, water_temperature: 28 degC}]"),
            "mean water temperature is 12 degC with bare and 17.333 degC with fitted",
        ),
        (
            Example(protocol="conditions: {current: {at_most: 0.5 kn}}"),
            "limits were broken: current 0.9 kn in session S1",
        ),
        (
            Example(protocol="loading: {fuel_flow: {at_most: 21 L/h}}"),
            "fuel flow of 22.1 L/h at row",
        ),
    ],
)
def test_a_broken_limit_takes_the_verdicts(lay: Lay, example: Example, words: str) -> None:
    found = result(lay, example)
    assert verdicts(found) == {"untestable"}
    reasons = set(found.comparisons["reason"])
    assert any(words in reason for reason in reasons), reasons
    assert any(each.severity.value == "error" for each in found.deviations)
    assert "untestable" in str(found)


def test_the_protocol_may_say_otherwise(lay: Lay) -> None:
    found = result(
        lay,
        Example(
            protocol="analysis: {limits_broken: report}",
            trial="sessions: [{id: S2, wind_speed: 9 kn}]",
        ),
    )
    assert "untestable" not in verdicts(found, at=" rpm")
    assert [each.rule for each in found.deviations] == ["condition-outside-limit"]
    assert "touches the verdicts on fitted against bare" in found.deviations[0].message


def test_a_waiver_afterwards_silences_and_does_not_clear(lay: Lay) -> None:
    found = result(
        lay,
        Example(
            trial="{sessions: [{id: S2, wind_speed: 9 kn}], "
            "waive: [{rule: condition-outside-limit, reason: It was a gust.}]}"
        ),
    )
    assert verdicts(found) == {"untestable"}
    assert found.deviations == ()
    assert found.waivers == ("condition-outside-limit: It was a gust.",)
    assert "It was a gust." in str(found)
    assert "It was a gust." in found.to_json()


def test_a_broken_limit_of_another_configuration_takes_nothing(lay: Lay) -> None:
    laid = lay(
        Example(
            trial="{configurations: {third: {title: A third}}, "
            "comparisons: [{baseline: bare, modified: fitted}], "
            "sessions: [{id: S6, configuration: third, wind_speed: 9 kn}]}",
        )
    )
    found = analyse(laid.folder / "trial.yaml")
    assert "untestable" not in verdicts(found, at=" rpm")
    broken = [each for each in found.deviations if each.rule == "condition-outside-limit"]
    assert len(broken) == 1
    assert broken[0].message.endswith("no verdict is touched")


def test_only_the_set_points_that_the_session_ran_are_refused(lay: Lay) -> None:
    # S2 ran both set points; without its runs at 1000 rpm the verdict there does not rest on it.
    laid = lay(Example(trial="sessions: [{id: S2, wind_speed: 9 kn}]"))
    table = laid.folder / "runs.csv"
    rows = [row for row in table.read_text().splitlines() if not row.startswith("S2,1000")]
    table.write_text("\n".join(rows) + "\n")
    found = analyse(laid.folder / "trial.yaml")
    speeds = found.comparisons[
        (found.comparisons["quantity"] == "speed")
        & found.comparisons["at"].isin(["1000 rpm", "2000 rpm"])
    ].set_index("at")["verdict"]
    assert speeds["2000 rpm"] == "untestable"
    assert speeds["1000 rpm"] != "untestable"


def test_fuel_goes_over_between_volume_mass_and_part(lay: Lay) -> None:
    # 800 L of capacity; 300 L are 37.5 %, 290 kg of diesel at 0.84 kg/L are 43 %.
    below = lay(Example(trial="sessions: [{id: S2, fuel: 300 L}]"))
    assert [f.rule for f in deviations(below.trial).findings] == ["loading-outside-limit"]
    above = lay(Example(trial="sessions: [{id: S2, fuel: 290 kg}]"))
    assert deviations(above.trial).findings == ()


def test_fuel_without_a_capacity_cannot_be_held_against_its_limit(lay: Lay) -> None:
    laid = lay(Example(trial="{boat: {fuel_capacity: }, sessions: [{id: S2, fuel: 300 L}]}"))
    found = deviations(laid.trial).findings
    assert [f.rule for f in found] == ["limit-not-recorded"]
    assert "no fuel_capacity to go by" in found[0].message


def test_waivers_of_the_protocol_count_in_its_trials(lay: Lay) -> None:
    laid = lay(
        Example(
            protocol="{sessions: {per_configuration: 3, order: AAABBB}, "
            "analysis: {decides: speed}, waive: "
            "[{rule: one-block, reason: The coating stays on.}, "
            "{rule: session-order, reason: The crane was free.}]}"
        )
    )
    method = check_method(laid.trial)
    assert [f.rule for f in method.findings] == ["baseline-not-repeated"]
    assert [(w.finding.rule, w.reason) for w in method.waived] == [
        ("one-block", "The coating stays on.")
    ]
    departures = deviations(laid.trial, read_runs(laid.trial))
    assert departures.findings == ()
    assert [w.finding.rule for w in departures.waived] == ["session-order"]


def test_broken_limits_name_the_session(lay: Lay) -> None:
    laid = lay(Example(trial="sessions: [{id: S2, wind_speed: 9 kn, wave_height: 0.5 m}]"))
    found = broken_limits(laid.trial, read_runs(laid.trial))
    assert [(each.session, each.configurations) for each in found] == [("S2", ("fitted",))] * 2


def test_a_misspelt_waiver_in_a_trial(lay: Lay) -> None:
    laid = lay(Example(trial="waive: [{rule: clock-jmp, reason: Lunch.}]"))
    found = deviations(laid.trial).findings
    assert [f.rule for f in found] == ["unknown-waiver"]
    assert found[0].fix == "did you mean 'clock-jump'?"
