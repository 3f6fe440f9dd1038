"""Tries of manoeuvres in logs: found, written as the table that is read, followed back to their lines; or why not."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from invented_handling import TOP, TURNING, write_handling

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.handling.changes_found import find_changes
from slackwater.analysis.handling.tries_result import TriesResult
from slackwater.analysis.logs.channels import Channel
from slackwater.protocol.findings import InputError

LOGS = ("day1.log", "day2.log", "day3.log", "day4.log")


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("handling")
    write_handling(folder)
    return folder


@pytest.fixture(scope="module")
def result(laid: Path) -> TriesResult:
    return slackwater.tries(laid / "trial.yaml", *(laid / name for name in LOGS))


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def values(result: TriesResult, name: str, session: str) -> list[float]:
    found = [one.values[name].value for each, one in result.tries if each == session and name in one.values]  # fmt: skip
    assert all(value is not None for value in found)
    return [value for value in found if value is not None]


class TestFound:
    def test_every_planned_try(self, result: TriesResult) -> None:
        assert len(result.tries) == 24
        assert list(result.unbalanced()) == []
        assert all(one.number == 1 and not one.aside for _, one in result.tries)

    @pytest.mark.parametrize(("session", "rate"), [("S1", 9.0), ("S2", 11.0)])
    def test_turns_in_closed_form(self, result: TriesResult, session: str, rate: float) -> None:
        """Chords of a second each: the circle through their ends has the diameter v / sin(rate / 2)."""
        expected = TURNING * 1852 / 3600 / math.sin(math.radians(rate / 2))
        assert values(result, "steady_diameter", session) == pytest.approx(
            [expected] * 2, rel=0.005
        )

    @pytest.mark.parametrize(("session", "share"), [("S1", 0.12), ("S2", 0.14)])
    def test_stops_and_speeds_in_closed_form(
        self, result: TriesResult, session: str, share: float
    ) -> None:
        """After n seconds (1 - share)^n of the change is left; a stop runs on for the sum of it."""
        left = -math.log(1 - share)
        time = math.log(TURNING / 0.3) / left
        way = (TURNING - 0.3) * 1852 / 3600 / share
        assert np.mean(values(result, "stopping_time", session)) == pytest.approx(time, abs=1.5)
        assert np.mean(values(result, "stopping_distance", session)) == pytest.approx(way, rel=0.03)
        to_20 = math.log(TOP / (TOP - 20)) / left
        from_10 = math.log((TOP - 10) / (TOP - 20)) / left
        # the mean of out and back: the current is averaged to first order only
        assert np.mean(values(result, "time_to_20_kn", session)) == pytest.approx(to_20, abs=1.5)
        assert np.mean(values(result, "time_10_to_20_kn", session)) == pytest.approx(from_10, abs=1.0)  # fmt: skip

    def test_what_is_no_try_has_its_reason(self, result: TriesResult) -> None:
        told = [left.reason for each in result.sessions for left in each.left_out]
        assert len(told) == 4  # where she came about
        assert all("she turned by 1" in reason for reason in told)

    def test_the_drift_is_that_of_the_water(self, result: TriesResult) -> None:
        for _, one in result.tries:
            if one.circle is not None:
                assert one.circle.drift is not None
                drift = (one.circle.drift.east, one.circle.drift.north)
                assert drift == pytest.approx((0.25, -0.15), abs=0.02)


class TestWritten:
    def test_from_logs_to_the_verdict(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        """The table that `logs` writes is the one that `analyse` reads, and the tighter turn is a gain."""
        assert main(["logs", *LOGS, "--trial", "trial.yaml", "--tries", "--output", "tries.csv"]) == 0  # fmt: skip
        assert "24 tries in 4 sessions" in capsys.readouterr().out
        analysed = slackwater.analyse("trial.yaml")
        decided = [row for row in analysed.to_dict()["comparisons"] if row["quantity"] == "tactical_diameter"]  # fmt: skip
        assert [row["verdict"] for row in decided] == ["gain"]
        truth = math.sin(math.radians(4.5)) / math.sin(math.radians(5.5)) - 1
        assert decided[0]["change"] == pytest.approx(truth, abs=0.01)
        assert analysed.findings == tuple(f for f in analysed.findings if f.severity.value != "error")  # fmt: skip

    def test_every_try_leads_back_to_its_lines(self, folder: Path) -> None:
        assert main(["logs", *LOGS, "--trial", "trial.yaml", "--tries", "--output", "tries.csv"]) == 0  # fmt: skip
        told = json.loads((folder / "tries.provenance.json").read_text(encoding="utf-8"))
        from hashlib import sha256

        assert told["logs"][0]["sha256"] == sha256((folder / "day1.log").read_bytes()).hexdigest()
        assert told["table"]["sha256"] == sha256((folder / "tries.csv").read_bytes()).hexdigest()
        table = (folder / "tries.csv").read_text(encoding="utf-8").splitlines()
        for session in told["sessions"]:
            for one in session["tries"]:
                assert table[one["row"] - 1].startswith(f"{session['session']},{one['manoeuvre']},")
                speed = next(r for r in one["readings"] if r["quantity"] == "speed_over_ground")
                (place,) = speed["lines"]
                lines = (folder / place["file"]).read_text(encoding="ascii").splitlines()
                first, last = lines[place["from"] - 1], lines[place["to"] - 1]
                assert first.startswith("$GPRMC")
                assert last.startswith("$GPRMC")
                span = one["seconds"][1] - one["seconds"][0]
                assert speed["samples"] == pytest.approx(span, abs=1.5)

    def test_forms(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        for form, told in (("json", '"tries"'), ("html", "24 of 24 planned tries"), ("csv", "S1,turn,port,1")):  # fmt: skip
            assert main(["logs", *LOGS, "--trial", "trial.yaml", "--tries", "--format", form]) == 0
            assert told in capsys.readouterr().out

    def test_the_page_draws_turns_to_one_scale(self, result: TriesResult) -> None:
        page = result.to_html()
        part = page[page.index('id="turns"') : page.index('id="files"')]
        assert part.count("<svg") == 4
        assert len(set(re.findall(r">([^<]*), approach upwards<", part))) == 1
        assert "INVENTED" in page


class TestUnhappy:
    def refused(self, *args: str) -> str:
        with pytest.raises(InputError) as told:
            slackwater.tries(*args)
        return " ".join(each.message for each in told.value.findings)

    def test_a_protocol_without_manoeuvres(self, folder: Path) -> None:
        text = (folder / "trial.yaml").read_text(encoding="utf-8")
        head, rest = text.split("  manoeuvres:\n")
        tail = rest[rest.index("configurations:") :].replace("manoeuvres: tries.csv\n", "")
        (folder / "trial.yaml").write_text(head + tail, encoding="utf-8")
        assert "has no manoeuvres" in self.refused("trial.yaml", *LOGS)

    def test_no_logs(self, folder: Path) -> None:
        assert "names no logs" in self.refused("trial.yaml")

    def test_a_log_of_another_day(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        for day in ("04", "05", "06", "07"):
            edit(folder / "trial.yaml", f"date: 2026-05-{day}", f"date: 2026-07-{day}")
        told = slackwater.tries("trial.yaml", *LOGS)
        assert all("no log has anything of this session" in e.notes for e in told.sessions)
        args = ["logs", *LOGS, "--trial", "trial.yaml", "--tries", "--output", "tries.csv"]
        assert main(args) == 2
        assert "the logs hold no try of session S1: no log has anything" in " ".join(capsys.readouterr().err.split())  # fmt: skip
        assert not (folder / "tries.csv").exists()

    @pytest.mark.parametrize(
        ("args", "told"),
        [
            (["day1.log", "--tries"], "--tries goes with --trial"),
            (["day1.log", "--trial", "trial.yaml", "--tries", "--plan", "x.csv"], "--plan goes with runs"),
            (["day1.log", "--trial", "trial.yaml", "--tries", "--source", "nonsense"], "is not QUANTITY=SOURCE"),
            (["missing.log", "--trial", "trial.yaml", "--tries"], "missing.log"),
        ],
    )  # fmt: skip
    def test_options_that_do_not_go(
        self, folder: Path, capsys: pytest.CaptureFixture[str], args: list[str], told: str
    ) -> None:
        assert main(["logs", *args]) == 2
        assert told in " ".join(capsys.readouterr().err.split())

    def test_another_speed_is_another_manoeuvre(self, folder: Path) -> None:
        edit(folder / "trial.yaml", "{from_speed: 14 kn}", "{from_speed: 8 kn}")
        told = slackwater.tries("trial.yaml", *LOGS)
        assert not any(one.manoeuvre in ("turn", "stop") for _, one in told.tries)
        reasons = [left.reason for left in told.sessions[0].left_out]
        assert any("she came at 14.0 kn; 8 kn are declared" in reason for reason in reasons)

    def test_what_logs_do_not_tell_is_left_to_hand(self, folder: Path) -> None:
        edit(
            folder / "trial.yaml",
            "{steady_diameter: {}, ",
            "{spray: {unit: m, scale: difference}, steady_diameter: {}, ",
        )
        told = slackwater.tries("trial.yaml", *LOGS)
        assert any("logs do not tell spray" in note for note in told.sessions[0].notes)
        assert "spray [m]" in told.to_csv().splitlines()[0]

    def test_a_manoeuvre_of_several_sorts_is_not_looked_for(self, folder: Path) -> None:
        edit(folder / "trial.yaml", "{steady_diameter: {}, ", "{time_to_plane: {}, steady_diameter: {}, ")  # fmt: skip
        told = slackwater.tries("trial.yaml", *LOGS)
        assert any("of several sorts" in note for note in told.sessions[0].notes)

    def test_time_to_plane_wants_a_trim(self, folder: Path) -> None:
        edit(folder / "trial.yaml", "time_10_to_20_kn: {kind: time_between_speeds, from_speed: 10 kn, to_speed: 20 kn}", "time_to_plane: {}")  # fmt: skip
        told = slackwater.tries("trial.yaml", *LOGS)
        first = next(one for _, one in told.tries if one.manoeuvre == "off_the_mark")
        assert first.values["time_to_20_kn"].value is not None
        assert "no trim is recorded" in first.values["time_to_plane"].why_not
        assert any("no trim is recorded" in note for note in first.notes)

    def test_wind_that_was_not_recorded_is_not_guessed(self, folder: Path) -> None:
        text = (folder / "trial.yaml").read_text(encoding="utf-8")
        text = text.replace("directions: reciprocal", "directions: with_and_against_wind", 1)
        (folder / "trial.yaml").write_text(text, encoding="utf-8")
        told = slackwater.tries("trial.yaml", *LOGS)
        marks = [one for _, one in told.tries if one.manoeuvre == "off_the_mark"]
        assert marks
        assert all(one.direction == "" for one in marks)
        assert any("no wind direction is recorded" in note for note in told.sessions[0].notes)

    def test_short_turns_without_any_drift_are_set_aside(self, folder: Path) -> None:
        from invented_handling import MORNINGS, sentences

        legs = [(60, TURNING, 0), (20, TURNING, 9.0), (60, TURNING, 0)]
        (folder / "day1.log").write_text(sentences(MORNINGS[0], legs), encoding="ascii")
        edit(folder / "trial.yaml", "{steady_diameter: {}, ", "{")
        told = slackwater.tries("trial.yaml", "day1.log")
        (left,) = told.sessions[0].left_out
        assert "320 deg are needed" in left.reason

    def test_a_log_without_a_date_belongs_to_no_session(self, folder: Path) -> None:
        for name in LOGS:
            text = (folder / name).read_text(encoding="ascii")
            rows = [row for row in text.splitlines() if row[1:6] != "GPRMC"]
            (folder / name).write_text("\n".join(rows) + "\n", encoding="ascii")
        assert "no date" in self.refused("trial.yaml", *LOGS)


class TestChanges:
    def test_cruising_about_a_speed_is_no_start(self) -> None:
        t = np.arange(0.0, 600.0)
        speed = 15 + 6 * np.sin(t / 30)
        assert find_changes(t, speed, None, 20.0, None, rising=True) == []

    def test_a_slow_climb_is_no_manoeuvre(self) -> None:
        t = np.arange(0.0, 900.0)
        assert find_changes(t, np.clip((t - 60) / 30, 0, 25), None, 20.0, None, rising=True) == []

    def test_the_lever_tells_the_order(self) -> None:
        t = np.arange(0.0, 120.0)
        speed = np.where(t > 62, 22 * (1 - np.exp(-np.clip(t - 62, 0, None) / 8)), 0.0)
        lever = Channel("throttle", "x", "%", t, np.where(t >= 60, 100.0, 0.0))
        (told,) = find_changes(t, speed, None, 20.0, lever, rising=True)
        (late,) = find_changes(t, speed, None, 20.0, None, rising=True)
        assert told.told_by == "throttle"
        assert told.command == pytest.approx(59.5, abs=0.5)
        assert late.command == pytest.approx(62.0, abs=1.0)
