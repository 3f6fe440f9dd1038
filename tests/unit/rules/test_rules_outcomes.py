"""What comes of a rule: that silence means it looked, and that it says where it could not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from slackwater.analysis.checking.applying import check_method, check_protocol, deviations
from slackwater.analysis.checking.examine import examine
from slackwater.analysis.checking.explaining import subject
from slackwater.analysis.checking.registry import all_rules
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.rules._applied import Checked
from slackwater.protocol.rules._outcome import Looked, Outcome
from slackwater.protocol.rules._rule import Example, ProtocolRule, Rule, TrialRule

RULES = all_rules()
Lay = Callable[[Example], Any]


def outcomes(checked: Checked) -> dict[str, Outcome]:
    return {row.rule.id: row.outcome for row in checked.looked}


def whole(example: Example, lay: Lay) -> Checked:
    laid = lay(example)
    return check_method(laid.trial) + deviations(laid.trial, read_runs(laid.trial))


def of_rule(rule: Rule, example: Example, lay: Lay) -> Looked:
    """What comes of one rule on an example; the runs are read only where it looks at them."""
    laid = lay(example)
    method = subject(rule) == "protocol"
    runs = read_runs(laid.trial) if subject(rule) == "runs" else None
    checked = check_protocol(laid.protocol) if method else deviations(laid.trial, runs)
    return next(row for row in checked.looked if row.rule.id == rule.id)


def test_every_rule_has_one_outcome(lay: Lay) -> None:
    rows = whole(Example(), lay).looked
    assert sorted(row.rule.id for row in rows) == sorted(RULES)


@pytest.mark.parametrize("id", RULES)
def test_broken_on_its_example_and_looked_at_on_the_other(id: str, lay: Lay) -> None:
    rule = RULES[id]
    assert of_rule(rule, rule.fails, lay).outcome is Outcome.BROKEN
    held = of_rule(rule, rule.passes, lay)
    assert held.outcome is Outcome.HELD, (held.why, held.unseen)


def test_a_waived_rule_keeps_what_it_found_and_the_reason(lay: Lay) -> None:
    laid = lay(
        Example(
            protocol="{sessions: {per_configuration: 2, order: AABB}, waive: [{rule: one-block, reason: Paint stays.}]}"
        )
    )
    row = next(r for r in check_protocol(laid.protocol).looked if r.rule.id == "one-block")
    assert (row.outcome, row.why) == (Outcome.WAIVED, "Paint stays.")
    assert len(row.found) == 1


def test_a_waiver_that_silences_nothing_leaves_the_rule_held(lay: Lay) -> None:
    laid = lay(Example(protocol="waive: [{rule: one-block, reason: Paint stays.}]"))
    assert outcomes(check_protocol(laid.protocol))["one-block"] is Outcome.HELD


@pytest.mark.parametrize(
    ("protocol", "rule", "why"),
    [
        ("{}", "shallow-water", "how fast she goes"),
        ("{}", "underpowered", "no noise"),
        ("measures: {speed_over_ground: {unit: kn}}", "instrument-too-coarse", "is not declared"),
        ("analysis: {worthwhile: {economy: 0.1 nmi/L}}", "hold-too-wide", "economy (0.1 nmi/L)"),
    ],
)
def test_says_what_it_could_not_look_at(lay: Lay, protocol: str, rule: str, why: str) -> None:
    rows = check_protocol(lay(Example(protocol=protocol)).protocol).looked
    row = next(row for row in rows if row.rule.id == rule)
    assert row.outcome is Outcome.UNSEEN
    assert why in row.unseen[0].why
    assert row.unseen[0].lets


@pytest.mark.parametrize(
    ("protocol", "rule"),
    [
        ("runs: {directions: one_way}", "same-direction-first"),
        ("runs: {directions: one_way}", "reciprocal-too-wide"),
        ("sessions: {per_configuration: 2, order: AA}", "one-block"),
        ("loading: {crew: {same: true}}", "displacement-too-loose"),
    ],
)
def test_says_where_it_does_not_apply(lay: Lay, protocol: str, rule: str) -> None:
    rows = check_protocol(lay(Example(protocol=protocol)).protocol).looked
    row = next(row for row in rows if row.rule.id == rule)
    assert row.outcome is Outcome.NOT_APPLICABLE
    assert row.why


def test_before_the_trial_no_rule_on_runs_holds(lay: Lay) -> None:
    laid = lay(Example())
    (laid.trial.folder / laid.trial.runs).unlink()
    rows = examine(str(laid.trial.document.path)).checked.looked
    of_runs = [r for r in rows if not isinstance(r.rule, ProtocolRule | TrialRule)]
    assert of_runs
    assert {row.outcome for row in of_runs} == {Outcome.UNSEEN}


def test_a_fault_keeps_the_rules_on_its_part_from_looking(lay: Lay) -> None:
    laid = lay(Example())
    path = laid.protocol.document.path
    text = path.read_text("utf-8")
    path.write_text(text.replace("order: ABBAAB", "order: 7"), "utf-8")
    rows = {row.rule.id: row for row in examine(str(path)).checked.looked}
    assert rows["one-block"].outcome is Outcome.UNSEEN
    assert "sessions.order" in rows["one-block"].unseen[0].why
    assert rows["no-cautions"].outcome is Outcome.HELD
