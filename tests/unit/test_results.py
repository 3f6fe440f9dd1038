"""The result object: its contract, its schema, and that nothing not finite leaves it."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import jsonschema
import numpy as np
import pandas as pd
import pytest
from invented_result import invented, untestable, without_tables

from slackwater.analysis.result.fields import TABLES
from slackwater.analysis.result.result import Result, ResultError, plain, table
from slackwater.analysis.result.result_schema import SCHEMA_FILE, result_schema

# The keys that users' programs rely on; a result may carry more.
CONTRACT: dict[str, list[str]] = {
    "set_points": [
        "configuration", "quantity", "at", "mean", "low", "high", "unit", "sessions", "double_runs",
    ],
    "comparisons": [
        "baseline", "modified", "quantity", "at", "change", "low", "high", "confidence",
        "simultaneous", "p_value", "noise_floor", "worthwhile", "verdict", "reason",
        "degrees_of_freedom",
    ],
    "current": ["session", "at", "value", "unit"],
    "noise": ["quantity", "component", "value", "sessions"],
    "deviations": ["rule", "severity", "session", "message"],
}  # fmt: skip
ALL = pytest.mark.parametrize("make", [invented, untestable, without_tables])


@ALL
def test_contract(make: Any) -> None:
    data = make().to_dict()
    assert data["schema"] == 1
    assert set(data["tool"]) == {"name", "version"}
    assert {"id", "version", "sha256"} <= set(data["protocol"])
    assert set(data["runs"]) == {"read", "used", "set_aside"}
    for name, keys in CONTRACT.items():
        for row in data[name]:
            assert set(keys) <= set(row), name


@ALL
def test_json_is_valid_against_the_shipped_schema(make: Any) -> None:
    schema = json.loads((files("slackwater.protocol.schemas") / SCHEMA_FILE).read_text("utf-8"))
    assert schema == result_schema(), "run: python -m slackwater.analysis.report.schemas"
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(make().to_json()), schema)


def test_schema_refuses_a_verdict_of_another_word() -> None:
    data = invented().to_dict()
    data["comparisons"][0]["verdict"] = "better"
    with pytest.raises(jsonschema.ValidationError, match="better"):
        jsonschema.validate(data, result_schema())


@ALL
def test_json_holds_nothing_that_is_not_finite(make: Any) -> None:
    text = make().to_json()
    json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} in the JSON"))
    assert text.endswith("}\n")


def test_not_finite_becomes_null() -> None:
    row = json.loads(untestable().to_json())["comparisons"][0]
    assert row["high"] is None
    assert row["noise_floor"] is None
    assert row["change"] is not None


def test_same_result_same_bytes() -> None:
    assert invented().to_json() == invented().to_json()


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (np.float64(1.5), 1.5),
        (np.int64(3), 3),
        (np.bool_(True), True),
        (np.float64("nan"), None),
        (float("-inf"), None),
        (pd.NaT, None),
        (pd.NA, None),
        (pd.Timestamp("2031-05-04T08:10"), "2031-05-04T08:10:00"),
        ("text", "text"),
    ],
)
def test_plain(value: Any, expected: Any) -> None:
    got = plain(value)
    assert got == expected
    assert type(got) is type(expected)


def test_counts_stay_whole_beside_a_gap() -> None:
    rows = invented().records("set_points")[:2]
    rows[0]["sessions"] = None
    frame = table("set_points", rows)
    result = _with(set_points=frame)
    assert [row["sessions"] for row in result.records("set_points")] == [None, 3]
    assert isinstance(result.records("set_points")[1]["sessions"], int)


def _with(**tables: pd.DataFrame) -> Result:
    from dataclasses import replace

    return replace(invented(), **tables)


def test_missing_column_is_named() -> None:
    frame = invented().comparisons.drop(columns=["noise_floor", "verdict"])
    with pytest.raises(ResultError, match=r"comparisons lacks the columns noise_floor, verdict"):
        _with(comparisons=frame)


def test_missing_key_is_named() -> None:
    with pytest.raises(ResultError, match=r"row 0 of noise lacks component"):
        table("noise", [{"quantity": "speed"}])


def test_word_that_is_no_verdict_is_named() -> None:
    frame = invented().comparisons
    frame.loc[0, "verdict"] = "better"
    with pytest.raises(ResultError, match="'better' in the column verdict of comparisons"):
        _with(comparisons=frame)


def test_further_columns_are_kept() -> None:
    frame = invented().noise.assign(note="kept")
    result = _with(noise=frame)
    assert result.to_dict()["noise"][0]["note"] == "kept"
    assert list(result.noise.columns)[: len(TABLES["noise"])] == [f.name for f in TABLES["noise"]]


def test_optional_columns_may_be_left_out() -> None:
    frame = invented().comparisons.drop(columns=["worth", "vanishes_at", "shared_uncertainty"])
    assert _with(comparisons=frame).to_dict()["comparisons"][0]["worth"] is None


def test_prints_itself() -> None:
    assert str(invented()).startswith("Interceptors fitted against As delivered, speed: ")
