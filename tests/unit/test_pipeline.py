"""From a trial's files to its result."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.pipeline import compute
from slackwater.analysis.report.trial.terminal import render
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.terms import terms_of
from slackwater.protocol.declared.trial import load_trial

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("workboat-interceptors", "one-morning-each")

CONTRACT = {
    "": "schema tool trial protocol runs set_points comparisons current noise deviations findings",
    "tool": "name version",
    "protocol": "id version sha256",
    "runs": "read used set_aside",
    "set_points": "configuration quantity at mean low high unit sessions double_runs",
    "comparisons": "baseline modified quantity at change low high confidence simultaneous p_value "
    "noise_floor worthwhile verdict reason degrees_of_freedom",
    "current": "session at value unit",
    "noise": "quantity component value sessions",
}


@pytest.fixture(scope="module")
def results() -> dict[str, Result]:
    return {name: analyse(EXAMPLES / name / "trial.yaml") for name in NAMES}


def numbers(thing: Any) -> list[float]:
    if isinstance(thing, dict):
        return [n for value in thing.values() for n in numbers(value)]
    if isinstance(thing, list):
        return [n for value in thing for n in numbers(value)]
    return [thing] if isinstance(thing, float) else []


@pytest.mark.parametrize("name", NAMES)
def test_contract(results: dict[str, Result], name: str) -> None:
    data = results[name].to_dict()
    for part, keys in CONTRACT.items():
        things = data if not part else data[part]
        for thing in things if isinstance(things, list) else [things]:
            assert set(keys.split()) <= set(thing), part


@pytest.mark.parametrize("name", NAMES)
def test_nan_never(results: dict[str, Result], name: str) -> None:
    data = results[name].to_dict()
    found = numbers(data)
    assert len(found) > 100
    assert all(math.isfinite(value) for value in found)
    json.dumps(data, allow_nan=False)


@pytest.mark.parametrize("name", NAMES)
def test_same_input_same_bytes(results: dict[str, Result], name: str, tmp_path: Path) -> None:
    first = results[name]
    again = analyse(EXAMPLES / name / "trial.yaml")
    assert again.to_json() == first.to_json()
    # From another folder only the place of a finding differs: it names the file as it was given.
    shutil.copytree(EXAMPLES / name, tmp_path / "elsewhere")
    moved, data = analyse(tmp_path / "elsewhere" / "trial.yaml").to_dict(), first.to_dict()
    for finding in (*moved["findings"], *data["findings"]):
        finding["file"] = finding["file"] and Path(finding["file"]).name
    for finding in (*moved["deviations"], *data["deviations"]):
        finding["file"] = finding["file"] and Path(finding["file"]).name
    assert moved == data


def rows_of(result: Result, quantity: str = "speed") -> Any:
    return result.comparisons[result.comparisons["quantity"] == quantity]


def verdicts(result: Result, quantity: str) -> dict[str, str]:
    rows = rows_of(result, quantity)
    return dict(zip(rows["at"], rows["verdict"], strict=True))


def test_the_gain_in_the_middle_is_found_and_nothing_at_the_top(results: dict[str, Result]) -> None:
    speed = verdicts(results["workboat-interceptors"], "speed")
    assert {speed[f"{rpm} rpm"] for rpm in (2000, 2200, 2500)} == {"gain"}
    assert {speed[f"{rpm} rpm"] for rpm in (3000, 3500)} <= {"within noise", "equivalent"}


def test_the_usual_trial_ends_untestable(results: dict[str, Result]) -> None:
    found = results["one-morning-each"].comparisons
    assert set(found["verdict"]) == {"untestable"}
    speed = found[found["quantity"] == "speed"]
    assert speed["change"].mean() > 0.04  # the raw table looks like a gain of 6 %
    assert (speed["vanishes_at"] > 0).all()
    assert speed["low"].isna().all()


def test_quantities_of_the_first_example(results: dict[str, Result]) -> None:
    rows = results["workboat-interceptors"].comparisons
    found = rows[rows["at"].str.endswith(" rpm")]["quantity"].unique().tolist()
    # Engine speed was held there: it is an input of advance and slip, and no result.
    assert found == ["speed", "fuel_flow", "economy", "advance", "slip"]


def test_every_row_lands_somewhere() -> None:
    analysed = compute(load_trial(EXAMPLES / NAMES[0] / "trial.yaml"))
    used = set(analysed.reduction.frame["row"])
    aside = {run.row for run in analysed.reduction.set_aside}
    assert used.isdisjoint(aside)
    assert used | aside == set(analysed.runs.frame["row"])


# --- a trial of one's own ------------------------------------------------------------------------

TRIAL = """
trial: own
protocol:
  protocol: own-protocol
  runs:
    set_points: {{of: engine_speed, values: [2000 rpm, 3000 rpm]}}
    double_runs: 1
    directions: {directions}
  sessions: {{per_configuration: {each}, order: {order}, block: {block}}}
  measures:
    speed_over_ground: {{unit: kn}}
    engine_speed: {{unit: rpm}}
  analysis: {{current: double_run{analysis}}}
{more}
configurations: {{a: {{title: A}}, b: {{title: B}}}}
sessions:
{sessions}
"""


def own(folder: Path, order: str = "ABBA", block: str = "none", analysis: str = "", more: str = "",
        directions: str = "reciprocal", rows: list[str] | None = None) -> Result:  # fmt: skip
    sessions = "\n".join(
        f"  - {{id: S{i}, configuration: {c.lower()}, date: 2026-05-{4 + i // 2:02d}}}"
        for i, c in enumerate(order)
    )
    text = TRIAL.format(
        each=order.count("A"), order=order, block=block, sessions=sessions, analysis=analysis,
        more=more, directions=directions,
    )  # fmt: skip
    if rows is None:
        rows = own_rows(order)
    heading = "session,set_point [rpm],double_run,direction,speed_over_ground [kn]"
    (folder / "runs.csv").write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    path = folder / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return analyse(path)


def own_rows(order: str) -> list[str]:
    rows = []
    for i, letter in enumerate(order):
        day = (0.35, -0.5, 0.1, 0.2)[i // 2 % 4]  # both sessions of a day share it
        for rpm, speed in ((2000, 12.0), (3000, 20.0)):
            through = speed + day + (0.2 if letter == "B" else 0.0) + 0.01 * (i * rpm % 7)
            rows += [
                f"S{i},{rpm},1,out,{through + 0.6:.3f}",
                f"S{i},{rpm},1,back,{through - 0.6:.3f}",
            ]
    return rows


def test_blocks_by_day(tmp_path: Path) -> None:
    plain = own(tmp_path, "ABBAABBA")
    by_day = own(tmp_path, "ABBAABBA", block="day")
    assert set(rows_of(plain)["verdict"]) == {"within noise"}
    assert set(rows_of(by_day)["verdict"]) == {"gain"}
    assert (rows_of(by_day)["noise_floor"] < rows_of(plain)["noise_floor"]).all()
    assert any("one day" in paragraph for paragraph in by_day.method)


def test_prior_noise_from_the_protocol(tmp_path: Path) -> None:
    without = own(tmp_path, "AB")
    noise = "  noise: {speed: {between_sessions: 0.3 %%, sessions: 12, within_session: 0.2 %%%s}}"
    half = own(tmp_path, "AB", more=noise % "")
    joined = own(tmp_path, "AB", more=noise % ", session_by_set_point: 0.1 %")
    assert set(rows_of(without)["verdict"]) == {"untestable"}
    assert "untestable" not in set(rows_of(joined)["verdict"])
    assert "prior-unchecked" in {finding.rule for finding in joined.findings}
    told = ("holds only if", "earlier trials")
    assert all(any(word in each for word in told) for each in rows_of(joined)["reason"])
    # What differs from set point to set point by itself has to be known too.
    assert set(rows_of(half)["verdict"]) == {"untestable"}
    assert all("session_by_set_point" in each for each in rows_of(half)["reason"])
    assert rows_of(joined)["degrees_of_freedom"].between(1, 22).all()


def test_one_way_runs_are_never_passed_off(tmp_path: Path) -> None:
    rows = [row for row in own_rows("ABBA") if ",out," in row]
    result = own(tmp_path, directions="one_way", rows=rows)
    assert set(rows_of(result)["verdict"]) == {"untestable"}
    assert "the runs went one way only" in rows_of(result)["reason"].iloc[0]


def test_family_all_shares_the_error_among_quantities(tmp_path: Path) -> None:
    own(tmp_path, analysis=", family: all")
    analysed = compute(load_trial(tmp_path / "trial.yaml"))
    protocol, table = analysed.trial.protocol, analysed.tables["speed"]
    assert terms_of(protocol, table, families=1).confidence == pytest.approx(0.95)
    assert terms_of(protocol, table, families=5).confidence == pytest.approx(0.99)
    assert terms_of(protocol, table, families=5).simultaneous


def test_a_session_without_runs_is_left_out(tmp_path: Path) -> None:
    rows = [row for row in own_rows("ABBA") if not row.startswith("S3")]
    result = own(tmp_path, rows=rows)
    assert "S3" not in set(result.session_values["session"])
    assert set(rows_of(result)["sessions_baseline"]) == {1}


def test_no_run_left_is_a_result_and_no_crash(tmp_path: Path) -> None:
    rows = [row for row in own_rows("ABBA") if ",out," in row]
    result = own(tmp_path, rows=rows)
    assert (result.runs.read, result.runs.used, result.runs.set_aside) == (8, 0, 8)
    assert len(result.comparisons) == 0
    assert "8 set aside" in render(result, full=True)


def test_an_ordinary_trial_waits_for_no_library_that_it_does_not_ask() -> None:
    """What ratings, pools and cross-checks load is loaded where there are some."""
    import subprocess
    import sys

    trial = Path(__file__).parents[2] / "examples" / "one-morning-each" / "trial.yaml"
    code = (
        "import sys, slackwater; slackwater.analyse(sys.argv[1]); "
        "print(*{'scipy.stats', 'scipy.optimize', 'matplotlib', 'duckdb', 'distributed'} & set(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(trial)], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []
