"""What may be printed of a trial: no more than the result carries, and all of it upheld by the audit."""

from __future__ import annotations

import csv
import io
import json
import random
import re
import shutil
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from invented_result import invented, untestable, without_tables

from slackwater.analysis.api import analyse, audit, statement
from slackwater.analysis.cli import main
from slackwater.analysis.report.statement import document, markdown
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.result.result import Result
from slackwater.analysis.statement.claims_file import claims_text
from slackwater.analysis.statement.contents import Statement, statement_of
from slackwater.analysis.statement.lines import Said, _value
from slackwater.analysis.wording.numbers import NBSP
from slackwater.protocol.library import shipped

UNLIKE = ("blind-rating", "turning", "two-way-sweep")
EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = (
    "workboat-interceptors",
    "finer-pitch-propeller",
    "twin-rudder-toe-in",
    "electric-launch",
    "metric-river-boat",
)
# Words of sentences beside titles, places and figures. Another one has to be looked at before it is
# printed: it may say more than the data do.
VOCABULARY = """
a all and any are as at be both by difference each exceed exceeds for from higher in intervals is it itself less lie
lower matter may more names no not of once points protocol sessions set shown smallest speeds than that the to
was with within would
"""


@pytest.fixture(scope="module")
def results() -> dict[str, Result]:
    return {name: analyse(EXAMPLES / name / "trial.yaml") for name in NAMES}


@pytest.fixture(scope="module")
def workboat(results: dict[str, Result]) -> Statement:
    return statement_of(results["workboat-interceptors"])


def sentences_of(made: Statement) -> list[str]:
    return [sentence for section in made.sections for sentence in made.told(section)]


@pytest.mark.parametrize("name", NAMES)
def test_the_audit_upholds_every_claim(
    name: str, results: dict[str, Result], tmp_path: Path
) -> None:
    made = statement_of(results[name])
    file = tmp_path / "claims.yaml"
    file.write_text(claims_text(made, EXAMPLES / name / "trial.yaml", tmp_path), "utf-8")
    audited = audit(file)
    assert len(audited.claims) == len(made.claims) > 40
    assert [(one.id, one.why) for one in audited.claims if one.verdict != "upheld"] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_difference_is_stated_where_it_is_established_and_nowhere_else(
    name: str, results: dict[str, Result]
) -> None:
    made = statement_of(results[name])
    assert made.sections
    for _, line in made.lines:
        assert line.said.shown == line.row.verdict.established
        assert line.said is not Said.DIRECTION  # something is always said of the size as well
        if line.said is Said.NOT_SHOWN:
            assert not re.search(r"\d.*%", line.change)
        if line.said.shown:
            assert line.higher == (line.row.change > 0)
    assert made.sections[0].deciding


def test_every_line_of_a_quantity_is_told(results: dict[str, Result]) -> None:
    """Nothing is left out for how it came out."""
    for result in results.values():
        made = statement_of(result)
        for section in made.sections:
            row = section.lines[0].row
            own = [
                each.at
                for each in result.compared
                if (each.baseline, each.modified, each.quantity)
                == (row.baseline, row.modified, row.quantity)
                and each.at.endswith(section.unit)
            ]
            assert [line.at for line in section.lines] == own


def test_no_word_says_more(results: dict[str, Result]) -> None:
    for result in results.values():
        made = statement_of(result)
        titles = set(
            re.findall(r"[a-z]+", " ".join(section.title.lower() for section in made.sections))
        )
        for sentence in sentences_of(made):
            bare = re.sub(r"“[^”]*”", "", sentence).replace(NBSP, " ").lower()
            units = {"rpm", "kn", "km/h", "l", "kw"}
            words = set(re.findall(r"[a-z][a-z/]*", bare)) - titles - units
            assert words <= set(VOCABULARY.split()), (words, sentence)


def test_a_value_is_rounded_as_the_guide_rounds_it() -> None:
    """JCGM 100:2008, 7.2.6: 10.057 62 ohm with an uncertainty of 27 milliohm becomes 10.058 ohm."""
    mean = Mean(
        configuration="A", quantity="speed", at="1 rpm", position=1.0, mean=10.05762,
        low=10.05762 - 0.027, high=10.05762 + 0.027, unit="kn", sessions=3, double_runs=3,
    )  # fmt: skip
    found = _value(mean, 0.95)
    assert found is not None
    assert (found.text, found.sessions) == ("10.058", 3)
    # Calibration that no change carries widens the interval of the value, and rounds it further.
    wider = _value(replace(mean, calibration=0.2), 0.95)
    assert wider is not None
    assert wider.text == "10.1"
    low, high = map(float, wider.interval.split(" to "))
    assert (low, high) == pytest.approx((9.7, 10.5), abs=0.06)  # 1.96 times 0.2 to either side


def test_calibration_is_that_of_the_instruments(results: dict[str, Result]) -> None:
    """A flow meter good to 1 % leaves 1 % of a flow open; economy takes the speed's part as well."""
    for row in results["workboat-interceptors"].means:
        if row.quantity == "fuel_flow" and row.position is not None:
            assert row.calibration == pytest.approx(0.01 * row.mean)
        if row.quantity == "economy" and row.at == "2200 rpm" and row.configuration == "bare":
            speed = 0.05 / 14.35  # the receiver's 0.05 kn at the mean speed there
            assert row.calibration == pytest.approx(
                row.mean * (0.01**2 + speed**2) ** 0.5, rel=1e-3
            )


def test_what_is_not_told_is_said(workboat: Statement, results: dict[str, Result]) -> None:
    told = " ".join(workboat.cannot_tell)
    for words in ("due to", "other boats", "No seal", "below 3.8", "best economy", "err somewhere"):
        assert words in told
    notes = " ".join(workboat.footnotes)
    for words in ("wind speed 3 to 7", "gave way to a ferry", "7.2.6"):
        assert words in notes
    first = " ".join(workboat.told(workboat.sections[0])).replace(NBSP, " ")
    assert "Intervals are of 95 %, for all 5 speeds at once; from 3 sessions with" in first
    hashes = " ".join(workboat.provenance)
    result = results["workboat-interceptors"]
    assert all(each.sha256 in hashes for each in result.inputs)


def test_departures_and_waivers_are_in_the_notes(results: dict[str, Result]) -> None:
    told = " ".join(statement_of(results["finer-pitch-propeller"]).footnotes)
    assert "displacement-too-loose" in told
    assert "corrected for displacement and fuel burned" in told
    departing = statement_of(invented())
    assert invented().deviations[0].message.rstrip(".") in " ".join(departing.footnotes)


def test_runs_in_doubt_are_told_before_any_figure() -> None:
    doubt = "In doubt: row 7 of S2; without it the difference at 2000 rpm is not shown."
    made = statement_of(replace(invented(), doubts=(doubt,)))
    assert made.run[-1] == doubt
    text = str(made)
    assert text.index(doubt) < text.index("## ")


def test_a_margin_is_stated_where_only_a_loss_would_matter(results: dict[str, Result]) -> None:
    made = statement_of(results["metric-river-boat"])
    told = " ".join(made.told(made.sections[0])).replace(NBSP, " ")
    assert "A difference in speed was not shown at any of the 5 set points" in told
    assert "Speed at all 5 set points was shown to be no more than 3 % lower" in told
    assert [c["stated"] for c in made.claims if c["id"].endswith("margin")][:1] == [
        {"change": "at most 3 % less"}
    ]


def with_differences(folder: Path) -> Path:
    """The electric launch with quantities that are compared by subtraction measured as well (invented)."""
    shutil.copytree(EXAMPLES / "electric-launch", folder)
    rng = random.Random(20260901)
    heading, *rows = (folder / "runs.csv").read_text("utf-8").splitlines()
    measured = ("trim [deg]", "exhaust_temperature [degC]", "sound_level [dB]", "throttle [%]")
    lines = [",".join([heading.removesuffix(",set_aside,note"), *measured, "set_aside", "note"])]
    for row in rows:
        large, rpm = row[:2] in ("E2", "E3", "E5", "E8"), int(row.split(",")[1])
        cells = (
            f"{2 + rpm / 500 + 0.5 * large + rng.gauss(0, 0.05):.2f}",
            f"{200 + rpm / 10 + 12 * large + rng.gauss(0, 2):.1f}",
            f"{60 + rpm / 100 - 2 * large + rng.gauss(0, 0.3):.1f}",
            f"{rpm / 13 + rng.gauss(0, 0.3):.1f}",
        )
        lines.append(",".join([row.removesuffix(",,"), *cells, "", ""]))
    (folder / "runs.csv").write_text("\n".join(lines) + "\n", "utf-8")
    protocol = (folder / "protocol.yaml").read_text("utf-8")
    more = """
  trim: {unit: deg, standard_uncertainty: 0.1 deg, shared: true}
  exhaust_temperature: {unit: degC, standard_uncertainty: 1 delta_degC, shared: true}
  sound_level: {unit: dB, standard_uncertainty: 0.5 dB, shared: true}
  throttle: {unit: "%", standard_uncertainty: 0.5 %, shared: true}

expected:"""
    protocol = protocol.replace("\nexpected:", more, 1)
    worth = "distance_per_energy: 3 %, trim: 1 deg, exhaust_temperature: 20 delta_degC}"
    protocol = protocol.replace("distance_per_energy: 3 %}", worth)
    (folder / "protocol.yaml").write_text(protocol, "utf-8")
    return folder / "trial.yaml"


def test_differences_of_angles_temperatures_and_levels_hold(tmp_path: Path) -> None:
    trial = with_differences(tmp_path / "boat")
    made = statement(trial)
    file = tmp_path / "claims.yaml"
    file.write_text(claims_text(made, trial, tmp_path), "utf-8")
    audited = audit(file).claims
    assert len(audited) > 150
    assert [(one.id, one.why) for one in audited if one.verdict != "upheld"] == []
    warmer = next(line for section, line in made.lines if section.title == "exhaust temperature")
    assert warmer.claims[0]["stated"]["difference"].endswith("delta_degC")
    assert warmer.change.endswith("°C")
    assert warmer.baseline is not None
    low, high = map(float, warmer.baseline.interval.split(" to "))
    assert (high - low) / 2 > 1.96  # the thermometer is good to 1 degree, whatever the sessions say


@pytest.mark.parametrize(
    "protocol",
    [
        # Scores, tries and runs; the others are of these kinds.
        pytest.param(name, marks=[] if name in UNLIKE else [pytest.mark.full])
        for name in sorted(shipped())
    ],
)
def test_a_rehearsal_of_each_shipped_protocol_ends_in_a_statement_that_holds(
    protocol: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "rehearsal"
    assert main(["rehearse", protocol, "--output", str(folder)]) == 0
    assert main(["statement", str(folder / "trial.yaml"), "--folder", str(folder / "out")]) == 0
    text = (folder / "out" / "statement.md").read_text("utf-8")
    assert text.startswith("# INVENTED")
    assert "(named by the protocol to decide)" in text
    assert main(["audit", str(folder / "out" / "claims.yaml")]) == 0
    assert "claims are upheld" in capsys.readouterr().out


def test_what_a_seal_parts_and_a_look_leaves_open_is_said(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "workboat-interceptors", tmp_path / "boat")
    for name in ("trial.yaml", "runs.csv"):
        file = tmp_path / "boat" / name
        file.write_text(file.read_text("utf-8").replace("2026-05", "2096-05"), "utf-8")
    protocol = tmp_path / "boat" / "protocol.yaml"
    text = protocol.read_text("utf-8").replace("per_configuration: 3", "per_configuration: 6")
    text = text.replace("order: ABBAAB ", "order: ABBAABBAABBA ")
    text = text.replace("  confidence:", "  looks: {at_sessions: [3, 6]}\n  confidence:")
    protocol.write_text(text, "utf-8")
    assert main(["seal", str(protocol)]) == 0
    trial = tmp_path / "boat" / "trial.yaml"
    made = statement(trial)
    assert "The trial goes on" in " ".join(made.run)
    flow = next(each for each in made.sections if each.title == "fuel flow")
    assert flow.afterwards == "found afterwards"
    assert "Fuel flow: Interceptors fitted against As delivered (found afterwards)" in str(made)
    assert not any("No seal" in each for each in made.cannot_tell)
    file = tmp_path / "claims.yaml"
    file.write_text(claims_text(made, trial, tmp_path), "utf-8")
    assert {one.verdict for one in audit(file).claims} == {"upheld"}


def test_one_session_each_states_nothing() -> None:
    made = statement(EXAMPLES / "one-morning-each" / "trial.yaml")
    assert made.claims == ()
    assert claims_text(made, "trial.yaml", ".") == ""
    assert all(line.said is Said.NOT_TESTED and not line.interval for _, line in made.lines)
    assert sentences_of(made) == []
    assert made.pictured is None
    assert "nothing tells how much sessions differ" in str(made)


@pytest.mark.parametrize("make", [without_tables, untestable])
def test_results_without_verdicts_have_a_statement(make: object) -> None:
    made = statement_of(make())  # type: ignore[operator]
    assert made.claims == ()
    assert str(made)
    assert made.to_html()
    assert made.to_csv()
    json.loads(made.to_json())


def test_the_table_has_interval_and_sessions_beside_each_value(workboat: Statement) -> None:
    rows = list(csv.DictReader(io.StringIO(workboat.to_csv())))
    assert len(rows) == len(workboat.lines)
    first = rows[0]
    assert first["baseline_value"] == "0.605"
    assert first["baseline_interval"] == "0.587 to 0.622"
    assert (first["sessions_baseline"], first["sessions_modified"]) == ("3", "3")
    assert float(first["unrounded_change"]) == pytest.approx(workboat.lines[0][1].row.change, 1e-4)
    assert all(not cell.startswith(("=", "@")) for row in rows for cell in row.values())


def hostile(workboat: Statement) -> Statement:
    section = workboat.sections[0]
    bad = replace(section, modified="<b>x</b> | `y` [z](http://x) \x1b[31m")
    return replace(workboat, title="# <script>alert(1)</script>", sections=(bad,))


def test_names_from_a_file_are_never_markup(workboat: Statement) -> None:
    made = hostile(workboat)
    page, text = made.to_html(), str(made)
    assert "<script>alert" not in page
    assert "<b>x" not in page
    assert "\x1b" not in page + text
    assert r"\<script\>" in text
    assert r"\[z\](http" in text
    rows = [line for line in text.splitlines() if line.startswith("|")]
    cells = {len(re.findall(r"(?<!\\)\|", line)) for line in rows}
    assert cells == {7}  # a bar in a name parts no cell


def test_a_document_opens_and_holds_the_same(workboat: Statement) -> None:
    docx = pytest.importorskip("docx")
    opened = docx.Document(io.BytesIO(document.render(workboat)))
    text = "\n".join(paragraph.text for paragraph in opened.paragraphs)
    for sentence in sentences_of(workboat):
        assert sentence in text
    cells = [[cell.text for cell in row.cells] for row in opened.tables[0].rows]
    assert cells[2][:3] == [f"13{NBSP}kn", f"+7.5{NBSP}%", f"+4.8 to +10.2{NBSP}%"]
    assert len(opened.inline_shapes) == 1


def test_everything_into_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    trial = tmp_path / "boat"
    shutil.copytree(EXAMPLES / "workboat-interceptors", trial)
    out = tmp_path / "out"
    words = ["statement", str(trial / "trial.yaml"), "--folder", str(out)]
    assert main(words) == 0
    assert capsys.readouterr().out == "workboat-interceptors, 15 of 32 differences shown\n"
    names = {"statement.md", "statement.html", "statement.csv", "statement.docx", "statement.svg"}
    assert {each.name for each in out.iterdir()} == names | {"statement.png", "claims.yaml"}
    assert (out / "statement.png").read_bytes().startswith(b"\x89PNG")
    assert "(statement.svg)" in (out / "statement.md").read_text("utf-8")
    assert main(["audit", str(out / "claims.yaml")]) == 0
    assert "All 81 claims are upheld" in capsys.readouterr().out
    # What an author may have changed since is not lost without being asked for.
    (out / "statement.md").write_text("mine", "utf-8")
    assert main(words) == 2
    assert "--replace" in capsys.readouterr().err
    assert (out / "statement.md").read_text("utf-8") == "mine"
    assert main([*words, "--replace"]) == 0


def test_a_document_tells_no_time_of_its_making(workboat: Statement) -> None:
    pytest.importorskip("docx")
    data = document.render(workboat)
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"1980-01-01T00:00:00Z</dcterms:modified>" in parts.read("docProps/core.xml")
    assert document.render(workboat) == data


def test_the_same_trial_gives_the_same_bytes(workboat: Statement, tmp_path: Path) -> None:
    again = statement(EXAMPLES / "workboat-interceptors" / "trial.yaml")
    assert (again.to_json(), again.to_html()) == (workboat.to_json(), workboat.to_html())
    assert markdown.render(again, "x.svg") == markdown.render(workboat, "x.svg")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--format", "docx"], "add --output"),
        (["--picture", "picture.jpg"], ".svg or .png"),
        (["--folder", "out", "--format", "html"], "leave the others away"),
        (["--output", "TRIAL"], "would overwrite"),
        (["--folder", "nowhere/out"], "does not exist"),
    ],
)
def test_what_cannot_be_done_is_refused_before_any_work(
    more: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    shutil.copytree(EXAMPLES / "workboat-interceptors", tmp_path / "boat")
    trial = str(tmp_path / "boat" / "trial.yaml")
    assert main(["statement", trial, *(trial if word == "TRIAL" else word for word in more)]) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert shown.out == ""
    assert [each.name for each in tmp_path.iterdir()] == ["boat"]


def test_without_a_document_writer_the_rest_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(document, "installed", lambda: False)
    trial = str(EXAMPLES / "electric-launch" / "trial.yaml")
    assert main(["statement", trial, "--folder", str(tmp_path / "out")]) == 0
    assert "slackwater[docx]" in capsys.readouterr().err
    assert not (tmp_path / "out" / "statement.docx").exists()
    assert (tmp_path / "out" / "statement.md").exists()
    assert main(["statement", trial, "--output", str(tmp_path / "x.docx")]) == 2
    assert "python-docx is not installed" in capsys.readouterr().err


def test_forms_by_ending_and_the_files_beside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trial = str(EXAMPLES / "electric-launch" / "trial.yaml")
    words = ["--claims", str(tmp_path / "c.yaml"), "--picture", str(tmp_path / "p.svg")]
    assert main(["statement", trial, "--output", str(tmp_path / "s.html"), *words]) == 0
    assert (tmp_path / "s.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert "<svg" in (tmp_path / "p.svg").read_text("utf-8")
    assert (tmp_path / "c.yaml").read_text("utf-8").startswith("# What the statement")
    capsys.readouterr()
    assert main(["statement", trial, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["sections"][0]["deciding"] is True
    assert len(data["claims"]) == 60
    assert main(["statement", trial]) == 0
    assert capsys.readouterr().out.startswith("# A larger propeller on an 8.5 m electric launch")
