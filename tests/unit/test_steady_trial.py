"""Logs of a trial: sessions told apart, sources chosen, the plan's order, what is refused."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.sources import choose
from slackwater.analysis.steady.plan_order import plan_of_protocol, read_plan
from slackwater.analysis.steady.session_spans import SessionSpan, session_spans
from slackwater.protocol.declared.trial import Trial, load_trial
from slackwater.protocol.findings import InputError

HEAD = """\
trial: invented
invented: true
protocol:
  protocol: invented
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm]}
    double_runs: 1
    set_point_order: ORDER
  sessions: {order: AB}
  measures: {speed_over_ground: {unit: kn}, engine_speed: {unit: rpm}}
configurations: {bare: {}, fitted: {}}
sessions:
"""
DAY = 1_777_852_800.0  # 2026-05-04T00:00Z, by `date -u -d 2026-05-04 +%s`


def trial_of(folder: Path, *sessions: str, order: str = "shuffled") -> Trial:
    path = folder / "trial.yaml"
    rows = "".join(f"  - {{{each}}}\n" for each in sessions)
    path.write_text(HEAD.replace("ORDER", order) + rows, encoding="utf-8")
    return load_trial(path)


class TestSpans:
    def test_a_day_each(self, tmp_path: Path) -> None:
        trial = trial_of(
            tmp_path,
            "id: S1, configuration: bare, date: 2026-05-04",
            "id: S2, configuration: fitted, date: 2026-05-05",
        )
        spans = session_spans(trial, timedelta(0))
        assert [(s.start - DAY, s.end - DAY) for s in spans] == [(0, 86400), (86400, 172800)]

    def test_local_time_is_ahead(self, tmp_path: Path) -> None:
        trial = trial_of(
            tmp_path, "id: S1, configuration: bare, date: 2026-05-04, start: '09:00', end: '11:00'"
        )
        (span,) = session_spans(trial, timedelta(hours=2))
        assert (span.start - DAY, span.end - DAY) == (7 * 3600, 9 * 3600)

    def test_one_lasts_to_the_next(self, tmp_path: Path) -> None:
        trial = trial_of(
            tmp_path,
            "id: S1, configuration: bare, date: 2026-05-04, start: '09:00'",
            "id: S2, configuration: fitted, date: 2026-05-04, start: '13:00'",
        )
        spans = session_spans(trial, timedelta(0))
        assert [s.end - DAY for s in spans] == [13 * 3600, 24 * 3600]

    def test_an_end_after_midnight(self, tmp_path: Path) -> None:
        trial = trial_of(
            tmp_path, "id: S1, configuration: bare, date: 2026-05-04, start: '23:00', end: '01:00'"
        )
        (span,) = session_spans(trial, timedelta(0))
        assert span.end - DAY == 25 * 3600

    def test_two_on_a_day_without_a_start(self, tmp_path: Path) -> None:
        trial = trial_of(
            tmp_path,
            "id: S1, configuration: bare, date: 2026-05-04",
            "id: S2, configuration: fitted, date: 2026-05-04",
        )
        with pytest.raises(InputError, match="cannot be told apart"):
            session_spans(trial, timedelta(0))

    def test_no_date(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="S1 has no date"):
            session_spans(trial_of(tmp_path, "id: S1, configuration: bare"), timedelta(0))


def channel(source: str, seconds: np.ndarray, values: np.ndarray) -> Channel:
    return Channel("speed_over_ground", source, "kn", seconds, values)


class TestSources:
    SPANS = (SessionSpan("S1", "bare", 0.0, 1000.0), SessionSpan("S2", "fitted", 2000.0, 3000.0))
    TIME = np.concatenate([np.arange(0.0, 1000.0), np.arange(2000.0, 3000.0)])
    NOISE = 10 + np.random.default_rng(1).standard_normal(2000)

    def chosen(self, *channels: Channel, **asked: list[str]) -> list[str]:
        found = choose(channels, ["speed_over_ground"], self.SPANS, asked)
        return [each.source for each in found]

    def test_one_that_has_all_sessions(self) -> None:
        fast = channel("fast", np.arange(0, 1000, 0.1), np.resize(self.NOISE, 10_000))
        assert self.chosen(fast, channel("whole", self.TIME, self.NOISE)) == ["whole"]

    def test_no_dead_band(self) -> None:
        dead = channel("a dead one", self.TIME, np.full(2000, 10.0))
        assert self.chosen(dead, channel("live", self.TIME, self.NOISE)) == ["live"]

    def test_the_one_with_more_values(self) -> None:
        some = channel("a gappy one", self.TIME[::4], self.NOISE[::4])
        assert self.chosen(some, channel("whole", self.TIME, self.NOISE)) == ["whole"]

    def test_the_one_with_far_less_noise(self) -> None:
        rough = channel("a rough one", self.TIME, 10 + 4 * (self.NOISE - 10))
        both = (rough, channel("quiet", self.TIME, self.NOISE))
        assert self.chosen(*both) == ["quiet"]
        (choice,) = choose(both, ["speed_over_ground"], self.SPANS, {})
        assert [each.source for each in choice.offered] == ["quiet", "a rough one"]
        assert choice.why == "nothing speaks against it"
        assert choice.offered[1].against == ("4.0 times as noisy as the quietest",)
        assert choice.noise == pytest.approx(np.sqrt(8 / 9), rel=0.05)  # of a mean over 9 taken out

    def test_a_source_with_a_dead_band_is_not_the_quietest(self) -> None:
        held = np.round(self.NOISE / 8) * 8
        both = (channel("a coarse one", self.TIME, held), channel("fine", self.TIME, self.NOISE))
        assert self.chosen(*both) == ["fine"]

    def test_asked_for_what_is_not_taken(self) -> None:
        with pytest.raises(InputError, match="no run is cut by 'sog'"):
            self.chosen(channel("one", self.TIME, self.NOISE), sog=["one"])

    def test_asked_for(self) -> None:
        both = (channel("one", self.TIME, self.NOISE), channel("two", self.TIME, self.NOISE))
        assert self.chosen(*both, speed_over_ground=["two"]) == ["two"]
        assert self.chosen(*both, speed_over_ground=["one", "two"]) == ["one", "two"]
        with pytest.raises(InputError, match="no source 'three'"):
            self.chosen(*both, speed_over_ground=["three"])


class TestPlan:
    SESSION = "id: S1, configuration: bare, date: 2026-05-04"

    def test_the_protocol_tells_an_order_or_none(self, tmp_path: Path) -> None:
        assert plan_of_protocol(trial_of(tmp_path, self.SESSION)) == {}
        found = plan_of_protocol(trial_of(tmp_path, self.SESSION, order="descending"))
        assert [(leg.set_point, leg.direction) for leg in found["S1"]] == [
            (2000.0, "out"), (2000.0, "back"), (1000.0, "back"), (1000.0, "out")
        ]  # fmt: skip

    def test_a_table_tells_it(self, tmp_path: Path) -> None:
        plan = tmp_path / "plan.csv"
        plan.write_text(
            "session,set_point [rpm],double_run,direction\nS1,2000,1,back\nS1,1000,1,out\n"
        )
        found = read_plan(str(plan), trial_of(tmp_path, self.SESSION))
        assert [(leg.set_point, leg.direction) for leg in found["S1"]] == [
            (2000.0, "back"), (1000.0, "out")
        ]  # fmt: skip

    @pytest.mark.parametrize("suffix", ["csv", "xlsx"])
    def test_the_printed_table_in_the_words_of_the_trial(self, tmp_path: Path, suffix: str) -> None:
        own = 'set_point: "RPM nominal", session: Day, speed_over_ground: GPS'
        trial = trial_of(tmp_path, self.SESSION)
        path = tmp_path / "trial.yaml"
        text = path.read_text(encoding="utf-8")
        words = f"\ncolumns: {{{own}}}\ndirections: {{N: out, S: back}}\nsessions:"
        path.write_text(text.replace("\nsessions:", words))
        plan = tmp_path / f"plan.{suffix}"
        assert main(["sheet", str(path), "--output", str(plan)]) == 0
        found = read_plan(str(plan), load_trial(path))["S1"]
        assert len(found) == 4
        assert {leg.set_point for leg in found} == set(trial.protocol.set_point_values)
        assert [leg.direction for leg in found].count("out") == 2

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("", "is empty"),
            ("session,direction\nS1,out\n", "set_point"),
            ("session,set_point [rpm],direction\nS1,1500,out\n", "1500 rpm, which is not planned"),
            ("session,set_point [rpm],direction\nS1,fast,out\n", "row 2, set_point: 'fast'"),
            ("session,set_point [rpm],direction\nS1,1000,up\n", "'up'"),
            ("session,set_point [rpm],direction\nS9,1000,out\n", "'S9' is not a session"),
            ("set_point [rpm],direction,session\n1000,out\n", "row 2 has 2 cells"),
        ],
    )
    def test_what_is_no_plan(self, tmp_path: Path, text: str, said: str) -> None:
        plan = tmp_path / "plan.csv"
        plan.write_text(text)
        with pytest.raises(InputError, match=said):
            read_plan(str(plan), trial_of(tmp_path, self.SESSION))

    def test_no_file(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="no such file"):
            read_plan(str(tmp_path / "none.csv"), trial_of(tmp_path, self.SESSION))


class TestCommand:
    @pytest.mark.parametrize(
        ("options", "said"),
        [
            (["--plan", "plan.csv"], "--plan goes with --trial"),
            (["--format", "csv"], "--format csv goes with --trial"),
            (["--trial", "trial.yaml", "--source", "speed"], "is not QUANTITY=SOURCE"),
            (["--trial", "trial.yaml", "--ahead-of-utc", "2"], "is not a time"),
            (["--trial", "none.yaml"], "none.yaml"),
        ],
    )
    def test_options_that_do_not_fit(
        self,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
        options: list[str],
        said: str,
    ) -> None:
        monkeypatch.chdir(tmp_path)
        trial_of(tmp_path, "id: S1, configuration: bare, date: 2026-05-04")
        Path("a.log").write_text(
            "$GPRMC,101500.00,A,5051.2400,N,00106.1200,W,6.2,084.0,040526,,,A\n"
        )
        assert main(["logs", "a.log", *options]) == 2
        assert said in capsys.readouterr().err

    def test_a_log_without_a_date(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.chdir(tmp_path)
        trial_of(tmp_path, "id: S1, configuration: bare, date: 2026-05-04")
        Path("a.log").write_text("$GPVTG,084.0,T,,M,6.2,N,11.5,K,A\n" * 30)
        assert main(["logs", "a.log", "--trial", "trial.yaml"]) == 2
        assert "has no date" in capsys.readouterr().err
