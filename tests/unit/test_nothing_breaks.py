"""What once broke, each in its smallest form: no fault of the program, no false number, no stump."""

from __future__ import annotations

import csv
import io
import json
import shutil
import threading
import time
from pathlib import Path

import pytest

from slackwater.analysis.api import analyse
from slackwater.analysis.cli import main
from slackwater.analysis.wording import progress as told_progress

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"
HEAD = (
    "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
    "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
)
TRIAL = """\
trial: few-runs
protocol:
  protocol: few-runs
  runs: {set_points: {of: engine_speed, values: [1500 rpm, 2000 rpm]}, double_runs: 1}
  sessions: {order: ABBA}
  measures: {speed_over_ground: {unit: kn}, engine_speed: {unit: rpm}, fuel_flow: {unit: L/h}}
  analysis: {decides: speed, worthwhile: {speed: 1 %}}
configurations: {bare: {}, fitted: {}}
sessions:
  - {id: S1, configuration: bare, date: 2026-05-04}
  - {id: S2, configuration: fitted, date: 2026-05-05}
  - {id: S3, configuration: fitted, date: 2026-05-06}
  - {id: S4, configuration: bare, date: 2026-05-07}
runs: runs.csv
"""
Capture = pytest.CaptureFixture[str]


def lay(folder: Path, cells: dict[tuple[str, int], float], text: str = TRIAL) -> Path:
    """A trial of one double run in each of some cells: session and set point to speed [kn]."""
    rows = [HEAD]
    for (session, point), speed in cells.items():
        day = 3 + int(session[1])
        for minute, (way, sign) in enumerate((("out", 1), ("back", -1))):
            clock = f"2026-05-{day:02d}T{9 + point // 1000:02d}:{5 * minute:02d}:00"
            rows.append(
                f"{session},{point},1,{way},{clock},60,{speed + 0.5 * sign:.2f},{point + minute},"
                f"{point / 100 + 0.1 * minute:.1f},,"
            )
    (folder / "runs.csv").write_text("\n".join(rows) + "\n", "utf-8")
    path = folder / "trial.yaml"
    path.write_text(text, "utf-8")
    return path


# --- ordinary data ---------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["text", "json", "html"])
def test_each_configuration_at_a_set_point_of_its_own(
    form: str, tmp_path: Path, capsys: Capture
) -> None:
    cells = {("S1", 1500): 6.1, ("S2", 2000): 8.3, ("S3", 2000): 8.35, ("S4", 1500): 6.15}
    assert main(["analyse", str(lay(tmp_path, cells)), "--format", form]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    if form == "json":
        rows = json.loads(said.out)["comparisons"]
        at_set_points = [row for row in rows if row["at"].endswith("rpm")]
        assert {row["verdict"] for row in at_set_points} == {"untestable"}


def test_noise_of_a_quantity_that_no_session_has(tmp_path: Path, capsys: Capture) -> None:
    pitch = "{propeller_pitch: 24 in, gear_ratio: 1.75}"
    path = lay(tmp_path, {("S1", 1500): 6.1}, TRIAL.replace("{bare: {}", f"{{bare: {pitch}"))
    runs = tmp_path / "runs.csv"
    runs.write_text(runs.read_text("utf-8").replace(",1501,", ",n/a,"), "utf-8")
    assert main(["noise", str(path)]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    slip = " ".join(said.out.split("\n\n")[0].split()).split("Slip: ")[1]
    assert "nothing tells how sessions differ, nor how double runs of one session do." in slip
    assert "differ by –" not in said.out


def test_arithmetic_that_warns_raises_here_and_is_a_finding_for_users(tmp_path: Path) -> None:
    import warnings

    from slackwater.analysis.wording.arithmetic import watched

    with pytest.raises(RuntimeWarning), watched():
        warnings.warn("divide by zero", RuntimeWarning, stacklevel=1)
    with warnings.catch_warnings():
        warnings.resetwarnings()
        with watched() as seen:
            warnings.warn("divide by zero", RuntimeWarning, stacklevel=1)
            warnings.warn("old name", DeprecationWarning, stacklevel=1)
    (finding,) = seen.findings()
    assert finding.rule == "arithmetic"
    assert "divide by zero" in finding.message
    assert "old name" not in finding.message


# --- numbers that the data do not carry ------------------------------------------------------------


def test_an_interval_that_tells_nothing_is_no_verdict(tmp_path: Path) -> None:
    cells = {
        (session, point): speed * factor
        for session, factor in (("S1", 1.0), ("S2", 2.2), ("S3", 0.7), ("S4", 1.6))
        for point, speed in ((1500, 6.0), (2000, 8.0))
    }
    rows = [row for row in analyse(lay(tmp_path, cells)).compared if row.quantity == "speed"]
    assert {str(row.verdict) for row in rows} == {"untestable"}
    assert all("wider than ±50" in row.reason for row in rows)
    assert all(row.low is None and row.p_value is None for row in rows)


def _wild(folder: Path, value: str, row: int = 9) -> Path:
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE / name, folder)
    reader = csv.reader(io.StringIO((EXAMPLE / "runs.csv").read_text("utf-8")))
    rows = list(reader)
    rows[row - 1][rows[0].index("speed_over_ground [kn]")] = value
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    (folder / "runs.csv").write_text(out.getvalue(), "utf-8")
    return folder / "trial.yaml"


def test_a_wild_cell_prints_no_nought_that_is_none(tmp_path: Path, capsys: Capture) -> None:
    assert main(["analyse", str(_wild(tmp_path, "253.97"))]) == 0
    said = capsys.readouterr().out
    assert said.startswith("In doubt: row 9 ")
    for false in ("−0 ", "+0 ", "−0 %", "the 0 % that noise"):
        assert false not in said


# --- bad input -------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [
    ["plan", "two-way-sweep", "--seed", "-1"],
    ["plan", "two-way-sweep", "--seed", "9" * 30],
    ["sheet", "two-way-sweep", "--seed", "-1"],
])  # fmt: skip
def test_seeds(words: list[str], capsys: Capture) -> None:
    assert main(words) == 2
    assert "is no seed" in capsys.readouterr().err or words[-1] == "-1"


@pytest.mark.parametrize(
    "command",
    ["check", "analyse", "sheet", "plan", "noise", "audit", "seal", "seal --verify", "seal --claims",
     "plan two-way-sweep --noise", "plan two-way-sweep --levels", "new trial --from",
     "new trial --runs", "audit --to-claims"],
)  # fmt: skip
@pytest.mark.parametrize("name", ["n" * 300 + ".yaml", "n" * 300 + ".csv", "a/" * 3000 + "b"])
def test_names_longer_than_a_file_can_have(command: str, name: str, capsys: Capture) -> None:
    code = main([*command.split(), name])
    said = capsys.readouterr()
    assert code in (1, 2), said.err
    assert "fault of the program" not in said.err


def test_a_run_table_with_such_a_name(tmp_path: Path, capsys: Capture) -> None:
    path = lay(tmp_path, {("S1", 1500): 6.0}, TRIAL.replace("runs.csv", "n" * 300 + ".csv"))
    for command in ("check", "analyse", "sheet", "noise"):
        assert main([command, str(path)]) in (0, 1, 2)
        assert "fault of the program" not in capsys.readouterr().err


@pytest.mark.parametrize("length", ["-9 m", "0 m", "1e9 m"])
def test_a_waterline_that_cannot_be(length: str, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "claims.yaml"
    path.write_text(
        f"boat: {{waterline_length: {length}}}\nclaims:\n  - {{id: C1, quantity: speed, "
        "stated: {baseline: 16.2 kn, modified: 17.1 kn, change: +5.6 %}}\n",
        "utf-8",
    )
    assert main(["audit", str(path)]) == 2
    assert "claims.yaml:1:" in capsys.readouterr().err


def test_a_key_of_half_a_megabyte_is_quoted_by_its_ends(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "protocol.yaml"
    path.write_text("protocol: p\n" + "k" * 500_000 + ": 1\n", "utf-8")
    assert main(["check", str(path)]) in (1, 2)
    said = capsys.readouterr()
    assert len(said.out + said.err) < 10_000


def test_a_file_of_noise_is_told_with_its_line(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "noise.yaml"
    path.write_text("noise:\n  speed:\n    between_sessions: 0.1 kg\n    sessions: 6\n", "utf-8")
    words = [
        "plan",
        "two-way-sweep",
        "--quantity",
        "speed",
        "--noise",
        str(path),
        "--speed",
        "8 kn",
    ]
    assert main(words) == 2
    assert "noise.yaml:3:" in capsys.readouterr().err


def test_claims_of_a_table_do_not_replace_a_file_unasked(tmp_path: Path, capsys: Capture) -> None:
    table = EXAMPLE.parent / "published-article" / "table.csv"
    target = tmp_path / "claims.yaml"
    target.write_text("precious\n")
    assert main(["audit", str(table), "--quantity", "speed", "--to-claims", str(target)]) == 2
    assert "[output-exists]" in capsys.readouterr().err
    assert target.read_text() == "precious\n"


# --- the same bytes --------------------------------------------------------------------------------


def test_a_workbook_is_the_same_whenever_it_is_made(tmp_path: Path) -> None:
    first, second = tmp_path / "a.xlsx", tmp_path / "b.xlsx"
    assert main(["sheet", "two-way-sweep", "--output", str(first)]) == 0
    time.sleep(2.1)  # an archive keeps times to two seconds
    assert main(["sheet", "two-way-sweep", "--output", str(second)]) == 0
    assert first.read_bytes() == second.read_bytes()


# --- long work -------------------------------------------------------------------------------------


def test_long_work_says_where_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(told_progress, "FIRST", 0.01)
    said: list[str] = []
    heard = threading.Event()
    with told_progress.told(lambda text: (said.append(text), heard.set())):  # type: ignore[func-returns-value]
        told_progress.progress("trial 1 of 2")
        assert heard.wait(5)
    assert said[0] == "slackwater: trial 1 of 2 …"
    told_progress.progress("silent outside of a command")
