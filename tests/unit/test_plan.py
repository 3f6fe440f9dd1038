"""Plans: what is recommended, what they answer backwards, and how they are written."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.planning.effort import effort_of
from slackwater.analysis.planning.plan_model import CAUTION, Plan, Question, cost
from slackwater.analysis.planning.planning import make_plan
from slackwater.analysis.planning.power import Noise, Setting
from slackwater.analysis.report.plan import html as plan_html
from slackwater.analysis.report.plan import text as plan_text
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.units.quantity import Quantity

EFFORT = effort_of(
    load_protocol("two-way-sweep"),
    change=Quantity(30.0, "min"),
    speeds=(6.0, 10.0, 14.0),
    flows=(6.0, 18.0, 40.0),
)
QUESTION = Question(
    quantity="economy",
    unit="",
    scale="ratio",
    effect=0.015,
    power=0.9,
    noise=Noise(0.004, 0.002, 0.006, df=11),
    assumed=(),
    noise_source="earlier.yaml",
    setting=Setting(set_points=3, current="tide_fit"),
    effort=EFFORT,
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(QUESTION)


def test_the_cheapest_that_reaches_the_power_is_recommended(plan: Plan) -> None:
    chosen = plan.recommended
    assert chosen is not None
    assert chosen.power >= 0.9
    for option in plan.options:
        assert option.reaches == (option.power >= 0.9)
        assert not option.reaches or cost(chosen) <= cost(option)
        if option.detectable is not None:
            assert option.reaches == (option.detectable <= QUESTION.natural(0.015) + 1e-9)


def test_the_recommended_plan_was_tried_out(plan: Plan) -> None:
    assert plan.check is not None
    assert plan.recommended is not None
    assert abs(plan.check.power - plan.recommended.power) <= 0.01 + 2 * plan.check.error
    assert plan.check.everywhere > plan.check.power - 2 * plan.check.error


def test_how_sure_it_is_follows_from_how_well_the_noise_is_known(plan: Plan) -> None:
    better = make_plan(replace(QUESTION, noise=replace(QUESTION.noise, df=200)))
    assert plan.sureness is not None
    assert better.sureness is not None
    assert 0.4 < plan.sureness.chance < 0.9
    assert plan.sureness.expected < better.sureness.expected
    surer = plan.sureness.surer
    assert surer is not None
    assert plan.recommended is not None
    assert cost(surer) > cost(plan.recommended)
    assumed = make_plan(replace(QUESTION, noise=replace(QUESTION.noise, df=None)))
    assert assumed.sureness is None


def test_more_noise_than_estimated_is_survived_by_the_surer_plan(plan: Plan) -> None:
    """Its power holds at the noise that is exceeded with a chance of one in five."""
    from scipy.stats import chi2

    assert plan.sureness is not None
    assert plan.sureness.surer is not None
    factor = (11 / chi2.ppf(0.2, 11)) ** 0.5
    chosen = plan.sureness.surer
    n, m = chosen.sessions_per_configuration, chosen.double_runs
    noisier = replace(
        QUESTION, noise=QUESTION.noise.scaled(factor), sessions=(n, n), double_runs=(m, m)
    )
    assert make_plan(noisier).options[0].power > 0.89


def test_hours_answer_backwards(plan: Plan) -> None:
    limited = make_plan(replace(QUESTION, max_hours=10.0))
    assert limited.best is not None
    assert limited.best.hours_in_all <= 10.0
    for option in limited.options:
        assert option.affordable == (option.hours_in_all <= 10.0)
    assert limited.recommended is None
    assert limited.elsewhere == plan.recommended or limited.elsewhere is not None
    text = plan_text.render(limited).replace("\n", " ")
    assert "Within 10.0 h in all the smallest difference that can be seen" in text


def test_out_of_reach_is_said() -> None:
    hopeless = make_plan(replace(QUESTION, effect=0.002, noise=Noise(0.01, 0.0, 0.01)))
    assert hopeless.recommended is None
    assert hopeless.elsewhere is None
    assert hopeless.sessions_at_least is not None
    assert hopeless.sessions_at_least > 100
    text = plan_text.render(hopeless)
    assert "\n\nNothing that was asked about will do.\n" in text
    assert hopeless.to_dict()["recommended"] is None


def test_one_design_is_answered_with_what_would_do() -> None:
    one = make_plan(replace(QUESTION, sessions=(2, 2), double_runs=(1, 1)))
    assert len(one.options) == 1
    assert one.recommended is None
    assert one.elsewhere is not None
    assert "What would do:" in plan_text.render(one)


def test_one_more_session_and_one_more_double_run(plan: Plan) -> None:
    base = plan.recommended
    assert base is not None
    assert plan.more_session is not None
    assert plan.more_double_run is not None
    assert plan.more_session.sessions_per_configuration == base.sessions_per_configuration + 1
    assert plan.more_double_run.double_runs == base.double_runs + 1
    assert (plan.more_session.detectable or 1) < (base.detectable or 0)


def test_the_json_is_the_contract(plan: Plan) -> None:
    found = plan.to_dict()
    json.dumps(found, allow_nan=False)
    assert {"quantity", "effect", "power", "noise", "options", "recommended"} <= set(found)
    assert found["noise"]["assumed"] is False
    assert found["effect"] == pytest.approx(QUESTION.natural(0.015))
    for option in [*found["options"], found["recommended"]]:
        assert {
            "sessions_per_configuration",
            "double_runs",
            "detectable",
            "power",
            "hours",
            "fuel",
            "distance",
            "order",
        } <= set(option)
    assert found["caution"] == CAUTION


def test_efficient_options_are_beaten_by_nothing_cheaper(plan: Plan) -> None:
    efficient = plan.efficient()
    for option in plan.options:
        cheaper = [e for e in efficient if cost(e) <= cost(option)]
        assert min(e.detectable or 9 for e in cheaper) <= (option.detectable or 9)


def test_the_text_answers_first_and_carries_the_caution(plan: Plan) -> None:
    text = plan_text.render(plan)
    chosen = plan.recommended
    assert chosen is not None
    declared, first, *_ = text.split("\n\n")
    assert declared.startswith("As declared, 3 sessions with each configuration and 3 double runs")
    assert first.startswith(f"{chosen.sessions_per_configuration} sessions with each configuration")
    assert chosen.order in text
    assert "skipper" in text
    assert "noise assumed" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_assumed_noise_is_marked_everywhere(plan: Plan) -> None:
    assumed = replace(plan, question=replace(QUESTION, assumed=("between sessions",)))
    text = plan_text.render(assumed)
    assert "(noise assumed)" in " ".join(text.splitlines()[:3])
    flowing = " ".join(text.split())
    assert flowing.count("(noise assumed)") == 4
    assert "ASSUMED, not measured" in flowing
    page = plan_html.render(replace(assumed, protocol="p 1.0"))
    assert page.count("(noise assumed)") >= 5
    assert assumed.to_dict()["noise"]["assumed"] is True


def test_the_page_stands_alone_and_is_the_same_each_time(plan: Plan) -> None:
    named = replace(plan, protocol="two-way-sweep 1.0")
    page = plan_html.render(named)
    assert page == plan_html.render(named)
    assert "<svg" in page
    assert "<script" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert page.index("skipper") < page.index("<svg")
    assert page.count("<tr>") > len(plan.options)


def test_command_writes_every_format(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--effect", "1.5 %", "--between", "0.4 %", "--within", "0.5 %"]
    asked += ["--sessions", "3-5", "--double-runs", "2"]
    assert main(["plan", "two-way-sweep", *asked, "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [o["sessions_per_configuration"] for o in found["options"]] == [3, 4, 5]
    assert found["quantity"] == "economy"  # what decides
    assert found["declared"]["sessions_per_configuration"] == 3
    assert found["supposed"] == []
    page = tmp_path / "plan.html"
    assert main(["plan", "two-way-sweep", *asked, "--output", str(page)]) == 0
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert main(["plan", "two-way-sweep", *asked[:4], "--sessions", "5-3"]) == 2


@pytest.fixture(scope="module")
def unknown() -> Plan:
    usual = (Noise(0.003, 0.0, 0.002), Noise(0.006, 0.0, 0.004), Noise(0.012, 0.0, 0.008))
    parts = ("between sessions", "session by set point", "between double runs")
    return make_plan(replace(QUESTION, noise=usual[1], assumed=parts, usual=usual))


def test_without_noise_a_range_is_supposed_and_what_hangs_on_it_is_said(unknown: Plan) -> None:
    text = " ".join(plan_text.render(unknown).split())
    assert text.startswith("As declared, 3 sessions with each configuration and 3 double runs")
    assert "no noise is known" in text
    assert "ASSUMED: common practice" in text
    assert "The number of sessions hangs on the noise" in text
    assert "or more than 10 with each configuration" in text


def test_each_noise_supposed_is_planned_as_if_it_were_given(unknown: Plan) -> None:
    seen = [each.declared.detectable or 0.0 for each in unknown.supposed]
    assert seen == sorted(seen)
    for each in unknown.supposed:
        alone = make_plan(replace(QUESTION, noise=each.noise))
        assert alone.recommended == each.recommended
        assert alone.declared.detectable == pytest.approx(each.declared.detectable, rel=0.02)
    middling = unknown.supposed[1]
    assert middling.recommended == unknown.recommended


def test_the_declared_design_with_one_session_each_sees_nothing() -> None:
    from slackwater.analysis.planning.power import Design

    lone = make_plan(replace(QUESTION, declared=Design(1, 2)))
    assert lone.declared.detectable is None
    assert lone.declared.power == 0.0
    assert "does not tell how much sessions differ" in " ".join(plan_text.render(lone).split())


def test_a_design_beyond_those_asked_about_is_told_as_well() -> None:
    from slackwater.analysis.planning.power import Design

    large = make_plan(replace(QUESTION, declared=Design(14, 9)))
    assert large.declared.detectable is not None
    assert large.best is not None
    assert large.declared.detectable < (large.best.detectable or 1.0)


def test_a_single_double_run_is_warned_of() -> None:
    single = make_plan(replace(QUESTION, double_runs=(1, 1)))
    assert single.recommended is not None
    assert "With a single double run" in " ".join(plan_text.render(single).split())
