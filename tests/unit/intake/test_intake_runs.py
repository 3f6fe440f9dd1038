"""What rows show when they are held against each other."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from slackwater.protocol.findings import Severity


# Case 73.
def test_a_copied_row(bench: Any) -> None:
    lines = bench.text().splitlines()
    findings = bench.refused("\n".join([*lines, lines[3].replace(",1,", ",2,", 1)]))
    errors = [f for f in findings if f.severity is Severity.ERROR]
    assert [(f.rule, f.run) for f in errors] == [("row-copied", "row 10")]
    assert "row 4" in errors[0].message
    assert "set_aside" in errors[0].fix


def test_a_copied_row_set_aside_is_no_error(bench: Any) -> None:
    lines = bench.text().splitlines()
    assert bench.read("\n".join([*lines, lines[3][:-1] + "pasted twice,"])).findings == ()


def test_a_copy_with_another_session_is_a_copy(bench: Any) -> None:
    lines = bench.text().splitlines()
    errors = bench.refused("\n".join([*lines[:5], *(s.replace("S1", "S2") for s in lines[1:5])]))
    assert [f.run for f in errors if f.rule == "row-copied"] == [f"row {n}" for n in range(6, 10)]


def test_equal_values_without_a_start(bench: Any) -> None:
    rows = bench.rows(without=["start", "double_run"])
    rows.append(list(rows[3]))
    error = bench.error("\n".join(map(",".join, rows)))
    assert (error.rule, error.run) == ("row-copied", "row 10")
    assert "give each run its start" in error.fix
    # Not every cell is equal: two runs can agree by chance.
    rows[-1][-1] = "calm"
    told = bench.told(bench.read("\n".join(map(",".join, rows))), "row-copied")
    assert (told.severity, told.run) == (Severity.WARNING, "row 10")


def test_the_same_run_twice(bench: Any) -> None:
    error = bench.error(bench.text({(5, "direction"): "back"}))
    assert (error.rule, error.run) == ("run-twice", "row 5")
    assert "after row 4" in error.message
    assert "set_aside" in error.fix


def test_a_repeated_run_with_the_first_set_aside(bench: Any) -> None:
    changes = {(5, "direction"): "back", (4, "set_aside"): "wake"}
    assert "run-twice" not in {f.rule for f in bench.read(bench.text(changes)).findings}


# Case 69.
def test_a_run_without_partner(bench: Any) -> None:
    lines = bench.text().splitlines()
    told = bench.told(bench.read("\n".join(lines[:-1])), "run-without-partner")
    assert (told.severity, told.run, told.session) == (Severity.WARNING, "row 8", "S2")
    assert "has no partner out" in told.message
    table = bench.read(bench.text({(9, "set_aside"): "wake"}))
    assert "row 9 is set aside" in bench.told(table, "run-without-partner").message


def test_double_runs_are_numbered_in_the_order_of_time(bench: Any) -> None:
    order = ["out", "back", "back", "out", "out", "back"]
    lines = [
        f"S{1 + n // 6},1000,{d},2026-05-04T{9 + n // 6:02d}:{3 * (n % 6):02d}:00,{8 + n / 7:.3f}"
        for n, d in enumerate(order * 2)
    ]
    lines = [lines[k] for k in (5, 3, 1, 0, 2, 4, 6, 7, 8, 9, 10, 11)]  # the clock decides
    head = "session,set_point [rpm],direction,start,speed_over_ground [kn]"
    table = bench.read("\n".join([head, *lines]), measures={"speed_over_ground": "kn"})
    assert table.frame["double_run"].tolist() == [3, 2, 1, 1, 2, 3, 1, 1, 2, 2, 3, 3]
    told = bench.told(table, "double-run-paired")
    assert told.severity is Severity.ADVICE
    assert "by their start" in told.message


def test_numbering_leaves_a_run_alone_that_is_followed_by_its_own_direction(bench: Any) -> None:
    rows = [("out", ""), ("back", "wake"), ("back", ""), ("back", ""), ("out", ""), ("out", "")]
    head = "session,set_point [rpm],direction,speed_over_ground [kn],set_aside"
    lines = [f"S1,1000,{d},{8 + n / 7:.3f},{aside}" for n, (d, aside) in enumerate(rows)]
    table = bench.read("\n".join([head, *lines]), measures={"speed_over_ground": "kn"})
    assert table.frame["double_run"].tolist() == [1, 1, 1, 2, 2, 3]
    assert bench.told(table, "run-without-partner").run == "row 7"
    assert "order of the rows" in bench.told(table, "double-run-paired").message


def test_one_way_runs_are_numbered_singly(bench: Any) -> None:
    table = bench.read(bench.text(without=["double_run", "direction"]), directions="one_way")
    assert table.frame["double_run"].tolist() == [1, 2, 1, 2, 1, 2, 1, 2]


def headed(bench: Any, headings: list[str], **options: Any) -> Any:
    text = bench.text(
        {(n, "direction"): h for n, h in enumerate(headings, 2)},
        heading={"direction": "heading [deg]"},
    )
    return bench.read(text, **options)


def test_directions_from_headings(bench: Any) -> None:
    table = headed(bench, ["3", "181", "184", "358", "5", "186", "180", "359"])
    assert table.frame["direction"].tolist() == ["out", "back", "back", "out"] * 2
    assert table.frame["heading"].tolist() == [3, 181, 184, 358, 5, 186, 180, 359]
    assert "out is about 00" in bench.told(table, "direction-from-heading").message


def test_directions_agree_between_sessions(bench: Any) -> None:
    # The second session starts the other way.
    table = headed(bench, ["45", "225", "225", "45", "230", "50", "48", "228"])
    assert table.frame["direction"].tolist() == [
        "out",
        "back",
        "back",
        "out",
        "back",
        "out",
        "out",
        "back",
    ]


def test_headings_in_radians(bench: Any) -> None:
    text = bench.text(
        {(n, "direction"): f"{np.radians(h):.9f}" for n, h in enumerate([90, 270, 270, 90] * 2, 2)},
        heading={"direction": "heading [rad]"},
    )
    table = bench.read(text)
    np.testing.assert_allclose(table.frame["heading"], [90, 270, 270, 90] * 2, atol=1e-6)
    assert table.frame["direction"].tolist() == ["out", "back", "back", "out"] * 2


# Case 71.
def test_headings_that_are_not_reciprocal(bench: Any) -> None:
    table = headed(bench, ["302", "145", "122", "302", "302", "122", "122", "302"])
    told = bench.told(table, "headings-not-reciprocal")
    assert told.severity is Severity.WARNING
    assert told.run == "row 3"
    assert "302 and 145 deg, 23 deg off" in told.message
    assert "keeps part of the current" in told.message


@pytest.mark.parametrize("cell", ["361", "-1", "400"])
def test_headings_out_of_range(bench: Any, cell: str) -> None:
    text = bench.text(
        {(n, "direction"): h for n, h in enumerate([cell, "180", "180", "0"] * 2, 2)},
        heading={"direction": "heading [deg]"},
    )
    errors = [f for f in bench.refused(text) if f.rule == "heading-range"]
    assert [f.run for f in errors] == ["row 2", "row 6"]
    assert "0 to 360" in errors[0].fix


def test_a_heading_may_stand_in_for_a_single_direction(bench: Any) -> None:
    rows = bench.rows({(3, "direction"): ""})
    extra = ["heading [deg]", *["10", "190", "190", "10"] * 2]
    text = "\n".join(",".join([*row, more]) for row, more in zip(rows, extra, strict=True))
    assert bench.read(text).frame["direction"].tolist() == ["out", "back", "back", "out"] * 2


# Case 68.
def test_one_wild_value(bench: Any) -> None:
    table = bench.read(bench.text({(2, "speed_over_ground"): "253.97"}))
    told = bench.told(table, "value-wild")
    assert (told.severity, told.run) == (Severity.WARNING, "row 2")
    assert "253.97" in told.message
    assert "set_aside" in told.fix


# Case 74.
def test_speeds_rounded_to_halves(bench: Any) -> None:
    speeds = ["8.5", "7.5", "15", "16", "8.5", "8", "15.5", "16"]
    table = bench.read(bench.text({(n, "speed_over_ground"): s for n, s in enumerate(speeds, 2)}))
    told = bench.told(table, "speed-rounded")
    assert told.severity is Severity.ADVICE
    assert "multiples of 0.5 kn" in told.message
    assert "0.14 kn" in told.fix  # 0.5/sqrt(12): the standard uncertainty of a rectangle


def test_rounding_is_judged_in_the_unit_of_the_file(bench: Any) -> None:
    speeds = ["16.5", "14", "28", "29.5", "16", "14.5", "28.5", "30"]
    text = bench.text(
        {(n, "speed_over_ground"): s for n, s in enumerate(speeds, 2)},
        heading={"speed_over_ground": "speed_over_ground [km/h]"},
    )
    assert "0.5 km/h" in bench.told(bench.read(text), "speed-rounded").message


# Case 79.
def test_one_run(bench: Any) -> None:
    table = bench.read("\n".join(bench.text().splitlines()[:2]))
    told = bench.told(table, "one-run")
    assert "row 2" in told.message


def test_one_configuration(bench: Any) -> None:
    table = bench.read("\n".join(bench.text().splitlines()[:5]))
    told = bench.told(table, "session-without-runs")
    assert "(S2)" in told.message
    assert "configuration fitted has none at all" in told.message


# Case 78: the order of the runs can be told while each has its start.
def test_rows_sorted_by_configuration(bench: Any) -> None:
    table = bench.read(bench.text({(n, "start"): f"2026-05-04T08:0{n - 5}" for n in range(6, 10)}))
    assert table.frame["start"].is_monotonic_increasing is False
    assert table.findings == ()
    assert "drift" in bench.told(bench.read(bench.text(without=["start"])), "start-missing").message
