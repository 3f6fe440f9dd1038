"""`slackwater logs` as it is used: files of any kind, packed, wrong."""

from __future__ import annotations

import gzip
import json
import random
import zipfile
from pathlib import Path

import pytest

import slackwater
from slackwater.analysis.cli import main

LINES = b"".join(
    b"$GPRMC,1015%02d.00,A,5051.2400,N,00106.1200,W,6.2,084.0,140625,,,A\r\n" % s for s in range(60)
)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "day.log"
    path.write_bytes(LINES)
    return path


def test_the_table_and_what_is_said(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["logs", str(log)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "NMEA 0183, 60 lines" in out
    assert "2025-06-14T10:15:00.000Z to 2025-06-14T10:15:59.000Z (59.0 s; UTC)" in out
    assert "no sentence has a checksum" in out.lower()


def test_json(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["logs", str(log), "--format", "json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    channel = answer["logs"][0]["channels"][0]
    assert (channel["quantity"], channel["samples"], channel["rate"]) == (
        "speed_over_ground",
        60,
        1.0,
    )
    assert channel["repeats"] == 1.0


def test_sources_and_lags_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two receivers, the second 2 s late and ten times as noisy; no engine that changes."""
    draw = random.Random(4)
    knots = [6.0]
    for _ in range(300):
        knots.append(min(max(knots[-1] + draw.gauss(0, 0.3), 3), 12))
    rows = [
        f"2025-06-14T10:{n // 60:02d}:{n % 60:02d}Z,{knots[n] + draw.gauss(0, 0.02):.3f},"
        f"{knots[n - 2] + draw.gauss(0, 0.2):.3f},{8 * draw.gauss(0, 1) + knots[n]:.3f},2000"
        for n in range(2, 300)
    ]
    path = tmp_path / "two.csv"
    path.write_text("time,SOG a [kn],SOG b [kn],SOG c [kn],RPM\n" + "\n".join(rows) + "\n")
    text = (
        path.read_text()
        .replace("SOG a", "Port SOG")
        .replace("SOG b", "Stbd SOG")
        .replace("SOG c", "Centre SOG")
    )
    path.write_text(text)
    assert main(["logs", str(path), "--format", "json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    (speed,) = [each for each in answer["sources"] if each["quantity"] == "speed_over_ground"]
    assert speed["source"] == "Port SOG [kn]"
    assert {each["source"]: bool(each["against"]) for each in speed["offered"]} == {
        "Port SOG [kn]": False, "Stbd SOG [kn]": False, "Centre SOG [kn]": True
    }  # fmt: skip
    lags = {(each["of"][1], each["after"][1]): each for each in answer["latencies"]}
    late = lags["Stbd SOG [kn]", "Port SOG [kn]"]
    assert late["seconds"] == pytest.approx(2.0, abs=0.3)
    assert late["common"] == 297
    assert "not enough change to tell" in lags["Port SOG [kn]", "Centre SOG [kn]"]["why_not"]
    assert lags["Port SOG [kn]", "RPM"]["why_not"] == "one of them stands still"
    assert main(["logs", str(path)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "taken: nothing speaks against it; of 2 such the first by name" in out


def test_packed_logs_are_the_same(log: Path, tmp_path: Path) -> None:
    packed = tmp_path / "day.gz"
    packed.write_bytes(gzip.compress(LINES))
    with zipfile.ZipFile(tmp_path / "days.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a/one.log", LINES)
        archive.writestr("two.log.gz", gzip.compress(LINES))
    logs = slackwater.logs(log, packed, tmp_path / "days.zip").logs
    assert [str(each.path.relative_to(tmp_path)) for each in logs] == [
        "day.log", "day.gz", "days.zip/a/one.log", "days.zip/two.log.gz"
    ]  # fmt: skip
    for each in logs:
        assert each.channels[0].values.tolist() == [6.2] * 60


def test_a_packed_log_cut_short_gives_what_is_whole(tmp_path: Path) -> None:
    noisy = b"".join(
        b"%s # %d\r\n" % (LINES[:68], random.Random(i).getrandbits(64)) for i in range(2000)
    )
    whole = gzip.compress(noisy)
    path = tmp_path / "cut.gz"
    path.write_bytes(whole[: len(whole) // 2])
    got = slackwater.logs(path).logs[0]
    assert 500 < got.channels[0].values.size < 1500


@pytest.mark.parametrize(
    ("content", "rule", "said"),
    [
        (b"", "log-empty", "is empty"),
        (b"a,b\n1,2\n", "log-form-unknown", "is a table, and no heading of it"),
        (b"x;y\n1;5,1\n2;5,22\n", "log-form-unknown", "begins with 'x;y', then '1;5,1'"),
        (b"a note, and\nno log\n", "log-form-unknown", "has no form that is read here"),
        (bytes(range(256)) * 40, "log-form-unknown", "has no form that is read here"),
        (b"\x1f\x8b" + b"no gzip at all", "log-packed", "begins like gzip"),
        (b"PK\x03\x04" + b"no zip at all", "log-packed", "begins like a zip archive"),
        (b"\n\n\n", "log-form-unknown", "blank lines"),
    ],
)
def test_what_cannot_be_used_is_refused_in_words(
    content: bytes, rule: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "x"
    path.write_bytes(content)
    assert main(["logs", str(path)]) == 2
    error = capsys.readouterr().err
    assert f"[{rule}]" in error
    assert said in error
    assert "Traceback" not in error


def test_a_broken_archive_is_refused_in_words(tmp_path: Path) -> None:
    """One whose list of members says that they lie before the file."""
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.log", LINES)
    whole = path.read_bytes()
    path.write_bytes(b"PK\x03\x04" + whole[50:])
    with pytest.raises(slackwater.InputError, match="log-packed"):
        slackwater.logs(path)


def test_a_log_in_an_archive_may_lack_a_name(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(zipfile.ZipInfo(""), LINES)
    (log,) = slackwater.logs(path).logs
    assert log.lines == len(LINES.splitlines())


def test_a_bomb_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("slackwater.analysis.logs.opening.MOST", 1 << 20)
    path = tmp_path / "bomb.gz"
    path.write_bytes(gzip.compress(LINES + b"\n" * (1 << 21)))
    with pytest.raises(slackwater.InputError, match="log-too-long"):
        slackwater.logs(path)
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.log", LINES + b"\n" * (1 << 21))
    with pytest.raises(slackwater.InputError, match="log-too-long"):
        slackwater.logs(tmp_path / "bomb.zip")


def test_it_does_not_write_over_a_log(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["logs", str(log), "--output", str(log), "--replace"]) == 2
    assert log.read_bytes() == LINES


def test_the_same_log_gives_the_same_bytes(log: Path) -> None:
    assert slackwater.logs(log).to_json() == slackwater.logs(log).to_json()


def test_a_line_without_an_end_does_not_fill_the_memory(tmp_path: Path) -> None:
    path = tmp_path / "long.log"
    path.write_bytes(LINES + b"x" * 5_000_000 + b"\n" + LINES)
    got = slackwater.logs(path).logs[0]
    assert got.channels[0].values.size >= 60
