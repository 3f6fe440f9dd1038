"""The page of a log: the answer first, curves thinned without losing a peak, runs marked, nothing fetched."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from invented_log import MORNINGS, outing, summed, write_trial
from invented_turns import Circle

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.handling.turn_track import track_of
from slackwater.analysis.handling.turning import turning_circle
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.report.drawing.clock import clock_ticks
from slackwater.analysis.report.drawing.thinning import followed, outermost, parted, thinned
from slackwater.analysis.report.drawing.turning_tracks import turning_tracks
from slackwater.analysis.report.logs.outings import Outing
from slackwater.analysis.report.logs.pictures import over_time, track


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def verdict(page: str) -> str:
    found = re.search(r'<p class="verdict">(.*?)</p>', page)
    assert found is not None
    return found[1]


class TestThinning:
    def test_each_column_keeps_its_lowest_and_highest(self) -> None:
        rng = np.random.default_rng(5)
        x = np.arange(100_000.0)
        y = rng.standard_normal(x.size)
        y[31_234] = 9.0  # a single sample that nobody may lose
        kept_x, kept_y = thinned(x, y, (0.0, 100_000.0), 300)
        assert kept_x.size <= 600
        assert (np.diff(kept_x) > 0).all()
        assert {31_234.0} <= {*kept_x}
        by_column = np.split(y, np.flatnonzero(np.diff((x * 300 // 100_000).astype(int))) + 1)
        ends = {(float(part.min()), float(part.max())) for part in by_column}
        assert {each for pair in ends for each in pair} == {*kept_y.tolist()}

    def test_few_points_stay_as_they_are(self) -> None:
        x = np.arange(10.0)
        assert thinned(x, x, (0.0, 9.0), 300)[0] is x

    def test_a_way_is_followed_within_what_it_may_stray(self) -> None:
        turn = np.linspace(0.0, 6.0, 5000)
        x, y = 100 * np.cos(turn), 100 * np.sin(turn)
        kept_x, kept_y = followed(x, y, 0.25)
        assert 20 < kept_x.size < 200
        distance = np.min(
            [
                _from_line(x, y, kept_x[n : n + 2], kept_y[n : n + 2])
                for n in range(kept_x.size - 1)
            ],
            axis=0,
        )
        assert distance.max() <= 0.25

    def test_of_a_scribble_the_outermost_points_stay(self) -> None:
        rng = np.random.default_rng(6)
        x, y = rng.standard_normal((2, 50_000))
        kept_x, kept_y = outermost(x, y, 3000)
        assert kept_x.size <= 3002
        assert (kept_x.min(), kept_x.max(), kept_y.min(), kept_y.max()) == (
            x.min(),
            x.max(),
            y.min(),
            y.max(),
        )
        assert outermost(x[:9], y[:9], 3000)[0].size == 9

    def test_a_way_that_stands_still(self) -> None:
        assert followed(np.zeros(1000), np.zeros(1000), 0.25)[0].size == 2
        assert followed(np.zeros(1), np.zeros(1), 0.25)[0].size == 1

    def test_parted_where_there_is_nothing(self) -> None:
        assert parted(np.array([0.0, 1.0, 9.0]), 3.0) == [slice(0, 2), slice(2, 3)]

    def test_a_clock_that_goes_on_after_midnight(self) -> None:
        assert list(clock_ticks(23.4, 24.6).values()) == [
            "23:30",
            "23:45",
            "00:00",
            "00:15",
            "00:30",
        ]
        assert list(clock_ticks(9.5, 9.502, 1 / 60).values()) == ["09:30:04"]


def _from_line(x: np.ndarray, y: np.ndarray, ends_x: np.ndarray, ends_y: np.ndarray) -> np.ndarray:
    dx, dy = np.diff(ends_x)[0], np.diff(ends_y)[0]
    at = np.clip(((x - ends_x[0]) * dx + (y - ends_y[0]) * dy) / (dx * dx + dy * dy), 0, 1)
    return np.asarray(np.hypot(x - ends_x[0] - at * dx, y - ends_y[0] - at * dy))


class TestAnswerFirst:
    def test_runs_can_be_cut(self, folder: Path) -> None:
        write_trial(folder)
        page = slackwater.logs("day1.log").to_html()
        assert verdict(page) == "Runs can be cut from these logs."
        assert "Under way she held course and speed for 60 s or longer 4 times." in page
        assert page.index('class="verdict"') < page.index('id="outings"') < page.index('id="files"')

    def test_runs_of_a_trial(self, folder: Path) -> None:
        write_trial(folder)
        page = slackwater.cut("trial.yaml").to_html()
        assert verdict(page) == "Every planned run was found: 8 runs."
        assert "INVENTED" in page
        assert page.count("<svg") == 4
        assert "▷ out, ◁ back" in page

    def test_some_were_not_found(self, folder: Path) -> None:
        write_trial(folder)
        text = outing(MORNINGS[1], [(1000.0, "out"), (1000.0, "back"), (2000.0, "out")])
        (folder / "day2.log").write_text(text)
        page = slackwater.cut("trial.yaml").to_html()
        assert verdict(page) == "6 of 8 planned runs were found."
        assert "Planned and not found: 2 runs. S2:" in page
        assert "× set aside" in page

    def test_no_trial_and_why(self, folder: Path) -> None:
        write_trial(folder, "logs: [day1.log]")
        (folder / "day1.log").write_text(outing("2025-01-01T08:00:00"))
        page = slackwater.cut("trial.yaml").to_html()
        assert verdict(page) == "No trial in these logs: no log has anything of this session."
        assert "<svg" not in page

    def test_without_a_date(self, folder: Path) -> None:
        Path("a.log").write_text(summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A") * 30)
        page = slackwater.logs("a.log").to_html()
        assert verdict(page) == "No runs can be cut from these logs: none has a date."

    def test_without_a_way(self, folder: Path) -> None:
        Path("a.log").write_text(outing(MORNINGS[0], of=["RPM"]))
        page = slackwater.logs("a.log").to_html()
        assert verdict(page).startswith("No runs can be cut from these logs: neither speed")
        assert "No positions, so no track." in page

    def test_nothing_in_it_that_is_read(self, folder: Path) -> None:
        Path("a.log").write_text(summed("GPGSV,1,1,00") * 3)
        page = slackwater.logs("a.log").to_html()
        assert verdict(page).startswith("No runs can be cut from these logs")


class TestPictures:
    def made(self, **values: np.ndarray) -> Outing:
        time = np.arange(float(next(iter(values.values())).size))
        units = {"speed_over_ground": "kn", "latitude": "deg", "longitude": "deg"}
        channels = {
            name: Channel(name, "one", units[name], time, each) for name, each in values.items()
        }
        return Outing("one", (0.0, float(time[-1])), 0.0, channels)

    def test_a_wild_position_is_counted_and_not_drawn(self) -> None:
        north, east = 50 + np.linspace(0, 0.01, 100), np.full(100, 4.0)
        north[50] = east[50] = 0.0
        svg, wild = track(self.made(latitude=north, longitude=east), "track")
        assert wild == 1
        assert "500 m, north up" in svg or "200 m, north up" in svg

    def test_across_the_date_line(self) -> None:
        east = (180.0 + np.linspace(-0.01, 0.01, 100) + 180.0) % 360.0 - 180.0
        svg, wild = track(self.made(latitude=np.full(100, 10.0), longitude=east), "track")
        assert wild == 0
        assert "500 m, north up" in svg

    def test_a_scribble_at_a_berth_is_bounded(self) -> None:
        rng = np.random.default_rng(3)
        east, north = (1e-6 * np.cumsum(rng.standard_normal(20_000)) for _ in range(2))
        svg, _ = track(self.made(latitude=50 + north, longitude=4 + east), "track")
        assert len(svg) < 50_000

    def test_lying_still(self) -> None:
        svg, _ = track(self.made(latitude=np.full(9, 50.0), longitude=np.full(9, 4.0)), "track")
        assert "nan" not in svg
        assert "nan" not in over_time(self.made(speed_over_ground=np.zeros(9)), "speed")


class TestTheFile:
    def test_nothing_is_fetched_and_names_are_text(self, folder: Path) -> None:
        name = "<b>&day.log"
        Path(name).write_text(outing(MORNINGS[0]))
        page = slackwater.logs(name).to_html()
        assert "<b>" not in page
        assert "&lt;b&gt;&amp;day.log" in page
        assert not re.search(r"<script|https?:|src=|@import|url\(", page)
        assert "NaN" not in page
        assert ">nan" not in page

    def test_a_long_log_makes_no_long_page(self, folder: Path) -> None:
        day = [(1000.0 + 10 * n, ("out", "back")[n % 2]) for n in range(120)]  # about four hours
        Path("long.log").write_text(outing(MORNINGS[0], day))
        assert len(slackwater.logs("long.log").to_html()) < 60_000

    def test_by_the_ending_of_the_file(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        write_trial(folder)
        assert main(["logs", "day1.log", "--output", "a.html"]) == 0
        assert main(["logs", "--trial", "trial.yaml", "--output", "b.html"]) == 0
        assert Path("a.html").read_text().startswith("<!DOCTYPE html>")
        assert "Every planned run was found" in Path("b.html").read_text()
        assert main(["logs", "day1.log", "--format", "html"]) == 0
        assert "</html>" in capsys.readouterr().out


class TestTurns:
    """Circles are drawn to scale and told in a table; boats that come back on their course draw none."""

    def test_a_circle_is_drawn_and_told(self, folder: Path) -> None:
        Path("turn.csv").write_text(_circle_as_table(), encoding="utf-8")
        page = slackwater.logs("turn.csv").to_html()
        part = page[page.index('id="turns"') : page.index('id="files"')]
        assert "1 turn<" in part
        assert "Dashed: over ground" in part
        assert "the drift was told by places a whole turn apart" in part
        assert part.count("stroke-dasharray") == 1

    def test_legs_and_their_turns_draw_none(self, folder: Path) -> None:
        write_trial(folder)
        assert 'id="turns"' not in slackwater.logs("day1.log").to_html()

    def test_to_scale(self) -> None:
        circles = [
            track_of(turning_circle(circle.path(), 0.0, circle.end))
            for circle in (Circle(step=0.5, side=side, current=(0, 0)) for side in (-1, 1))
        ]
        drawn = turning_tracks(circles, "both sides")
        wide, high = (
            max(each) - min(each)
            for each in zip(*_points(drawn, 'stroke-width="1.5"'), strict=True)
        )
        # port and starboard of 80 m each, the approach of 10 m below the middle of one of them
        assert wide / high == pytest.approx(160 / 80, rel=0.02)

    def test_without_turns_no_picture(self) -> None:
        assert turning_tracks([], "none") == ""


def _circle_as_table() -> str:
    path = Circle(step=1.0, approach=40.0).path()
    fast = np.hypot(path.east_velocity, path.north_velocity) * 3600 / 1852
    course = np.degrees(np.arctan2(path.east_velocity, path.north_velocity)) % 360
    rows = [
        "time,latitude [deg],longitude [deg],speed over ground [kn],course over ground [deg],heading [deg]"
    ]
    begins = datetime(2026, 5, 4, 8, tzinfo=UTC)
    for n, t in enumerate(path.seconds):
        moment = (begins + timedelta(seconds=round(float(t) + 40.0, 3))).isoformat()
        north, east = path.north[n] / 111_120, path.east[n] / 111_120
        rows.append(
            f"{moment},{north:.8f},{east:.8f},{fast[n]:.3f},{course[n]:.2f},{path.heading[n] % 360:.2f}"
        )
    return "\n".join(rows) + "\n"


def _points(drawn: str, style: str) -> list[tuple[float, float]]:
    paths = [line for line in drawn.splitlines() if style in line]
    numbers = [
        re.findall(r"(-?[\d.]+) (-?[\d.]+)", re.search(r' d="([^"]*)"', each)[1]) for each in paths
    ]
    return [(float(x), float(y)) for several in numbers for x, y in several]
