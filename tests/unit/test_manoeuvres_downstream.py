"""What becomes of manoeuvres after the verdict: page, statement, audit, plan, noise, sheet, rehearsal, check."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path

import openpyxl
import pytest
from invented_tries import HEAD, PROTOCOL, lay

from slackwater.analysis import analyse
from slackwater.analysis.checking.examine import examine
from slackwater.analysis.cli import main
from slackwater.analysis.intake.try_table import read_tries
from slackwater.analysis.rehearsal.rehearsing import rehearse
from slackwater.analysis.result.result import Result
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.declared.trial import load_trial


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lay(tmp_path_factory.mktemp("tried"))


@pytest.fixture(scope="module")
def result(trial: Path) -> Result:
    return analyse(trial)


@pytest.fixture(scope="module")
def protocol(trial: Path) -> str:
    return str(trial.parent / "protocol.yaml")


def run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> str:
    code = main([*arguments])
    out = capsys.readouterr().out
    assert code in (0, 1), out
    return " ".join(out.split())


def test_the_page_shows_every_try_behind_the_figure_that_decides(result: Result) -> None:
    page = result.to_html()
    part = page[page.index('<section id="manoeuvres">') :]
    part = part[: part.index("</section>")]
    assert page.index('id="deciding"') < page.index('<section id="manoeuvres">')
    pictures = re.findall(r"<svg.*?</svg>", part, flags=re.DOTALL)
    assert len(pictures) == 4
    # A mark a try and four in the legend: two configurations, two directions.
    marks = pictures[0].count("<circle") + pictures[0].count('Z" fill=')
    assert marks == 36 + 4
    assert all(f">S{i}</text>" in pictures[0] for i in range(1, 7))
    assert "at rest, idling in neutral" in part


def test_text_and_json_tell_conditions_directions_and_tries(result: Result) -> None:
    text = " ".join(str(result).split())
    for words in ("What was tried", "20 kn first shown", "out and back", "cleared of the drift"):
        assert words in text
    rows = result.records("tries")
    assert len(rows) == 2 * 36 + 2 * 24
    assert {row["direction"] for row in rows} == {"out", "back", "port", "starboard"}
    told = {row["quantity"]: row for row in result.records("manoeuvres")}
    assert told["time_to_plane"]["tries_declared"] == 3
    assert told["time_to_plane"]["direction_difference"] == pytest.approx(-0.1, abs=0.03)
    assert told["time_to_plane"]["scatter"] == pytest.approx(0.05, abs=0.02)


def test_a_claim_on_time_to_plane_is_held_against_the_tries(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    claims = tmp_path / "claims.yaml"
    stated = (
        ("C1", "time_to_plane", "-15 %"),
        ("C2", "time_to_plane", "-40 %"),
        ("C3", "tactical_diameter", "-30 %"),
    )
    listed = "".join(
        f"  - {{id: {id}, quantity: {name}, baseline: bare, modified: tabs, "
        f"stated: {{change: {size}}}}}\n"
        for id, name, size in stated
    )
    claims.write_text(f"trial: {trial}\nclaims:\n{listed}", encoding="utf-8")
    found = json.loads(run("audit", str(claims), "--format", "json", capsys=capsys))["claims"]
    assert [each["verdict"] for each in found] == ["upheld", "overstated", "overstated"]
    reasons = {reason["check"]: reason for reason in found[0]["reasons"]}
    assert "at rest, idling in neutral" in reasons["manoeuvres"]["message"]
    assert "row of tries.csv" in run("audit", str(claims), capsys=capsys)


def test_a_claim_without_a_trial_is_read_and_its_arithmetic_looked_at(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    claims = tmp_path / "claims.yaml"
    claims.write_text(
        "claims:\n"
        "  - {id: C1, quantity: time_to_plane, stated: {baseline: 5.0 s, modified: 4.0 s, change: -20 %}}\n"
        "  - {id: C2, quantity: tactical_diameter, stated: {baseline: 60 m, modified: 50 m, change: -30 %}}\n",
        encoding="utf-8",
    )
    found = json.loads(run("audit", str(claims), "--format", "json", capsys=capsys))["claims"]
    assert [each["verdict"] for each in found] == ["untestable", "inconsistent"]


def test_a_claim_on_what_the_trial_did_not_try_says_so(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    claims = tmp_path / "claims.yaml"
    claims.write_text(
        f"trial: {trial}\nclaims:\n  - {{id: C1, quantity: stopping_distance, baseline: bare, "
        "modified: tabs, stated: {change: -10 %}}\n",
        encoding="utf-8",
    )
    told = run("audit", str(claims), capsys=capsys)
    assert "The trial tells no stopping_distance" in told


def test_a_plan_counts_pairs_of_tries_and_their_time(
    protocol: str, capsys: pytest.CaptureFixture[str]
) -> None:
    noise = ("--between", "2 %", "--within", "5 %", "--effect", "10 %")
    ask = ("plan", protocol, *noise, "--sessions", "4-6", "--double-runs", "3-5")
    found = json.loads(run(*ask, "--format", "json", capsys=capsys))
    assert found["repeats"] == "pairs of tries"
    options = {(o["sessions_per_configuration"], o["double_runs"]): o for o in found["options"]}
    assert options[4, 5]["power"] > options[4, 3]["power"]
    # Eight sessions, two pairs more of two tries, 60 s for a try and 60 s to the next.
    assert options[4, 5]["hours"] - options[4, 3]["hours"] == pytest.approx(8 * 2 * 2 * 120 / 3600)
    assert "A pair of tries is one out and back" in run(*ask, capsys=capsys)


def test_a_plan_without_any_noise_says_what_it_assumes(
    protocol: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = run("plan", protocol, "--sessions", "3-4", "--double-runs", "2-3", capsys=capsys)
    assert "ASSUMED" in told
    assert "between pairs of tries" in told


def test_noise_is_told_between_pairs_of_tries(
    trial: Path, result: Result, capsys: pytest.CaptureFixture[str]
) -> None:
    told = run("noise", str(trial), capsys=capsys)
    scatter = next(r for r in result.records("manoeuvres") if r["quantity"] == "time_to_plane")
    found = re.search(r"Time to plane: .{,120}?, pairs of tries in a session by ([0-9.]+) %", told)
    assert found is not None
    # A pair is the mean of two tries.
    assert float(found[1]) == pytest.approx(100 * scatter["scatter"] / 2**0.5, rel=0.03)
    assert "time_to_plane: {between_sessions:" in told


def test_noise_of_tries_one_way_alone_is_not_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No session has a pair: there is nothing to take the mean of."""
    one_way = lay(
        tmp_path,
        lambda text: "".join(
            line for line in text.splitlines(True) if ",acceleration,back," not in line
        ),
    )
    told = run("noise", str(one_way), capsys=capsys)
    assert "pairs of tries" in told
    assert "Time to plane" not in told


def test_noise_of_earlier_trials_lets_a_single_pair_of_sessions_tell(tmp_path: Path) -> None:
    """The noise is that of pairs: three pairs of tries a session carry a third of its variance."""
    prior = "noise: {time_to_plane: {between_sessions: 2 %, within_session: 3 %, sessions: 30}}\n"
    found = analyse(lay(tmp_path, protocol=lambda text: text + prior))
    row = next(row for row in found.compared if row.quantity == "time_to_plane")
    assert str(row.verdict) == "gain"


def test_a_statement_says_what_the_tries_leave_open(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = lay(tmp_path, protocol=lambda text: text.replace("drift_taken_out", "none"))
    told = run("statement", str(path), capsys=capsys)
    assert "Manoeuvres are those of the helmsmen of this trial" in told
    assert "What current and wind did to a try is still in: Tactical diameter" in told


def test_the_sheet_has_the_cautions_first_and_a_row_for_every_try(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "sheet.html"
    run("sheet", str(trial), "--output", str(page), capsys=capsys)
    text = page.read_text(encoding="utf-8")
    cautions = text[text.index('class="cautions"') : text.index("How each run is made")]
    for words in ("throw people out", "Kill cord", "all seated", "bystanders", "local rules"):
        assert words in cautions
    assert cautions.index("throw people out") < cautions.index("The skipper may call off any try")
    parts = re.findall(r'<section class="manoeuvres">.*?</section>', text, flags=re.DOTALL)
    assert len(parts) == 6
    assert parts[0].count('<td class="no">') == 6 + 4
    assert "throw people out" in parts[0]


def test_the_table_of_tries_is_prepared_and_can_be_filled_in(
    trial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(trial), "--rows", "tries", "--format", "csv"]) == 0
    read = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(read) == 6 * (6 + 4)
    ways = [row["direction"] for row in read[:6]]
    assert ways == ["out", "back", "back", "out", "out", "back"]
    assert "time_to_plane [s]" in read[0]


def test_a_workbook_of_tries_is_filled_in_and_read_as_the_text_is(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The rows of a workbook are those of the CSV; filled in alike, both give one result."""
    prepared, filled = tmp_path / "tries.xlsx", tmp_path / "filled.csv"
    assert main(["sheet", str(trial), "--rows", "tries", "--output", str(prepared)]) == 0
    capsys.readouterr()
    assert main(["sheet", str(trial), "--rows", "tries", "--format", "csv"]) == 0
    table = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    book = openpyxl.load_workbook(prepared)
    sheet = book["tries"]
    assert [["" if c.value is None else str(c.value) for c in row] for row in sheet.iter_rows()] == table  # fmt: skip
    offered = {str(each.sqref)[0]: each.formula1 for each in sheet.data_validations.dataValidation}
    assert offered == {"B": '"acceleration,turn"', "C": '"out,back,port,starboard"'}
    head = table[0]
    values = {"acceleration": ("time_to_plane [s]", "time_to_20_kn [s]"), "turn": ("tactical_diameter [m]", "lean [deg]")}  # fmt: skip
    for number, row in enumerate(table[1:], start=2):
        for name in values[row[1]]:
            value = round(5 + 0.3 * math.sin(number * 7.0 + len(name)), 3)
            row[head.index(name)] = str(value)
            sheet.cell(number, head.index(name) + 1).value = value
    with filled.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(table)
    book.save(tmp_path / "filled.xlsx")
    found = []
    for name in ("filled.csv", "filled.xlsx"):
        text = trial.read_text(encoding="utf-8").replace("manoeuvres: tries.csv", f"manoeuvres: {tmp_path / name}")  # fmt: skip
        path = trial.with_name(f"{name}.yaml")
        path.write_text(text, encoding="utf-8")
        found.append(analyse(path))
    assert found[0].to_dict()["comparisons"] == found[1].to_dict()["comparisons"]
    assert found[1].to_dict()["comparisons"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--format", "xlsx"), "add --output tries.xlsx"),
        (("--format", "html"), "comes as CSV or as a workbook, not as html"),
    ],
)
def test_forms_that_a_table_of_tries_cannot_have(
    trial: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], words: str
) -> None:
    assert main(["sheet", str(trial), "--rows", "tries", *more]) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_rows_of_tries_without_manoeuvres_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "two-way-sweep", "--rows", "tries", "--format", "csv"]) == 2
    assert "no manoeuvres" in capsys.readouterr().err


def test_the_tablets_page_leads_through_the_tries_in_turn(
    protocol: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "page.html")
    assert main(["sheet", protocol, "--for", "tablet", "--output", out]) == 0
    assert "paper" not in capsys.readouterr().err
    page = Path(out).read_text(encoding="utf-8")
    data = json.loads(re.findall(r'id="sheet">(.*?)</script>', page)[0])
    assert "throw people out" in data["cautions"][1]
    assert data["try_cautions"] == 6
    acceleration, turn = data["manoeuvres"]
    assert acceleration["tries"] == [
        [1, "out"], [1, "back"], [2, "back"], [2, "out"], [3, "out"], [3, "back"],
    ]  # fmt: skip
    assert [each["key"] for each in turn["columns"]] == ["tactical_diameter", "lean"]
    assert turn["drift"]
    # A clock stops what it starts with the try: no diameter, and no lean.
    assert ["per_second" in each for each in acceleration["columns"] + turn["columns"]] == [
        True, True, False, False,
    ]  # fmt: skip
    assert [heading for _, heading in data["try_head"]] == HEAD.split(",")


def test_the_trials_own_units_and_headings_of_tries_go_aboard_and_come_back(tmp_path: Path) -> None:
    """Minutes where the protocol has seconds, and a heading of the crew's own: a press is entered in minutes, and
    the table that comes back is read."""
    own = 'units: {time_to_plane: min}\ncolumns: {time_to_20_kn: "To 20"}\nmanoeuvres: tries.csv\n'
    path = lay(tmp_path, trial=lambda text: text.replace("manoeuvres: tries.csv\n", own))
    page = tmp_path / "page.html"
    assert main(["sheet", str(path), "--for", "tablet", "--output", str(page)]) == 0
    data = json.loads(re.findall(r'id="sheet">(.*?)</script>', page.read_text("utf-8"))[0])
    first, second = data["manoeuvres"][0]["columns"]
    assert (first["unit"], second["unit"]) == ("min", "s")
    assert first["slope"] == pytest.approx(60)
    assert first["per_second"] == pytest.approx(1 / 60)
    head = dict(data["try_head"])
    assert head["time_to_20_kn"] == "To 20 [s]"
    cells = {"session": "S1", "manoeuvre": "acceleration", "direction": "out", "try": "1",
             "time_to_plane": "0.1", "time_to_20_kn": "11.5"}  # fmt: skip
    text = ",".join(head.values()) + "\n" + ",".join(cells.get(key, "") for key in head) + "\n"
    (tmp_path / "tries.csv").write_text(text, encoding="utf-8")
    table = read_tries(load_trial(path))
    assert table is not None
    assert table.tries[0].values == pytest.approx({"time_to_plane": 6.0, "time_to_20_kn": 11.5})


def test_a_rehearsal_invents_tries_and_marks_them(protocol: str, tmp_path: Path) -> None:
    for name, text in rehearse(load_protocol(Path(protocol)), 3).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    found = analyse(tmp_path / "trial.yaml")
    assert {row.quantity for row in found.compared} >= {
        "speed",
        "time_to_plane",
        "tactical_diameter",
    }
    assert all("INVENTED" in row["note"] for row in found.records("tries"))
    assert "three times that gain" in (tmp_path / "truth.txt").read_text(encoding="utf-8")


def test_check_reads_the_tries(tmp_path: Path) -> None:
    path = lay(tmp_path, lambda text: text.replace("S1,acceleration,out,1", "S1,acceleration,up,1"))
    found = [each.rule for each in examine(str(path)).checked.findings]
    assert "direction-unknown" in found
    (tmp_path / "tries.csv").unlink()
    found = [each.rule for each in examine(str(path)).checked.findings]
    assert "no-tries-yet" in found


def test_versions_of_a_protocol_compare_manoeuvres(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    old.write_text(PROTOCOL, encoding="utf-8")
    new.write_text(PROTOCOL.replace("tries: 3", "tries: 4"), encoding="utf-8")
    assert "manoeuvres" in run("check", str(new), "--since", str(old), capsys=capsys)
