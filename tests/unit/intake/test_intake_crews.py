"""Tables as crews write them: their own headings, words for the directions, dates and engines. Invented."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
import pytest

from slackwater.analysis.intake.everyday import meant_by
from slackwater.analysis.intake.local_dates import written_moment
from slackwater.analysis.intake.problems import spans
from slackwater.protocol.findings import Severity

NAMES = ("session", "set_point", "direction", "heading", "start", "speed_over_ground")
NAMES += ("engine_speed", "fuel_flow", "water_depth", "note")


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("Speed (kn)", "speed_over_ground"),
        ("GPS speed", "speed_over_ground"),
        ("SOG [kn]", "speed_over_ground"),
        ("Dir", "direction"),
        ("Time", "start"),
        ("RPM", "engine_speed"),
        ("RPM stbd", "engine_speed"),
        ("Port engine RPM", "engine_speed"),
        ("Engine 1 fuel (L/h)", "fuel_flow"),
        ("Set point", "set_point"),
        ("HDG", "heading"),
        ("Depth (m)", "water_depth"),
        ("Bft", ""),
        ("wind angle", ""),
        ("Port", ""),
        ("", ""),
    ],
)
def test_what_a_heading_most_likely_means(heading: str, name: str) -> None:
    assert meant_by(heading, NAMES) == name


def test_headings_in_everyday_words_are_one_finding_with_one_mend(bench: Any) -> None:
    heading = {"speed_over_ground": "Speed (kn)", "direction": "Dir", "start": "Time"}
    errors = bench.refused(bench.text(heading=heading))
    told = [f for f in errors if f.severity is Severity.ERROR]
    assert [f.rule for f in told] == ["heading-unknown"]
    assert 'columns: {direction: "Dir", start: "Time", speed_over_ground: "Speed"}' in told[0].fix


def test_the_mend_mends(bench: Any) -> None:
    heading = {"speed_over_ground": "Speed (kn)", "direction": "Dir", "start": "Time"}
    columns = {"direction": "Dir", "start": "Time", "speed_over_ground": "Speed"}
    table = bench.read(bench.text(heading=heading), columns=columns)
    assert table.findings == ()
    assert (
        table.frame["speed_over_ground"].tolist()
        == bench.read(bench.text()).frame["speed_over_ground"].tolist()
    )


def _turned(bench: Any, out: str, back: str) -> str:
    text: str = bench.text()
    return text.replace(",out,", f",{out},").replace(",back,", f",{back},")


@pytest.mark.parametrize(("out", "back"), [("N", "S"), ("up", "down"), ("Upstream", "downstream")])
def test_words_for_the_directions(bench: Any, out: str, back: str) -> None:
    error = bench.error(_turned(bench, out, back))
    assert (error.rule, error.run) == ("direction-unknown", "row 2")
    assert f"{{{out}: out, {back}: back}}" in error.fix
    words = {out: "out", back.upper(): "back"}
    table = bench.read(_turned(bench, out, back), direction_words=words)
    assert table.frame["direction"].tolist() == ["out", "back", "back", "out"] * 2


def test_which_word_is_out_is_no_matter_but_a_third_word_is(bench: Any) -> None:
    error = bench.error(_turned(bench, "N", "S").replace(",S,", ",west,", 1))
    assert "'N' (4 rows), 'S' (3 rows), 'west' (1 rows)" in error.message
    assert "directions: {WORD: out, WORD: back}" in error.fix


def test_a_slip_among_sound_words_stays_with_its_row(bench: Any) -> None:
    error = bench.error(bench.text({(4, "direction"): "bak"}))
    assert (error.run, error.fix.split("?")[0]) == ("row 4", "did you mean 'back'")


def test_degrees_under_direction_are_headings(bench: Any) -> None:
    error = bench.error(_turned(bench, "045", "225"))
    assert 'columns: {heading: "direction"}' in error.fix


@pytest.mark.parametrize(
    ("text", "dates", "read"),
    [
        ("04.05.2026 09:07", "day first", "2026-05-04 09:07"),
        ("4/5/26 9.07", "day first", "2026-05-04 09:07"),
        ("05/04/2026 9:07:30 PM", "month first", "2026-05-04 21:07:30"),
        ('"05/04/2026, 12:07 am"', "month first", "2026-05-04 00:07"),
    ],
)
def test_dates_as_the_trial_says(bench: Any, text: str, dates: str, read: str) -> None:
    table = bench.read(bench.text({(4, "start"): text}), dates=dates)
    assert table.frame["start"][2] == pd.Timestamp(read)


def test_a_day_that_is_none_is_refused_and_never_read_the_other_way(bench: Any) -> None:
    error = bench.error(bench.text({(4, "start"): "05/13/2026 09:07"}), dates="day first")
    assert (error.rule, error.run) == ("start-format", "row 4")
    assert "day first" in error.message


def test_iso_dates_stay_readable_beside_others(bench: Any) -> None:
    assert bench.read(bench.text(), dates="day first").findings == ()


def test_a_date_that_can_be_read_one_way_only_names_the_key(bench: Any) -> None:
    error = bench.error(bench.text({(4, "start"): "13.05.2026 09:07"}))
    assert "'dates: day first'" in error.fix


def test_times_of_day_take_the_date_of_the_session(bench: Any) -> None:
    text = bench.text().replace("2026-05-04T", "").replace("2026-05-05T", "")
    days = {"S1": date(2026, 5, 4), "S2": date(2026, 5, 5)}
    table = bench.read(text, dates="of the session", days=days)
    assert table.frame["start"].tolist() == bench.read(bench.text()).frame["start"].tolist()
    errors = bench.refused(text, dates="of the session", days={"S1": date(2026, 5, 4)})
    assert {f.rule for f in errors} == {"start-without-date"}


def test_a_date_and_a_time_in_two_columns(bench: Any) -> None:
    text = bench.text(heading={"start": "Date,Time"})
    text = text.replace("2026-05-04T", "04.05.2026,").replace("2026-05-05T", "05.05.2026,")
    columns = {"start": ["Date", "Time"]}
    table = bench.read(text, columns=columns, dates="day first")
    assert table.frame["start"].tolist() == bench.read(bench.text()).frame["start"].tolist()
    error = bench.error(text.replace(",09:07:00", ",", 1), columns=columns, dates="day first")
    assert error.rule == "start-without-time"


def test_no_form_is_read_unless_it_is_declared() -> None:
    assert written_moment("04.05.2026 09:07", "year first") is None


def test_stretches_of_rows() -> None:
    assert spans([3, 4, 5, 9, 12, 13]) == "3 to 5, 9 and 12, 13"
    assert spans([7]) == "7"
