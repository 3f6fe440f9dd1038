"""What tablets hand back, put into the run table: several devices in any order, nothing written over."""

from __future__ import annotations

import base64
import csv
import io
import json
import zlib
from importlib.resources import files
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from invented_protocols import trial_file
from jsonschema import Draft202012Validator

from slackwater.analysis.cli import main
from slackwater.analysis.commands.writing import write_added_to
from slackwater.analysis.report.schemas import render
from slackwater.analysis.sheet.aboard import MOST_BYTES, parse_aboard
from slackwater.protocol.findings import InputError

HEAD = {
    "session": "session", "set_point": "set_point [rpm]", "double_run": "double_run",
    "direction": "direction", "heading": "heading [deg]", "start": "start", "duration": "duration [s]",
    "speed_over_ground": "speed_over_ground [kn]", "engine_speed": "engine_speed [rpm]",
    "fuel_flow": "fuel_flow [L/h]", "set_aside": "set_aside", "note": "note",
}  # fmt: skip
Capture = pytest.CaptureFixture[str]


def row(session: str, way: str, speed: str = "", **more: str) -> dict[str, str]:
    made = {
        "start": "2026-05-04T08:00:00", "duration": "60", "speed_over_ground": speed,
        "engine_speed": "1001", "fuel_flow": "9.5",
    }  # fmt: skip
    cells = made if speed else {}
    naming = {"session": session, "set_point": "1000", "double_run": "1", "direction": way}
    return {**dict.fromkeys(HEAD, ""), **naming, **cells, **more}


def entry(n: int, name: str, value: str, run: str = "s0r1a1") -> dict[str, Any]:
    return {
        "n": n, "at": f"2026-05-04T07:00:{n:02d}.000Z", "zone": 60, "by": "AB", "run": run,
        "name": name, "value": value, "from": "typed",
    }  # fmt: skip


def aboard(device: str, rows: list[dict[str, str]], **more: Any) -> dict[str, Any]:
    return {
        "schema": 1, "tool": {"name": "slackwater", "version": "0"}, "kind": "aboard",
        "sheet": "0123456789abcdef", "trial": "invented",
        "protocol": {"id": "invented", "version": "1.0"}, "rehearsal": False, "device": device,
        "written": "2026-05-04T12:00:00.000Z", "head": HEAD, "rows": rows, "sessions": [],
        "journal": [entry(1, "device", device, "")], **more,
    }  # fmt: skip


def hand_in(folder: Path, *handed: dict[str, Any]) -> list[str]:
    paths = []
    for number, each in enumerate(handed):
        path = folder / f"aboard-{number}.json"
        path.write_text(json.dumps(each), encoding="utf-8")
        paths.append(str(path))
    return paths


def merge(folder: Path, *handed: dict[str, Any], more: tuple[str, ...] = ()) -> int:
    trial = folder / "trial.yaml"
    if not trial.exists():
        trial_file(folder)
    return main(["sheet", "--merge", *hand_in(folder, *handed), "--trial", str(trial), *more])


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ONE = aboard("aa", [row("S1", "out", "8.10"), row("S1", "back", "7.20")])
TWO = aboard("bb", [row("S3", "out", "8.4"), row("S3", "back")])
THREE = aboard("cc", [row("S2", "out", "8.3", note="a gull"), row("S2", "back", "7.4")])


def test_several_devices_in_any_order_make_one_table(tmp_path: Path) -> None:
    texts = set()
    for order in permutations((ONE, TWO, THREE)):
        folder = tmp_path / str(len(texts) + len(list(tmp_path.iterdir())))
        folder.mkdir()
        assert merge(folder, *order) == 0
        texts.add((folder / "runs.csv").read_text("utf-8"))
        rows = table(folder / "runs.csv")
        assert [r["session"] for r in rows] == ["S1", "S1", "S2", "S2", "S3", "S3"]
        assert rows[0]["speed_over_ground [kn]"] == "8.10"  # as it was typed
        assert "heading [deg]" not in rows[0]  # nobody noted one
    assert len(texts) == 1


def test_one_after_the_other_and_again(tmp_path: Path, capsys: Capture) -> None:
    assert merge(tmp_path, ONE) == 0
    assert merge(tmp_path, TWO, THREE) == 0
    before = (tmp_path / "runs.csv").read_bytes()
    capsys.readouterr()
    assert merge(tmp_path, ONE, TWO, THREE) == 0
    assert "S1: 2 runs there already" in capsys.readouterr().out
    assert (tmp_path / "runs.csv").read_bytes() == before


def test_a_session_that_comes_late_takes_its_place(tmp_path: Path) -> None:
    assert merge(tmp_path, TWO) == 0
    assert merge(tmp_path, THREE) == 0
    assert merge(tmp_path, ONE) == 0
    sessions = [each["session"] for each in table(tmp_path / "runs.csv")]
    assert sessions == ["S1", "S1", "S2", "S2", "S3", "S3"]


def test_a_prepared_table_is_filled_in_and_keeps_its_own(tmp_path: Path, capsys: Capture) -> None:
    trial = trial_file(tmp_path)
    assert main(["sheet", str(trial), "--seed", "8", "--output", str(tmp_path / "runs.csv")]) == 0
    text = (tmp_path / "runs.csv").read_text("utf-8")
    head, *lines = text.splitlines()
    lines = [f"{line},kept {n}" for n, line in enumerate(lines)]  # a column of the crew's own
    mine = "\r\n".join([f"{head},mine", *lines]) + "\r\n"
    (tmp_path / "runs.csv").write_text(f"\ufeff{mine}", encoding="utf-8", newline="")
    heading = aboard("aa", [row("S1", "out", "8.1", heading="045.5")])
    assert merge(tmp_path, heading) == 0
    written = (tmp_path / "runs.csv").read_bytes().decode("utf-8")
    assert written.startswith("\ufeffsession,")
    assert written.count("\r\n") == 65
    rows = list(csv.DictReader(io.StringIO(written.removeprefix("\ufeff"))))
    assert [r["mine"] for r in rows] == [f"kept {n}" for n in range(64)]
    filled = [r for r in rows if r["start"]]
    assert len(filled) == 1
    assert filled[0]["heading [deg]"] == "045.5"
    assert list(rows[0]).index("heading [deg]") < list(rows[0]).index("set_aside")
    assert main(["analyse", str(trial)]) in (0, 2)
    assert "Traceback" not in capsys.readouterr().err


def test_two_devices_may_each_note_part_of_a_run(tmp_path: Path) -> None:
    speed = aboard("aa", [row("S1", "out", speed_over_ground="8.1")])
    fuel = aboard("bb", [row("S1", "out", fuel_flow="9.5", start="2026-05-04T08:00:00")])
    assert merge(tmp_path, speed, fuel) == 0
    (only,) = table(tmp_path / "runs.csv")
    assert (only["speed_over_ground [kn]"], only["fuel_flow [L/h]"]) == ("8.1", "9.5")


def test_a_run_set_aside_and_repeated_keeps_both(tmp_path: Path) -> None:
    first = aboard(
        "aa", [row("S1", "out", "8.1", set_aside="crossed a wake"), row("S1", "back", "7.1")]
    )
    assert merge(tmp_path, first) == 0
    rows = [
        *first["rows"][:1],
        row("S1", "out", "8.2", start="2026-05-04T09:00:00"),
        *first["rows"][1:],
    ]
    later = aboard("aa", rows, journal=[*first["journal"], entry(2, "repeat", "x")])
    assert merge(tmp_path, later) == 0
    speeds = [r["speed_over_ground [kn]"] for r in table(tmp_path / "runs.csv")]
    assert speeds == ["8.1", "8.2", "7.1"]


def test_the_schema_is_true_to_what_is_read() -> None:
    text = (files("slackwater.protocol.schemas") / "aboard.schema.json").read_text("utf-8")
    assert text == render("aboard.schema.json")
    validator = Draft202012Validator(json.loads(text))
    assert list(validator.iter_errors({**ONE, "journal": [entry(1, "note", "x")]})) == []
    for change, _ in WRONG.values():
        structural = not {"trial", "rehearsal"} & change.keys() and "S9" not in str(change)
        assert bool(list(validator.iter_errors({**ONE, **change}))) == structural


# --- what is refused, with nothing written -----------------------------------------------------------


def test_a_conflict_is_told_and_nothing_is_written(tmp_path: Path, capsys: Capture) -> None:
    assert merge(tmp_path, ONE) == 0
    before = (tmp_path / "runs.csv").read_bytes()
    other = aboard("bb", [row("S1", "out", "8.9"), row("S1", "back", "7.20"), *TWO["rows"]])
    capsys.readouterr()
    assert merge(tmp_path, other) == 2
    said = capsys.readouterr().err
    assert "S1, set point 1000, double run 1, out: speed_over_ground is '8.10' in the table" in said
    assert "'8.9' from device bb" in said
    assert (tmp_path / "runs.csv").read_bytes() == before


def test_a_run_mended_aboard_after_a_merge_says_so(tmp_path: Path, capsys: Capture) -> None:
    assert merge(tmp_path, ONE) == 0
    journal = [*ONE["journal"], entry(2, "speed_over_ground", "8.10")]
    journal.append(entry(3, "speed_over_ground", "8.2"))
    mended = aboard("aa", [row("S1", "out", "8.2"), row("S1", "back", "7.20")], journal=journal)
    assert merge(tmp_path, mended) == 2
    assert "aboard 8.10 was entered at 2026-05-04T07:00:02" in capsys.readouterr().err


def test_files_of_one_device_the_later_holds_and_a_fork_is_refused(tmp_path: Path) -> None:
    later = aboard(
        "aa",
        [row("S1", "out", "8.15"), row("S1", "back", "7.20")],
        journal=[*ONE["journal"], entry(2, "speed_over_ground", "8.15")],
    )
    assert merge(tmp_path, later, ONE) == 0
    assert table(tmp_path / "runs.csv")[0]["speed_over_ground [kn]"] == "8.15"
    (tmp_path / "runs.csv").unlink()
    fork = aboard("aa", ONE["rows"], journal=[entry(1, "by", "other", ""), entry(2, "note", "x")])
    assert merge(tmp_path, ONE, fork) == 2
    assert not (tmp_path / "runs.csv").exists()


WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "another trial": ({"trial": "other"}, "noted for the trial 'other'"),
    "a rehearsal": ({"rehearsal": True}, "row-invented"),
    "an unknown session": ({"rows": [row("S9", "out", "8.1")]}, "'S9' is no session of the trial"),
    "another version": ({"schema": 2}, "schema"),
    "a number for a text": ({"rows": [{**row("S1", "out"), "note": 5}]}, "rows.0.note"),
    "a strange key": ({"more": 1}, "more"),
    "a strange device": ({"device": "../../x"}, "device"),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_does_not_fit_is_refused(what: str, tmp_path: Path, capsys: Capture) -> None:
    change, said = WRONG[what]
    assert merge(tmp_path, {**ONE, **change}) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told
    assert not (tmp_path / "runs.csv").exists()


BROKEN = {
    "nothing": (b"", "neither JSON from a tablet"),
    "cut short": (json.dumps(ONE).encode()[:400], "cut short or changed"),
    "not text": (b"\xff\xfe\x00", "no text in UTF-8"),
    "not a number": (json.dumps({**ONE, "schema": float("nan")}).encode(), "NaN"),
    "a list": (b"[1]", "neither JSON"),
    "deep": (b'{"a":' * 100_000, "cut short or changed"),
    "no codes": (b"SLACKWATER abcd 1/2 !!!", "neither JSON"),
    "a code missing": (b"SLACKWATER abcd 1/2 AAAA", "of 2 codes 2 are missing"),
    "two sets": (b"SLACKWATER abcd 1/2 AAAA\nSLACKWATER abce 2/2 AAAA", "2 sets"),
    "codes of nothing": (b"SLACKWATER abcd 1/1 AAAA", "do not come to a whole"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_a_file_that_is_none_is_refused(what: str) -> None:
    data, said = BROKEN[what]
    with pytest.raises(InputError, match=said.replace("(", r"\(")):
        parse_aboard(data, "a")


def test_codes_that_unpack_to_too_much_are_refused() -> None:
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = packer.compress(b" " * (MOST_BYTES + 10)) + packer.flush()
    line = f"SLACKWATER abcd 1/1 {base64.b64encode(packed).decode()}"
    with pytest.raises(InputError, match="more than a sheet holds"):
        parse_aboard(line.encode(), "a")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("session;set_point [rpm];double_run;direction\n", "has no"),
        ("session,set_point [rpm],double_run,direction,speed_over_ground [km/h]\n", "headed"),
        ("session,session,set_point [rpm],double_run,direction\n", "twice"),
        ("session,set_point [rpm],double_run,direction\nS1,1000,1,out,more\n", "5 cells under 4"),
        ('session,set_point [rpm],double_run,direction\n"S1,1000\n', "cannot be read as CSV"),
    ],
)
def test_a_table_that_is_not_the_prepared_one_is_left_alone(
    text: str, said: str, tmp_path: Path, capsys: Capture
) -> None:
    (tmp_path / "runs.csv").write_text(text, encoding="utf-8")
    assert merge(tmp_path, ONE) == 2
    assert said in capsys.readouterr().err
    assert (tmp_path / "runs.csv").read_text("utf-8") == text


def test_into_a_copy(tmp_path: Path, capsys: Capture) -> None:
    assert merge(tmp_path, ONE) == 0
    before = (tmp_path / "runs.csv").read_bytes()
    copy = tmp_path / "copy.csv"
    assert merge(tmp_path, TWO, more=("--output", str(copy), "--format", "json")) == 0
    said = json.loads(capsys.readouterr().out.partition("\n{")[2].join(["{", ""]))
    assert said["added"] == {"S3": 1}
    assert (tmp_path / "runs.csv").read_bytes() == before
    assert len(table(copy)) == 4
    assert merge(tmp_path, TWO, more=("--output", str(tmp_path / "runs.csv"))) == 2


def test_a_table_that_changed_meanwhile_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    path.write_bytes(b"old")
    with pytest.raises(InputError, match="has changed since it was read"):
        write_added_to(b"new", path, b"older")
    assert path.read_bytes() == b"old"
    with pytest.raises(InputError, match="is there already"):
        write_added_to(b"new", path, None)
    write_added_to(b"new", path, b"old")
    assert path.read_bytes() == b"new"


def test_texts_are_no_formulas_and_stay_on_one_line(tmp_path: Path) -> None:
    rows = [row("S1", "out", "8.1", note='=HYPERLINK("x")\n@more'), row("S1", "back", "-7")]
    assert merge(tmp_path, aboard("aa", rows)) == 0
    one, other = table(tmp_path / "runs.csv")
    assert one["note"] == ' =HYPERLINK("x") @more'
    assert other["speed_over_ground [kn]"] == "-7"


def test_what_was_noted_of_sessions_is_given_for_the_trial(tmp_path: Path, capsys: Capture) -> None:
    noted = {
        "id": "S1",
        "configuration": "bare",
        "noted": {"wind_speed": "5 kn"},
        "remark": "calm: no",
    }
    assert merge(tmp_path, {**ONE, "sessions": [noted]}) == 0
    assert 'S1: {wind_speed: 5 kn, note: "calm: no"}' in capsys.readouterr().out
