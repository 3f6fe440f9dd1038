"""The slowest planing speed and values of a protocol's own: declared, found in logs, or why not."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.handling.own_values import OwnValue, extreme, read_own
from slackwater.analysis.logs.channels import Channel
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.findings import InputError

PROTOCOL = """\
protocol: planing
runs:
  set_points: {of: engine_speed, values: [3000 rpm]}
  double_runs: 1
sessions: {order: ABBA}
measures: {speed_over_ground: {unit: kn, shared: true}, engine_speed: {unit: rpm, shared: true}}
manoeuvres:
  come_down:
    start: on the plane at 16 kn
    end: off the plane
    tries: 1
    current: averaged
    values:
      slowest_planing_speed:
        from_log:
          hold: 10 s
          within: 0.3 kn
          step: 2 kn
          planing: {trim: {at_most: 4 deg}, speed_over_ground: {at_least: 8 kn}}
      lean: {unit: deg, scale: difference, from_log: {channel: heel, take: furthest}}
      grip: {unit: kN}
analysis: {decides: slowest_planing_speed, worthwhile: {slowest_planing_speed: 3 %}}
"""
TRIAL = """\
trial: planing
invented: true
protocol: protocol.yaml
configurations: {bare: {}, fitted: {}}
sessions:
"""
FALLS = {"bare": 12.5, "fitted": 11.5}  # [kn] at which she comes off the plane
DAYS = ("bare", "fitted", "fitted", "bare")
START = 1_777_881_600  # 2026-05-04 08:00 UTC


def log(falls: float, day: int) -> str:
    """Down in steps of a knot, out and back; each step reached within three seconds."""
    speeds, courses = [], []
    now = 0.0
    for course in (70, 250):
        steps = [(20, 16.0), *((20, falls + 0.5 + n) for n in (2, 1, 0)), (30, falls - 0.5), (30, 4.0)]  # fmt: skip
        for seconds, want in steps:
            for _ in range(seconds):
                wanted = 7.0 if want < now < falls else want
                now += np.clip(wanted - now, -0.7, 0.7)
                speeds.append(float(now))
                courses.append(course)
    speed = np.array(speeds)
    trim = np.where(speed < falls, 6.0, 3.0)
    heel = 2.0 * np.sin(np.arange(speed.size) * 2 * math.pi / 40)
    north = np.cumsum(speed * 1852 / 3600 * np.cos(np.radians(courses))) / 111_120
    east = np.cumsum(speed * 1852 / 3600 * np.sin(np.radians(courses))) / 111_120 / math.cos(math.radians(50))  # fmt: skip
    rows = ["time,latitude [deg],longitude [deg],SOG [kn],COG [deg],trim [deg],heel [deg]"]
    for n, told in enumerate(zip(50 + north, 4 + east, speed, courses, trim, heel, strict=True)):
        minute = 8 * 60 + n // 60
        rows.append(f"2026-05-{4 + day:02}T{minute // 60:02}:{minute % 60:02}:{n % 60:02}Z," + ",".join(f"{each:.6f}" for each in told))  # fmt: skip
    return "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planing")
    (folder / "protocol.yaml").write_text(PROTOCOL, encoding="utf-8")
    sessions = [f"  - {{id: S{n + 1}, configuration: {name}, date: 2026-05-{4 + n:02}}}\n" for n, name in enumerate(DAYS)]  # fmt: skip
    (folder / "trial.yaml").write_text(TRIAL + "".join(sessions), encoding="utf-8")
    for n, name in enumerate(DAYS):
        (folder / f"day{n + 1}.csv").write_text(log(FALLS[name], n), encoding="utf-8")
    return folder


LOGS = [f"day{n}.csv" for n in range(1, 5)]
ASK = ["logs", *LOGS, "--trial", "trial.yaml", "--tries"]


def told(capsys: pytest.CaptureFixture[str], *more: str) -> str:
    code = main([*ASK, *more])
    found = capsys.readouterr()
    assert code == 0, found.err
    return found.out


class TestFound:
    def test_the_last_speed_held_before_she_came_off(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        found = json.loads(told(capsys, "--format", "json"))
        for session, name in zip(found["sessions"], DAYS, strict=True):
            assert [each["direction"] for each in session["tries"]] == ["out", "back"]
            for each in session["tries"]:
                value = each["values"]["slowest_planing_speed"]
                assert value["value"] == pytest.approx(FALLS[name] + 0.5, abs=0.02)
                assert value["standard_uncertainty"] < 0.05
                assert each["seconds"][1] - each["seconds"][0] == pytest.approx(10)
                assert any(note.startswith("she came off the plane at") for note in each["notes"])
                readings = {r["quantity"]: r["samples"] for r in each["readings"]}
                assert readings["trim"] == readings["speed_over_ground"] == pytest.approx(10, abs=1)
                assert 0 < each["values"]["lean"]["value"] <= 2.0

    def test_what_is_not_told_is_left_empty_and_said(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        told(capsys, "--output", "tries.csv")
        with (folder / "tries.csv").open(encoding="utf-8", newline="") as file:
            row = next(csv.DictReader(file))
        assert row["grip [kN]"] == ""
        assert row["lean [deg]"] != ""
        found = json.loads((folder / "tries.provenance.json").read_text(encoding="utf-8"))
        assert any("logs do not tell grip; write it in by hand, or declare" in note for note in found["sessions"][0]["notes"])  # fmt: skip

    def test_through_to_the_verdict(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        told(capsys, "--output", "tries.csv")
        with (folder / "trial.yaml").open("a", encoding="utf-8") as file:
            file.write("manoeuvres: tries.csv\n")
        assert main(["analyse", "trial.yaml", "--format", "json"]) == 0
        rows = json.loads(capsys.readouterr().out)["comparisons"]
        (row,) = (r for r in rows if r["quantity"] == "slowest_planing_speed")
        assert row["verdict"] == "gain"  # slower is better
        assert row["change"] == pytest.approx(12 / 13 - 1, abs=0.003)

    def test_how_they_were_read_is_told_and_held(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        told(capsys, "--output", "tries.csv")
        with (folder / "trial.yaml").open("a", encoding="utf-8") as file:
            file.write("manoeuvres: tries.csv\n")
        words = "Slowest planing speed: planing by trim at most 4 deg and speed over ground at least 8 kn; held for 10 s within 0.3 kn"
        assert main(["analyse", "trial.yaml"]) == 0
        assert words in " ".join(capsys.readouterr().out.split())
        assert words in " ".join(told(capsys).split())
        assert "Lean: the furthest from nought of heel in the try, as a mean over 3 s" in " ".join(told(capsys).split())  # fmt: skip
        main(["check", "trial.yaml"])
        assert "cut-otherwise" not in capsys.readouterr().out
        path = folder / "protocol.yaml"
        path.write_text(path.read_text(encoding="utf-8").replace("take: furthest", "take: mean"), encoding="utf-8")  # fmt: skip
        main(["check", "trial.yaml"])
        found = " ".join(capsys.readouterr().out.split())
        assert "values were read by other terms than the protocol has today: lean by 'the furthest from nought of heel" in found  # fmt: skip
        assert "[cut-otherwise]" in found


class TestRefused:
    def test_without_what_shows_it(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        for name in LOGS:
            text = (folder / name).read_text(encoding="utf-8")
            (folder / name).write_text(text.replace("trim [deg]", "x"), encoding="utf-8")
        found = json.loads(told(capsys, "--format", "json"))
        assert all(not session["tries"] for session in found["sessions"])
        words = "come_down is not looked for: no trim is recorded, and the protocol has it show that she planes (trim at most 4 deg)"
        assert all(words in session["notes"] for session in found["sessions"])
        assert {count["found"] for session in found["sessions"] for count in session["counts"]} == {0}  # fmt: skip

    def test_what_shows_it_is_of_another_kind(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        path = folder / "protocol.yaml"
        text = path.read_text(encoding="utf-8").replace(
            "trim: {at_most: 4 deg}", "bow_rise: {at_most: 4 deg}"
        )
        path.write_text(text.replace("measures: {", "measures: {bow_rise: {unit: m}, "), encoding="utf-8")  # fmt: skip
        for name in LOGS:
            table = (folder / name).read_text(encoding="utf-8")
            (folder / name).write_text(
                table.replace("trim [deg]", "bow_rise [m]"), encoding="utf-8"
            )
        with (folder / "trial.yaml").open("a", encoding="utf-8") as file:
            file.write('columns: {bow_rise: "bow_rise [m]"}\n')
        found = json.loads(told(capsys, "--format", "json"))
        words = "come_down is not looked for: bow rise is recorded in m, and the protocol has it 'at most 4 deg' for her to plane"
        assert all(words in session["notes"] for session in found["sessions"])

    def test_an_own_value_whose_channel_is_not_there(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        for name in LOGS:
            text = (folder / name).read_text(encoding="utf-8")
            (folder / name).write_text(text.replace("heel [deg]", "x"), encoding="utf-8")
        found = json.loads(told(capsys, "--format", "json"))
        for session in found["sessions"]:
            for each in session["tries"]:
                assert each["values"]["lean"]["why_not"] == "no heel is recorded"
                assert each["set_aside"] is None

    @pytest.mark.parametrize(
        ("old", "new", "words"),
        [
            ("step: 2 kn", "step: 0.2 kn", "might have held less: come down in small steps"),
            ("hold: 10 s", "hold: 25 s", "she held no speed within 0.3 kn for 25 s"),
            ("at_most: 4 deg", "at_most: 7 deg", "nothing showed that she came off the plane"),
        ],
    )
    def test_why_a_stretch_is_no_try(self, folder: Path, old: str, new: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        path = folder / "protocol.yaml"
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")
        found = json.loads(told(capsys, "--format", "json"))
        left = [each["reason"] for session in found["sessions"] for each in session["left_out"]]
        assert left
        assert all(words in reason for reason in left)
        assert all(not session["tries"] for session in found["sessions"])

    def test_a_log_with_too_few_readings(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        for name in LOGS:
            head, *lines = (folder / name).read_text(encoding="utf-8").splitlines()
            (folder / name).write_text("\n".join([head, *lines[::3]]) + "\n", encoding="utf-8")
        found = json.loads(told(capsys, "--format", "json"))
        reasons = [each["reason"] for session in found["sessions"] for each in session["left_out"]]
        assert reasons
        assert all(
            "4 speeds are recorded while she held it; 5 are needed" in each for each in reasons
        )

    def test_a_silent_receiver_holds_no_speed(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        """The last hold of the way out is taken away but for its ends: what is not recorded was not held."""
        head, *lines = (folder / "day1.csv").read_text(encoding="utf-8").splitlines()
        (folder / "day1.csv").write_text(
            "\n".join([head, *lines[:62], *lines[78:]]) + "\n", encoding="utf-8"
        )
        found = json.loads(told(capsys, "--format", "json"))
        assert [each["direction"] for each in found["sessions"][0]["tries"]] == [
            "out"
        ]  # the way back alone
        assert found["sessions"][0]["tries"][0]["course"] == pytest.approx(250, abs=1)

    def test_a_log_that_ends_on_the_plane(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        lines = (folder / "day1.csv").read_text(encoding="utf-8").splitlines()
        (folder / "day1.csv").write_text("\n".join(lines[:80]) + "\n", encoding="utf-8")
        found = json.loads(told(capsys, "--format", "json"))
        (left,) = found["sessions"][0]["left_out"]
        assert left["reason"].endswith("the log does not go on to where she came off the plane")


SLIPS = [
    ("hold: 10 s", "", "lacks hold"),
    ("within: 0.3 kn", "take: max", "is not read from logs by 'take'"),
    ("step: 2 kn", "step: 2 m", "a speed"),
    ("planing: {trim: {at_most: 4 deg}, speed_over_ground: {at_least: 8 kn}}", "planing: {speed_over_ground: {at_least: 8 kn}}", "a speed alone cannot show it"),
    (", speed_over_ground: {at_least: 8 kn}}", "}", "at rest she is as level as on the plane"),
    ("trim: {at_most: 4 deg}", "trim: {within: 4 deg}", "compares configurations"),
    ("trim: {at_most: 4 deg}", "trim: {at_most: 4 kn}", "4 kn"),
    ("trim: {at_most", "trimm: {at_most", "did you mean 'trim'"),
    ("trim: {at_most", "bow_rise: {at_most", "no log holds 'bow_rise'"),
    ("channel: heel", "channel: heal", "did you mean 'heel'"),
    ("channel: heel", "channel: rate_of_turn", "give the value a unit such as deg/min"),
    ("channel: heel, take: furthest", "channel: heading, take: max", "goes round the compass"),
    ("take: furthest", "take: highest", "max, min, furthest, mean or spread is needed"),
    ("take: furthest", "take: mean, over: 2 s", "over the whole try"),
    ("take: furthest", "hold: 3 s", "is not read from logs by 'hold'"),
    ("      grip: {unit: kN}", "      time_to_plane: {from_log: {channel: trim, take: max}}", "logs tell time_to_plane by themselves"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "words"), SLIPS)
def test_a_slip_in_the_declaration_is_told(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert old in PROTOCOL
    path = tmp_path / "protocol.yaml"
    path.write_text(PROTOCOL.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as error:
        load_protocol(path)
    found = error.value.findings
    assert any(words in f"{each.message} {each.fix}" for each in found), [(e.message, e.fix) for e in found]  # fmt: skip
    assert all(each.place is not None and each.place.line for each in found)


def test_own_values_alone_tell_no_try(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "protocol.yaml"
    text = path.read_text(encoding="utf-8")
    a, b = text.index("      slowest_planing_speed:\n"), text.index("      lean:")
    text = (text[:a] + text[b:]).replace("slowest_planing_speed: 3 %", "lean: 1 deg")
    path.write_text(text.replace("decides: slowest_planing_speed", "decides: lean"), encoding="utf-8")  # fmt: skip
    found = json.loads(told(capsys, "--format", "json"))
    notes = " ".join(found["sessions"][0]["notes"])
    assert "lean would be read over its tries, and nothing else in it tells when these were" in notes  # fmt: skip


class TestOwn:
    T = np.arange(60.0)

    def read(self, take: str, values: np.ndarray, quantity: str = "heel") -> float:
        channel = Channel(quantity, "x", "deg", self.T, values)
        figure = read_own(OwnValue("own", "deg", quantity, take), [channel], 0.0, 59.0)
        assert figure.value is not None
        return figure.value

    def test_in_closed_form(self) -> None:
        wave = 8 * np.sin(2 * math.pi * self.T / 60)
        assert self.read("mean", wave + 1) == pytest.approx(1.0)
        assert self.read("spread", wave) == pytest.approx(8 / math.sqrt(2) * math.sqrt(60 / 59))
        # the highest mean over three seconds about the top at 15 s: (1 + 2 cos 6 deg) / 3 of it
        top = 8 * (1 + 2 * math.cos(math.radians(6))) / 3
        assert self.read("max", wave) == pytest.approx(top, rel=0.003)
        assert self.read("min", wave) == pytest.approx(-top, rel=0.003)
        assert self.read("furthest", wave - 1) == pytest.approx(top + 1, rel=0.003)

    def test_round_the_compass(self) -> None:
        heading = (359 + 3 * np.sin(2 * math.pi * self.T / 15)) % 360
        assert self.read("spread", heading, "heading") == pytest.approx(3 / math.sqrt(2), rel=0.02)

    @pytest.mark.parametrize(
        ("seconds", "words"),
        [
            (np.arange(5.0), "5 readings are in the try; 8 are needed"),
            (
                np.concatenate([np.arange(20.0), np.arange(45.0, 60.0)]),
                "silent for 26 s of the try",
            ),
        ],
    )
    def test_too_little_to_stand_for_a_try(self, seconds: np.ndarray, words: str) -> None:
        channel = Channel("heel", "x", "deg", seconds, np.ones(seconds.size))
        figure = read_own(OwnValue("own", "deg", "heel", "mean"), [channel], 0.0, 59.0)
        assert figure.value is None
        assert words in figure.why_not

    def test_shorter_than_a_mean(self) -> None:
        figure = extreme(self.T[:8], self.T[:8], 30.0, "deg")
        assert figure.why_not == "the try is shorter than the 30 s of a mean"

    def test_a_measure_of_another_kind(self) -> None:
        """What a protocol measures under a name of its own may be anything; what fits is seen when it is read."""
        channel = Channel("grip", "x", "kN", self.T, self.T)
        figure = read_own(OwnValue("own", "m", "grip", "mean"), [channel], 0.0, 59.0)
        assert figure.why_not == "grip is recorded in kN, and the value is in m"

    def test_in_the_unit_of_the_value(self) -> None:
        channel = Channel("water_temperature", "x", "degC", self.T, np.full(60, 10.0))
        figure = read_own(OwnValue("own", "degF", "water_temperature", "mean"), [channel], 0.0, 59.0)  # fmt: skip
        assert figure.value == pytest.approx(50.0)
