"""Manoeuvres through the one path: what is declared, session values by hand, verdicts, what is told."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from invented_tries import lay
from numpy.testing import assert_allclose
from scipy.stats import linregress

from slackwater.analysis import analyse
from slackwater.analysis.result.result import Result
from slackwater.analysis.statistics.tries import levels_of, trend_of
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.findings import InputError


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lay(tmp_path_factory.mktemp("tried"))


@pytest.fixture(scope="module")
def result(trial: Path) -> Result:
    return analyse(trial)


def row_of(result: Result, quantity: str):  # type: ignore[no-untyped-def]
    return next(row for row in result.compared if row.quantity == quantity)


def by_hand(trial: Path, column: str, ways: tuple[str, str], *, ratio: bool) -> dict[str, float]:
    """Mean over tries, then over directions, from the file itself."""
    with (trial.parent / "tries.csv").open(encoding="utf-8") as file:
        read = [row for row in csv.DictReader(file) if row[column]]
    found = {}
    for session in dict.fromkeys(row["session"] for row in read):
        means = []
        for way in ways:
            mine = [
                float(row[column])
                for row in read
                if (row["session"], row["direction"]) == (session, way)
            ]
            means.append(np.mean(np.log(mine)) if ratio else np.mean(mine))
        found[session] = float(np.exp(np.mean(means)) if ratio else np.mean(means))
    return found


@pytest.mark.parametrize(
    ("quantity", "column", "ways", "ratio"),
    [
        ("time_to_plane", "time_to_plane [s]", ("out", "back"), True),
        ("tactical_diameter", "tactical_diameter [m]", ("port", "starboard"), True),
        ("lean", "lean [deg]", ("port", "starboard"), False),
    ],
)
def test_session_values_and_differences_by_hand(
    trial: Path, result: Result, quantity: str, column: str, ways: tuple[str, str], ratio: bool
) -> None:
    hand = by_hand(trial, column, ways, ratio=ratio)
    rows = [row for row in result.records("session_values") if row["quantity"] == quantity]
    assert {row["session"]: row["value"] for row in rows} == pytest.approx(hand, rel=1e-12)
    bare, tabs = ([hand[s] for s in names] for names in (("S1", "S4", "S5"), ("S2", "S3", "S6")))
    if ratio:
        change = np.exp(np.mean(np.log(tabs)) - np.mean(np.log(bare))) - 1
    else:
        change = np.mean(tabs) - np.mean(bare)
    assert_allclose(row_of(result, quantity).change, change, rtol=1e-9)


def test_the_interval_is_students_of_the_session_values(trial: Path, result: Result) -> None:
    """One position and nothing else known: Student's t on six logarithms, which any textbook has."""
    hand = by_hand(trial, "time_to_plane [s]", ("out", "back"), ratio=True)
    y = np.log([hand[f"S{i}"] for i in range(1, 7)])
    tabs = np.isin(range(1, 7), (2, 3, 6))
    sides = y[tabs], y[~tabs]
    spread = np.sqrt(np.mean([side.var(ddof=1) for side in sides]) * 2 / 3)
    half = 2.7764 * spread  # t(0.975, 4), printed tables
    middle = sides[0].mean() - sides[1].mean()
    row = row_of(result, "time_to_plane")
    assert_allclose(
        [row.low, row.high], np.expm1([middle - half, middle + half]), atol=5e-5 * spread + 1e-5
    )


def test_what_was_put_in_is_found(result: Result) -> None:
    row = row_of(result, "time_to_plane")
    assert str(row.verdict) == "gain"  # less time is better
    assert row.deciding
    assert row.at == "out and back"
    assert row_of(result, "tactical_diameter").at == "port and starboard, drift out"
    assert str(row_of(result, "lean").verdict) in ("within noise", "equivalent")
    assert row_of(result, "time_to_20_kn").at == "to 20 kn, out and back"
    assert row_of(result, "lean").unit == "deg"


def test_more_tries_one_way_do_not_pull_the_value() -> None:
    """Two and one tries: the mean of both means, with the variance that algebra gives."""
    values = np.array([1.0, 3.0, 10.0, 2.0, 4.0, 9.0, 11.0])
    session = np.array([0, 0, 0, 1, 1, 1, 1])
    way = np.array([0, 0, 1, 0, 0, 1, 1])
    found = levels_of(values, session, way, 3, 2)
    assert_allclose(found.values, [6.0, 6.5, np.nan])
    assert_allclose(found.scatter, 6 / 3)  # six squares of one; seven tries in four cells
    assert found.df == 3
    assert_allclose(found.variance[:2], found.scatter * np.array([1.5, 1.0]) / 4)


def test_a_trend_within_sessions_is_that_of_least_squares() -> None:
    """With one cell it is a plain regression, which scipy does as well; a level for each cell changes nothing."""
    rng = np.random.default_rng(7)
    order = np.arange(1.0, 9.0)
    y = 0.3 * order + rng.normal(0, 1, 8)
    slope, error, df = trend_of(y, np.zeros(8, int), order)
    known = linregress(order, y)
    assert_allclose([slope, error, df], [known.slope, known.stderr, 6])
    twice = np.concatenate([y, y + 100])
    again, _, df = trend_of(twice, np.repeat([0, 5], 8), np.tile(order, 2))
    assert_allclose([again, df], [slope, 13])


def without(words: str, tail: str = "") -> str:
    return "\n".join(line for line in tail.splitlines() if words not in line) + "\n"


def test_a_session_tried_one_way_has_no_value(tmp_path: Path) -> None:
    found = analyse(lay(tmp_path, lambda text: without("S3,acceleration,back", text)))
    sessions = [
        r["session"] for r in found.records("session_values") if r["quantity"] == "time_to_plane"
    ]
    assert sessions == ["S1", "S2", "S4", "S5", "S6"]
    told = next(each for each in found.findings if each.rule == "tries-one-way")
    assert "S3 (back)" in told.message


def test_no_direction_at_all_is_untestable(tmp_path: Path) -> None:
    found = analyse(lay(tmp_path, lambda text: without("acceleration,back", text)))
    row = row_of(found, "time_to_plane")
    assert str(row.verdict) == "untestable"
    assert "each direction" in row.reason
    assert row.low is None


def test_uneven_numbers_are_told(tmp_path: Path) -> None:
    found = analyse(lay(tmp_path, lambda text: without("S3,acceleration,back,3", text)))
    told = next(each for each in found.findings if each.rule == "tries-unbalanced")
    assert "S3" in told.message
    row = row_of(found, "time_to_plane")
    assert row.sessions_modified == 3


def test_a_try_set_aside_is_left_out_and_told(tmp_path: Path) -> None:
    def aside(text: str) -> str:
        lines = text.splitlines()
        index = next(i for i, line in enumerate(lines) if line.startswith("S1,acceleration,out,1"))
        cells = lines[index].split(",")
        cells[4], cells[9] = "55", "engine coughed"
        lines[index] = ",".join(cells)
        return "\n".join(lines) + "\n"

    found = analyse(lay(tmp_path, aside))
    values = next(r for r in found.records("manoeuvres") if r["quantity"] == "time_to_plane")
    assert (values["tries"], values["set_aside"]) == (35, 1)
    assert "engine coughed" in str(found)


def test_manoeuvres_alone_are_told_as_such(result: Result) -> None:
    assert "manoeuvres-alone" in {each.rule for each in result.findings}
    assert result.runs.read == 0
    assert {each.role for each in result.inputs} == {"trial", "protocol", "manoeuvres"}
    assert "The trial has no runs" in result.method[0]


def test_a_named_table_of_runs_has_to_be_there(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        analyse(lay(tmp_path, trial=lambda text: text + "runs: runs.csv\n"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("time_to_plane: {}", "time_too_plane: {}", "did you mean 'time_to_plane'"),
        ("time_to_plane: {}", "plunge: {}", "has no unit"),
        ("to_speed: 20 kn}", "}", "has no to_speed"),
        ("kind: time_to_speed", "kind: time_to_sped", "did you mean 'time_to_speed'"),
        ("time_to_plane: {}", "time_to_plane: {unit: m}", "does not fit"),
        ("time_to_plane: {}", "speed: {unit: kn}", "a name of the catalogue already"),
        ("time_to_plane: {}", "helmsman: {unit: kn}", "every table of tries"),
        ("      lean:", "      time_to_plane: {}\n      lean:", "the manoeuvre 'acceleration'"),
        ("current: drift_taken_out", "current: averaged", "port and starboard"),
        ("tries: 3", "tries: 0", "1 to 50"),
        ("    end: 20 kn first shown\n", "", "end"),
        ("worthwhile: {time_to_plane: 5 %", "worthwhile: {time_to_plane: 5 m", "a time"),
    ],
)
def test_a_slip_in_the_declaration_is_told(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = lay(tmp_path, protocol=lambda text: text.replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        load_protocol(path.parent / "protocol.yaml")
    told = [f"{each.message} {each.fix}" for each in caught.value.findings]
    assert any(words in each for each in told), told
    assert all(each.place and each.place.line for each in caught.value.findings)


def test_tries_without_declared_manoeuvres_are_refused(tmp_path: Path) -> None:
    def bare(text: str) -> str:
        head, rest = text.split("manoeuvres:\n")
        return head + "analysis: {worthwhile: {speed: 1 %}}\n" if rest else text

    with pytest.raises(InputError) as caught:
        analyse(lay(tmp_path, protocol=bare))
    assert "no manoeuvres" in caught.value.findings[0].message
