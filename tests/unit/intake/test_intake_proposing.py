"""A trial proposed from a crew's table reads that table; nothing is asked that can be seen. Invented tables."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.intake.proposing import unit_in
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.declared.trial import load_trial

HEADINGS = ["Day", "Prop", "RPM", "Dir", "Date", "Time", "Speed (kn)", "Port L/h", "Stbd L/h"]
DATES = {"day first": "{day:02d}/05/2026", "year first": "2026-05-{day:02d}"}


def _table(dates: str = "day first", words: str = "NS", days: tuple[int, ...] = (14, 15)) -> str:
    lines, minutes = [",".join(HEADINGS)], count(540, 4)
    for number, day in enumerate(days, 1):
        prop = ("old", "new")[number % 2]
        for set_point in (1200, 1800):
            for way in words * 2:
                clock = next(minutes)
                when = f"{DATES[dates].format(day=day)},{clock // 60:02d}:{clock % 60:02d}"
                lines.append(
                    f"{number},{prop},{set_point},{way},{when},{set_point / 150:.2f},9,9.1"
                )
    return "\n".join(lines) + "\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    words = ["new", "protocol", "--set-points", "1200 rpm, 1800 rpm", "--output", "protocol.yaml"]
    assert main(words) == 0
    return tmp_path


def _propose(folder: Path, text: str, *more: str) -> str:
    (folder / "crew.csv").write_text(text, encoding="utf-8")
    words = ["new", "trial", "--from", "protocol.yaml", "--runs", "crew.csv", "--output", "t.yaml"]
    assert main([*words, *more]) == 0
    return (folder / "t.yaml").read_text("utf-8")


@pytest.mark.parametrize("dates", list(DATES))
def test_the_trial_proposed_reads_the_table(folder: Path, dates: str) -> None:
    _propose(folder, _table(dates))
    trial = load_trial("t.yaml")
    assert [(s.id, s.configuration, s.day) for s in trial.sessions] == [
        ("1", "new", "2026-05-14"),
        ("2", "old", "2026-05-15"),
    ]
    runs = read_runs(trial)
    assert runs.frame["direction"].tolist() == ["out", "back"] * 8
    assert runs.frame["fuel_flow"].tolist() == [pytest.approx(18.1)] * 16
    assert runs.frame["set_point"].unique().tolist() == [1200.0, 1800.0]
    assert runs.frame["start"].notna().all()


def test_the_baseline_is_the_one_named_first(folder: Path) -> None:
    _propose(folder, _table(), "--configurations", "old,new")
    pair = load_trial("t.yaml").comparisons[0]
    assert (pair.baseline, pair.modified) == ("old", "new")


def test_a_date_that_can_be_read_both_ways_is_left_to_a_person(folder: Path) -> None:
    text = _propose(folder, _table(days=(4, 5)))
    assert "\n# dates: day first\n# dates: month first\n" in text
    assert "\ndates:" not in text


def test_what_was_fitted_is_asked_where_nothing_tells(folder: Path) -> None:
    text = _propose(folder, _table().replace("Prop", "Sea").replace(",old,", ",calm,"))
    assert "Nothing in the table says what was fitted" in text
    assert load_trial("t.yaml").sessions == ()


def test_set_points_of_another_protocol_are_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "crew.csv").write_text(_table(), encoding="utf-8")
    assert main(["new", "trial", "--runs", "crew.csv", "--output", "t.yaml"]) == 0
    assert '--set-points "1200 rpm, 1800 rpm"' in capsys.readouterr().err


@pytest.mark.parametrize(("out", "back"), [("045", "225"), ("45.5", "225.5"), ("45°", "225°")])
def test_degrees_are_headings(folder: Path, out: str, back: str) -> None:
    text = _propose(folder, _table().replace(",N,", f",{out},").replace(",S,", f",{back},"))
    assert '  heading: "Dir"\n' in text
    assert "  heading: deg\n" in text


@pytest.mark.parametrize(("out", "back"), [("1", "2"), ("0", "1")])
def test_numbers_for_the_two_ways_are_no_headings(folder: Path, out: str, back: str) -> None:
    text = _propose(folder, _table().replace(",N,", f",{out},").replace(",S,", f",{back},"))
    assert f'directions: {{"{out}": out, "{back}": back}}' in text


def test_a_file_that_is_no_run_table_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "list.csv").write_text("bread,butter\n1,2\n", encoding="utf-8")
    assert main(["new", "trial", "--runs", "list.csv", "--output", "t.yaml"]) == 2
    assert "no row looks like the headings of a run table" in capsys.readouterr().err
    assert not (folder / "t.yaml").exists()


def test_a_table_is_never_written_over(folder: Path) -> None:
    before = _table()
    _propose(folder, before)
    assert (folder / "crew.csv").read_text("utf-8") == before


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("RPM", "rpm"),
        ("Port engine rpm", "rpm"),
        ("GPS knots", "kn"),
        ("Port L/h", "L/h"),
        ("Dur", ""),
    ],
)
def test_units_that_a_heading_names(heading: str, unit: str) -> None:
    assert unit_in(heading) == unit
