"""What values are possible at all: one table, which every file is read against."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from laid_examples import PROTOCOL

from slackwater.analysis.cli import main
from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING, MEASURES
from slackwater.protocol.declared.trial import Boat, Configuration
from slackwater.protocol.units.possible import ANY, GROUNDS, POSSIBLE, is_possible, possible_in
from slackwater.protocol.units.quantity import QuantityError, parse_any, parse_quantity
from slackwater.protocol.units.unit_table import UNITS

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"
MEASURED = [name for name, measure in MEASURES.items() if measure.kind == "measured"]
OF_A_BOAT = [
    name
    for name, field in {**Boat.model_fields, **Configuration.model_fields}.items()
    if name not in ("title", "note") and field.annotation is not str
]


def test_every_row_says_from_where_to_where_and_why() -> None:
    for row in [*POSSIBLE.values(), *(row for _, row in ANY)]:
        assert row.low < row.high
        assert row.source.split(":")[0] in GROUNDS


@pytest.mark.parametrize("name", [*MEASURED, *CONDITIONS, *LOADING, *OF_A_BOAT])
def test_whatever_is_read_has_a_row(name: str) -> None:
    if name == "crew":
        pytest.skip("a count has bounds of its own")
    assert name in POSSIBLE


@pytest.mark.parametrize("name", MEASURED)
def test_rows_are_in_the_unit_of_their_measure(name: str) -> None:
    low, high = possible_in(MEASURES[name].unit, name)
    assert math.isfinite(low)
    assert low < high


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_every_unit_is_bounded(unit: str) -> None:
    low, high = possible_in(unit)
    assert -math.inf < low < high < math.inf
    assert not is_possible(1e13 if not unit.startswith("k") else 1e15, unit) or high >= 1e12


def test_the_ends_are_possible_and_what_lies_beyond_is_not() -> None:
    for name, row in POSSIBLE.items():
        assert is_possible(row.low, row.unit, name)
        assert is_possible(row.high, row.unit, name)
        step = (row.high - row.low) * 1e-6
        assert not is_possible(row.low - step, row.unit, name)
        assert not is_possible(row.high + step, row.unit, name)


@pytest.mark.parametrize("text", ["1e100 kn", "-1e200 m", "1e-30 kg", "3e15", "1e9 kn ± 1 kn"])
def test_impossible_quantities_are_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="beyond what is possible"):
        parse_any(text)


def test_an_uncertainty_wider_than_everything_is_refused() -> None:
    with pytest.raises(QuantityError, match="wider than all that is possible"):
        parse_quantity("8 ± 1e200 kn", "kn")


DECLARED = [
    ("standard_uncertainty: 0.05 kn", "standard_uncertainty: 1e200 kn"),
    ("standard_uncertainty: 1 %", "standard_uncertainty: 1e9 %"),
    ("values: [1000 rpm", "values: [1e80 rpm"),
    ("speed: 1 %, economy", "speed: 1e7 %, economy"),
    ("record: 60 s", "record: 1e12 s"),
    ("at_most: 8 kn", "at_most: 1e150 kn"),
    ("hold: 1 %", "hold: 1e40 %"),
]


@pytest.mark.parametrize(("old", "new"), DECLARED)
def test_a_protocol_with_an_impossible_value(
    old: str, new: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.yaml"
    assert old in PROTOCOL
    path.write_text(PROTOCOL.replace(old, new), "utf-8")
    line = next(n for n, text in enumerate(path.read_text("utf-8").split("\n"), 1) if new in text)
    assert main(["check", str(path)]) == 1
    said = capsys.readouterr().out
    assert f"p.yaml:{line}:" in said
    assert "beyond what is possible" in said


@pytest.mark.parametrize("value", ["1e100", "494", "1e-200", "999999"])
def test_a_run_with_an_impossible_speed_is_an_error_of_its_line(
    value: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("trial.yaml", "protocol.yaml"):
        (tmp_path / name).write_bytes((EXAMPLE / name).read_bytes())
    head, *rows = (EXAMPLE / "runs.csv").read_text("utf-8").splitlines()
    at = head.split(",").index("speed_over_ground [kn]")
    cells = rows[6].split(",")
    cells[at] = value
    rows[6] = ",".join(cells)
    (tmp_path / "runs.csv").write_text("\n".join([head, *rows]) + "\n", "utf-8")
    assert main(["analyse", str(tmp_path / "trial.yaml")]) == 2
    said = capsys.readouterr().err
    assert "runs.csv:8:" in said
    assert "lies within 0.01 to 300 kn" in said
    assert "[cell-impossible]" in said


@pytest.mark.parametrize("option", ["--between", "--within", "--session-by-set-point"])
def test_noise_asked_for_beyond_what_is_possible(
    option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [
        "plan",
        "two-way-sweep",
        "--quantity",
        "speed",
        "--between",
        "0.6 %",
        "--within",
        "1 %",
    ]
    assert main([*words, option, "1e5 %"]) == 2
    assert "beyond what is possible" in capsys.readouterr().err


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "2200-01-01"])
def test_days_out_of_time(day: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "two-way-sweep", "--first-day", day]) == 2
    assert "the years 1800 to 2199 are read" in capsys.readouterr().err
