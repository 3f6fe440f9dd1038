"""The answer first: in a dozen lines, fair, in plain words, and each fact once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from invented_result import invented, without_tables

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.blocks import blocks
from slackwater.analysis.report.trial.bottom_line import bottom_line, leading_of
from slackwater.analysis.report.trial.ranking import ranked, sentences
from slackwater.analysis.report.trial.sentences import floor_span, found_sentences, short_forms
from slackwater.analysis.report.trial.terminal import render, render_answer
from slackwater.analysis.result.result import Result, table
from slackwater.protocol.findings import Finding, Severity

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TRIALS = sorted(path.parent.name for path in EXAMPLES.glob("*/trial.yaml"))


def flat(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


@pytest.fixture(scope="module")
def results() -> dict[str, Result]:
    return {name: analyse(EXAMPLES / name / "trial.yaml") for name in TRIALS}


@pytest.mark.parametrize("name", TRIALS)
def test_the_answer_of_each_example_fits_a_dozen_lines(
    results: dict[str, Result], name: str
) -> None:
    lines = render_answer(results[name]).splitlines()
    assert 3 <= len(lines) <= 12
    assert max(len(line) for line in lines) <= 80
    assert render(results[name]).splitlines()[: len(lines)] == lines


@pytest.mark.parametrize("name", TRIALS)
@pytest.mark.parametrize("full", [False, True])
def test_a_narrow_terminal_is_not_overrun(
    results: dict[str, Result], name: str, full: bool
) -> None:
    text = render(results[name], width=40, full=full)
    assert max(len(line) for line in text.splitlines() if " " in line.strip()) <= 40


@pytest.mark.parametrize("name", TRIALS)
def test_full_tells_more_and_the_short_text_says_so(results: dict[str, Result], name: str) -> None:
    short, full = render(results[name]), render(results[name], full=True)
    assert "--full" in short
    assert "--full" not in full
    assert len(full.splitlines()) > 2 * len(short.splitlines())
    assert "\nMethod\n" in full


def test_the_figure_declared_to_decide_leads(results: dict[str, Result]) -> None:
    first = render_answer(results["workboat-interceptors"])
    assert first.startswith(
        "Interceptors fitted against As delivered, economy at equal speed (declared to\ndecide): gain"
    )


def test_equal_speed_leads_where_nothing_was_declared_to_decide(results: dict[str, Result]) -> None:
    found = blocks(results["one-morning-each"])
    assert [block.title for block in leading_of(found)] == ["economy at equal speed"]


# --- neutral where the propeller differs ---------------------------------------------------------


def verdicts(result: Result, figure: str, at_speed: bool = False) -> set[str]:
    unit = " kn" if at_speed else " rpm"
    return {
        str(row.verdict)
        for row in result.compared
        if row.quantity == figure and str(row.at).endswith(unit)
    }


def test_another_pitch_is_no_merit_at_equal_engine_speed(results: dict[str, Result]) -> None:
    result = results["finer-pitch-propeller"]
    assert verdicts(result, "speed") == {"lower"}
    assert verdicts(result, "fuel_flow") == {"lower"}
    assert not {"gain", "loss"} & verdicts(result, "economy")
    assert {row.better for row in result.compared if str(row.at).endswith("rpm")} == {None}
    # At equal speed it is fair: more of it is better, whatever turns.
    fair = [row for row in result.compared if row.quantity == "economy" and "kn" in str(row.at)]
    assert {row.better for row in fair} == {"more"}
    assert any("differ in propeller pitch" in remark for remark in result.remarks)


def test_the_same_propeller_keeps_gain_and_loss(results: dict[str, Result]) -> None:
    assert verdicts(results["workboat-interceptors"], "speed") == {"gain", "within noise"}
    remarks = " ".join(results["workboat-interceptors"].remarks)
    assert "asks different things" not in remarks


def test_a_propeller_by_another_name_is_another(results: dict[str, Result], tmp_path: Path) -> None:
    text = (EXAMPLES / "workboat-interceptors" / "trial.yaml").read_text("utf-8")
    for name in ("protocol.yaml", "runs.csv"):
        (tmp_path / name).write_bytes((EXAMPLES / "workboat-interceptors" / name).read_bytes())
    given = text.replace("title: As delivered,", "title: As delivered, propeller: three blades,")
    trial = tmp_path / "trial.yaml"
    trial.write_text(given, encoding="utf-8")
    moved = analyse(trial)
    assert verdicts(moved, "speed") == {"higher", "within noise"}
    # Only the words differ: the figures are the same.
    for one, other in zip(moved.compared, results["workboat-interceptors"].compared, strict=True):
        assert (one.change, one.low, one.p_value) == (other.change, other.low, other.p_value)


# --- worth, in plain words, on both sides --------------------------------------------------------


def worth_of(verdict: str, *worths: str) -> str:
    rows = [row for row in invented().records("comparisons") if row["quantity"] == "speed"]
    for row, worth in zip(rows, worths, strict=False):
        row.update(verdict=verdict, worth=worth)
    result = replace(
        invented(),
        comparisons=table("comparisons", rows[: len(worths)]),
        set_points=table("set_points"),
    )
    return flat(" ".join(found_sentences(blocks(result)[0])))


@pytest.mark.parametrize("verdict", ["gain", "loss", "higher", "lower"])
def test_worth_is_said_alike_on_both_sides(verdict: str) -> None:
    text = worth_of(verdict, "exceeds", "exceeds", "may exceed", "less than")
    assert text.endswith(
        "The difference exceeds 1 % at 1000 and 1400 rpm, may exceed 1 % at 1800 rpm and is less "
        "than 1 % at 2200 rpm."
    )
    assert "worthwhile" not in text


def test_worth_at_every_place_names_none() -> None:
    assert worth_of("loss", "exceeds", "exceeds").endswith("The difference exceeds 1 %.")
    assert worth_of("gain", "less than", "less than").endswith("The difference is less than 1 %.")


def test_a_shortened_line_drops_no_opposite_verdict() -> None:
    rows = [row for row in invented().records("comparisons") if row["quantity"] == "speed"]
    for number, row in enumerate(rows):
        row.update(verdict="gain" if number < 4 else "loss" if number < 6 else "within noise")
    result = replace(invented(), comparisons=table("comparisons", rows))
    forms = short_forms(blocks(result)[0])
    assert all("loss at 2" in form for form in forms)
    assert len(forms[-1]) < len(forms[0])


# --- three configurations ------------------------------------------------------------------------


def three(third_pair: bool) -> Result:
    """The invented trial with a third configuration, a tenth better than the second."""
    full = invented()
    rows = full.records("comparisons")
    more: list[dict[str, Any]] = []
    for row in rows:
        better = {
            "modified": "wedge",
            "modified_mean": row["modified_mean"] * 1.1,
            "verdict": "gain",
            "noise_floor": 0.013,
        }
        more.append({**row, **better})
        if third_pair:
            between = {"baseline": "fitted", "baseline_mean": row["modified_mean"]}
            more.append({**row, **better, **between, "verdict": "within noise"})
    return replace(
        full,
        configurations={**full.configurations, "wedge": "Wedges fitted"},
        comparisons=table("comparisons", [*rows, *more]),
    )


def test_three_configurations_are_ranked_and_pairs_that_are_apart_are_named() -> None:
    result = three(third_pair=True)
    leading = leading_of(blocks(result))
    assert ranked(leading) == ["wedge", "fitted", "bare"]
    told = flat(" ".join(sentences(result, leading)))
    assert "from the best: Wedges fitted, Interceptors fitted, As delivered." in told
    assert "Interceptors fitted ahead of As delivered at 2600 and 3000 rpm" in told
    assert "Wedges fitted ahead of As delivered everywhere" in told
    assert "Not told apart: Wedges fitted and Interceptors fitted." in told
    assert len(render_answer(result).splitlines()) <= 12


def test_a_pair_that_was_not_compared_is_said() -> None:
    result = three(third_pair=False)
    told = flat(" ".join(sentences(result, leading_of(blocks(result)))))
    assert "Not compared with each other" in told
    assert told.endswith("Wedges fitted and Interceptors fitted.")


def test_less_is_ahead_where_less_is_better() -> None:
    fuel = [block for block in blocks(three(True)) if block.quantity == "fuel_flow"]
    assert ranked(fuel)[-1] == "wedge"


def test_floors_of_several_pairs_are_one_span() -> None:
    result = three(third_pair=True)
    assert flat(floor_span(leading_of(blocks(result)))) == "1.1 to 1.3 %"
    assert " or " not in render_answer(result).split("Pair by pair")[0]


# --- one fact once -------------------------------------------------------------------------------


def found(session: str | None, message: str, rule: str = "shallow-for-speed") -> Finding:
    return Finding(rule, Severity.WARNING, message, session=session)


def test_the_report_counts_facts_and_not_sessions() -> None:
    deviations = tuple(found(f"S{n}", f"session S{n}: {n} m of water") for n in range(1, 7))
    result = replace(invented(), deviations=deviations)
    text = flat(render(result))
    assert "departs from its protocol in 1 matter (1 warning)" in text
    assert "alike in sessions S2, S3, S4, S5, S6" in text


def test_nothing_compared_has_no_bottom_line() -> None:
    assert bottom_line(without_tables()) is None


def no_loss_of(*p_values: float | None) -> str:
    """What is found of a speed of which only a loss of 1 % would matter, at 95 %."""
    rows = [row for row in invented().records("comparisons") if row["quantity"] == "speed"]
    for row, p in zip(rows, p_values, strict=False):
        row.update(verdict="within noise", worth=None, no_loss_p=p, confidence=0.95)
    comparisons = table("comparisons", rows[: len(p_values)])
    result = replace(invented(), comparisons=comparisons, set_points=table("set_points"))
    return flat(" ".join(found_sentences(blocks(result)[0])))


def test_a_loss_that_is_ruled_out_is_said_with_the_answer() -> None:
    assert no_loss_of(0.01, 0.04).endswith(
        "A loss of 1 % or more is ruled out at all 2 set points."
    )
    told = no_loss_of(0.01, 0.06, 0.2)
    assert told.endswith("A loss of 1 % or more is ruled out at 1 of 3 set points (1000 rpm).")
    assert no_loss_of(0.06, 0.2).endswith("A loss of 1 % is ruled out nowhere.")
    assert no_loss_of(0.01).endswith("A loss of 1 % or more is ruled out.")
    assert "ruled out" not in no_loss_of(None, None)
