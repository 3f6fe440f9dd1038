"""Headings that a table cannot be read by; each message names the heading and the way out."""

from __future__ import annotations

from typing import Any

import pytest

from slackwater.protocol.findings import Severity


def test_no_heading_row(bench: Any) -> None:
    error = bench.error("S1,1000,out,8.31\nS1,1000,back,7.62\n")
    assert error.rule == "heading-missing"
    assert error.place.line == 1
    assert error.place.excerpt == "S1,1000,out,8.31"


def test_a_near_miss_of_the_session_column(bench: Any) -> None:
    error = bench.error(bench.text(heading={"session": "Sesion"}))
    assert error.rule == "heading-missing"
    assert "did you mean 'session' by 'Sesion'" in error.fix


@pytest.mark.parametrize(
    ("name", "heading", "meant"),
    [
        ("speed_over_ground", "sped_over_ground [kn]", "'speed_over_ground [kn]'"),
        ("set_aside", "set_asides", "'set_aside'"),
        ("double_run", "double_runs", "'double_run'"),
        ("start", "starts", "'start'"),
        ("set_point", "setpoints [rpm]", "'set_point [rpm]'"),
    ],
)
def test_a_near_miss_is_an_error(bench: Any, name: str, heading: str, meant: str) -> None:
    errors = [
        f
        for f in bench.refused(bench.text(heading={name: heading}))
        if f.severity is Severity.ERROR
    ]
    assert [f.rule for f in errors] == ["heading-unknown"]
    assert f"'{heading}'" in errors[0].message
    assert f"did you mean {meant}" in errors[0].fix
    assert errors[0].place.column == bench.text(heading={name: heading}).index(heading) + 1


def test_a_near_miss_of_a_note_is_only_told(bench: Any) -> None:
    told = bench.told(bench.read(bench.text(heading={"note": "notes"})), "column-ignored")
    assert told.fix == "did you mean 'note'?"


@pytest.mark.parametrize("heading", ["fuel_flow", "fuel_flow []", "Fuel flow"])
def test_no_unit(bench: Any, heading: str) -> None:
    error = bench.error(bench.text(heading={"fuel_flow": heading}))
    assert error.rule == "unit-missing"
    assert "L/h" in error.message
    assert "gal/h" in error.message
    assert "'fuel_flow [L/h]'" in error.fix
    assert "units: {fuel_flow: L/h}" in error.fix


def test_no_unit_for_the_set_points(bench: Any) -> None:
    error = bench.error(bench.text(heading={"set_point": "set_point"}))
    assert (error.rule, error.place.line) == ("unit-missing", 1)
    assert "rpm" in error.message


@pytest.mark.parametrize(
    ("heading", "says"),
    [
        ("speed_over_ground [kg]", "a mass"),
        ("speed_over_ground [KPH]", "'kph'"),
        ("speed_over_ground [GPS]", "'GPS' is not known"),
        ("speed_over_ground [s/500 m]", "speed"),
    ],
)
def test_a_unit_that_does_not_fit(bench: Any, heading: str, says: str) -> None:
    error = bench.error(bench.text(heading={"speed_over_ground": heading}))
    assert error.rule == "unit-unfit"
    assert f"'{heading}'" in error.message
    assert "kn, m/s, km/h, mph" in error.message
    assert says in error.message + error.fix


def test_two_units_for_one_column(bench: Any) -> None:
    error = bench.error(bench.text(), units={"speed_over_ground": "mph"})
    assert error.rule == "unit-conflict"
    assert "[kn]" in error.message
    assert "mph" in error.message


# Case 77.
def test_two_columns_with_one_name(bench: Any) -> None:
    error = bench.error(bench.text(heading={"fuel_flow": "Speed over ground [mph]"}))
    assert error.rule == "column-repeated"
    assert "'speed_over_ground [kn]'" in error.message
    assert "'Speed over ground [mph]'" in error.message


def test_a_mapped_heading_that_is_not_there(bench: Any) -> None:
    text = bench.text(heading={"speed_over_ground": "GPS speed [kn]"})
    error = bench.error(text, columns={"speed_over_ground": "GPS sped"})
    assert error.rule == "column-missing"
    assert "'GPS sped'" in error.message
    assert "did you mean 'GPS speed [kn]'" in error.fix


def test_a_mapped_heading_wins_over_one_of_the_same_name(bench: Any) -> None:
    text = bench.text(heading={"fuel_flow": "log speed [kn]"})
    table = bench.read(text, columns={"speed_over_ground": "log speed"})
    assert table.frame["speed_over_ground"][0] == 12.1
    assert "another column is headed so" in bench.told(table, "column-ignored").message


def test_no_set_points(bench: Any) -> None:
    error = bench.error(bench.text(without=["set_point"]))
    assert error.rule == "column-missing"
    assert "'set_point [rpm]'" in error.fix


# Case 70.
def test_no_directions(bench: Any) -> None:
    error = bench.error(bench.text(without=["direction"]))
    assert error.rule == "direction-missing"
    assert "out or back" in error.fix
    assert "heading [deg]" in error.fix


def test_no_measure_at_all(bench: Any) -> None:
    text = bench.text(without=["speed_over_ground", "engine_speed", "fuel_flow"])
    errors = [f for f in bench.refused(text) if f.severity is Severity.ERROR]
    assert [f.rule for f in errors] == ["column-missing"] * 3
    assert [f.message.rsplit(" ", 1)[1] for f in errors] == [
        "speed_over_ground",
        "engine_speed",
        "fuel_flow",
    ]


# Case 60: a row of units under the heading.
@pytest.mark.parametrize("row", [",rpm,,,,s,kn,rpm,L/h,,", ",[rpm],,,,(s),KPH,rpm,L/h,,"])
def test_units_under_the_heading(bench: Any, row: str) -> None:
    lines = bench.text().splitlines()
    error = bench.error("\n".join([lines[0], row, *lines[1:]]))
    assert (error.rule, error.place.line) == ("units-row", 2)
    assert "into the heading" in error.fix


# Case 60: several tables in one file.
def test_a_second_heading(bench: Any) -> None:
    error = bench.error(bench.text() + bench.text().splitlines()[0] + "\n")
    assert (error.rule, error.place.line) == ("second-heading", 10)
    assert "row 1" in error.message
