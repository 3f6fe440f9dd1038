"""Quantities as boats have them: several engines, fuel by mass, electric drive, a log, a timed mile.

The runs are made from known speeds and flows without noise worth the name, so that what comes out
can be worked out by hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.pipeline import analyse, compute
from slackwater.analysis.result.result import Result
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.catalogue.recipes import can_be_made, powers
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import InputError

ORDER = "ABBA"
POINTS = {1000: 6.0, 1600: 10.0, 2200: 15.0, 2800: 20.0}  # rpm: kn through the water
GAIN = {"A": 1.0, "B": 1.05}
CURRENT = 0.5
FLOW = {1000: 5.0, 1600: 14.0, 2200: 30.0, 2800: 52.0}  # L/h

Cells = Callable[[str, int, float, float], dict[str, str]]


def lay(
    folder: Path,
    measures: str,
    cells: Cells,
    *,
    analysis: str = "{}",
    trial: str = "",
    directions: str = "reciprocal",
) -> Path:
    """A trial of four sessions; `cells` gives the measured columns of one run."""
    rows: list[dict[str, str]] = []
    for s, letter in enumerate(ORDER, 1):
        clock = 0
        # A hair of scatter between sessions and runs, so that there is noise to be told.
        shared = 1 + 0.0002 * (-1) ** s
        for point, speed in POINTS.items():
            for number in (1, 2):
                for way in ("out", "back") if directions == "reciprocal" else ("out",):
                    v = speed * GAIN[letter] * shared * (1 + 0.0001 * (-1) ** number)
                    along = CURRENT if way == "out" else -CURRENT
                    row = {
                        "session": f"S{s}",
                        "set_point [rpm]": str(point),
                        "double_run": str(number),
                        "direction": way,
                        "start": f"2026-05-0{s}T{9 + clock // 3600:02d}:{clock // 60 % 60:02d}:00",
                        "duration [s]": "60",
                    }
                    rows.append(row | cells(letter, point, v, along))
                    clock += 180
    head = list(rows[0])
    lines = [",".join(head), *(",".join(row[name] for name in head) for row in rows)]
    (folder / "runs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    sessions = "\n".join(
        f"  - {{id: S{s}, configuration: {letter}, date: 2026-05-0{s}}}"
        for s, letter in enumerate(ORDER, 1)
    )
    path = folder / "trial.yaml"
    path.write_text(
        f"""trial: people
protocol:
  protocol: people
  runs:
    set_points: {{of: engine_speed, values: [1000 rpm, 1600 rpm, 2200 rpm, 2800 rpm]}}
    double_runs: 2
    directions: {directions}
  sessions: {{order: ABBA}}
  measures: {measures}
  analysis: {analysis}
boat: {{title: Invented, fuel_capacity: 700 L}}
configurations: {{A: {{title: Before}}, B: {{title: After}}}}
sessions:
{sessions}
runs: runs.csv
{trial}
""",
        encoding="utf-8",
    )
    return path


def mean(result: Result, quantity: str, at: str, configuration: str = "A") -> float:
    (found,) = [
        each
        for each in result.means
        if (each.quantity, each.at, each.configuration) == (quantity, at, configuration)
    ]
    return found.mean


def over_ground(v: float, along: float) -> dict[str, str]:
    return {"speed_over_ground [kn]": f"{v + along:.5f}"}


def told(result: Result) -> set[str]:
    return {row.quantity for row in result.compared}


# --- several engines -----------------------------------------------------------------------------


def twin(letter: str, point: int, v: float, along: float) -> dict[str, str]:
    return over_ground(v, along) | {
        "Port [L/h]": f"{0.4 * FLOW[point]:.4f}",
        "Stbd [L/h]": f"{0.6 * FLOW[point]:.4f}",
        "n port [rpm]": str(point - 10),
        "n stbd [rpm]": str(point + 30),
    }


ENGINES = """columns:
  fuel_flow: ["Port [L/h]", "Stbd [L/h]"]
  engine_speed: [n port, n stbd]
"""
OF_ENGINES = "{speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}, engine_speed: {unit: rpm}}"


def test_flows_of_engines_add_and_their_speeds_are_averaged(tmp_path: Path) -> None:
    path = lay(tmp_path, OF_ENGINES, twin, trial=ENGINES)
    frame = read_runs(load_trial(path)).frame
    at = frame[frame["set_point"] == 2200]
    assert_allclose(at["fuel_flow"], 30.0, atol=1e-9)
    assert_allclose(at["engine_speed"], 2210.0)
    result = analyse(path)
    assert mean(result, "economy", "2200 rpm") == pytest.approx(15.0 / 30.0, rel=1e-3)


def test_how_they_combine_can_be_declared(tmp_path: Path) -> None:
    declared = OF_ENGINES.replace("{unit: L/h}", "{unit: L/h, combine: mean}")
    frame = read_runs(load_trial(lay(tmp_path, declared, twin, trial=ENGINES))).frame
    assert_allclose(frame[frame["set_point"] == 2200]["fuel_flow"], 15.0)


def test_a_missing_engine_is_told_and_never_counted_as_nought(tmp_path: Path) -> None:
    path = lay(tmp_path, OF_ENGINES, twin, trial=ENGINES)
    table = tmp_path / "runs.csv"
    lines = table.read_text(encoding="utf-8").splitlines()
    cells = lines[3].split(",")
    cells[lines[0].split(",").index("Stbd [L/h]")] = ""
    lines[3] = ",".join(cells)
    table.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_runs(load_trial(path))
    (finding,) = caught.value.findings
    assert finding.rule == "engine-missing"
    assert "Stbd [L/h]" in finding.message
    assert finding.place is not None
    assert finding.place.line == 4
    cells[lines[0].split(",").index("Port [L/h]")] = ""
    lines[3] = ",".join(cells)
    table.write_text("\n".join(lines), encoding="utf-8")
    frame = read_runs(load_trial(path)).frame  # both missing: the run has no fuel flow
    assert math.isnan(frame["fuel_flow"][2])
    assert not math.isnan(frame["speed_over_ground"][2])


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ("{fuel_flow: [Port, Starboard]}", "headed 'Starboard', but no column is"),
        ("{direction: [Port, Stbd]}", "only measures are read from several"),
        ("{fuel_flow: [Port, Port]}", "given to 'fuel_flow' already"),
    ],
)
def test_columns_that_cannot_be(tmp_path: Path, columns: str, said: str) -> None:
    path = lay(tmp_path, OF_ENGINES, twin, trial=f"columns: {columns}\n")
    with pytest.raises(InputError) as caught:
        read_runs(load_trial(path))
    assert any(said in each.message for each in caught.value.findings), caught.value.findings


# --- fuel by mass --------------------------------------------------------------------------------

BY_MASS = "{speed_over_ground: {unit: kn}, fuel_mass_flow: {unit: kg/h}}"


def by_mass(letter: str, point: int, v: float, along: float) -> dict[str, str]:
    return over_ground(v, along) | {"fuel_mass_flow [kg/h]": f"{0.84 * FLOW[point]:.5f}"}


def test_fuel_by_mass_gives_economy_with_the_density(tmp_path: Path) -> None:
    path = lay(tmp_path, BY_MASS, by_mass, analysis="{worthwhile: {economy: 3 %}}")
    text = path.read_text(encoding="utf-8")
    without = analyse(path)
    rows = [row for row in without.compared if row.quantity == "economy" and "rpm" in row.at]
    assert {row.verdict for row in rows} == {"untestable"}
    assert all("fuel density, which is not declared" in row.reason for row in rows)
    # No mean either: a level without the density would be one in kilograms, called litres.
    assert not [row for row in without.means if row.quantity in ("economy", "range")]
    path.write_text(text.replace("700 L", "700 L, fuel_density: 0.84 kg/L"), encoding="utf-8")
    result = analyse(path)
    assert mean(result, "economy", "2200 rpm") == pytest.approx(15.0 / 30.0, rel=1e-3)
    assert {row.verdict for row in result.compared if row.quantity == "economy"} >= {"gain"}


# --- electric drive ------------------------------------------------------------------------------


def electric(letter: str, point: int, v: float, along: float) -> dict[str, str]:
    return over_ground(v, along) | {"electric_power [kW]": f"{2 * FLOW[point]:.4f}"}


def test_distance_and_energy_of_an_electric_drive(tmp_path: Path) -> None:
    measures = "{speed_over_ground: {unit: kn}, electric_power: {unit: kW}}"
    worth = "{worthwhile: {distance_per_energy: 3 %, energy_per_distance: 3 %}}"
    result = analyse(lay(tmp_path, measures, electric, analysis=worth))
    assert mean(result, "distance_per_energy", "2200 rpm") == pytest.approx(15 / 60, rel=1e-3)
    assert mean(result, "energy_per_distance", "2200 rpm") == pytest.approx(60 / 15, rel=1e-3)
    there = [row for row in result.compared if row.quantity == "distance_per_energy"]
    assert {row.verdict for row in there} == {"gain"}
    assert any(row.at.endswith("kn") for row in there), "at equal speed too"
    assert "economy" not in told(result)


def test_the_energy_of_a_run_gives_its_power(tmp_path: Path) -> None:
    def energy(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        return over_ground(v, along) | {"electric_energy [kWh]": f"{2 * FLOW[point] / 60:.6f}"}

    measures = "{speed_over_ground: {unit: kn}, electric_energy: {unit: kWh}}"
    result = analyse(lay(tmp_path, measures, energy))
    assert mean(result, "electric_power", "2200 rpm") == pytest.approx(60.0, rel=1e-4)
    assert mean(result, "distance_per_energy", "2200 rpm") == pytest.approx(15 / 60, rel=1e-3)
    assert "electric_energy" not in told(result)


def test_the_energy_counts_where_the_mile_was_timed_by_nobody(tmp_path: Path) -> None:
    """What one figure of a run lacks takes nothing from another."""

    def energy(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        empty = {"timed_distance [nmi]": "", "elapsed_time [s]": ""}
        through = {"speed_through_water [kn]": f"{v:.4f}"}
        return through | empty | {"electric_energy [kWh]": f"{2 * FLOW[point] / 60:.6f}"}

    measures = (
        "{speed_through_water: {unit: kn}, timed_distance: {unit: nmi}, elapsed_time: {unit: s}, "
        "electric_energy: {unit: kWh}}"
    )
    result = analyse(lay(tmp_path, measures, energy))
    assert mean(result, "electric_power", "2200 rpm") == pytest.approx(60.0, rel=1e-4)
    assert "electric_energy" not in told(result)


def test_an_electric_boat_is_not_asked_about_fuel(tmp_path: Path) -> None:
    from slackwater import check

    measures = "{speed_over_ground: {unit: kn}, electric_power: {unit: kW}}"
    path = lay(tmp_path, measures, electric, analysis="{worthwhile: {speed: 1 %}}")
    said = " ".join(f"{each.rule} {each.message}" for each in check(path).findings)
    assert "no-fuel-limit" not in said
    assert "economy" not in said
    assert "distance per energy" in said  # no worthwhile difference is declared for it


# --- fuel per distance, other units --------------------------------------------------------------


def metric(letter: str, point: int, v: float, along: float) -> dict[str, str]:
    return {
        "speed_over_ground [km/h]": f"{(v + along) * 1.852:.5f}",
        "fuel_flow [L/h]": f"{FLOW[point]:.4f}",
    }


def test_economy_follows_the_units_declared(tmp_path: Path) -> None:
    measures = "{speed_over_ground: {unit: km/h}, fuel_flow: {unit: L/h}}"
    worth = "{worthwhile: {fuel_per_distance: 3 %}}"
    result = analyse(lay(tmp_path, measures, metric, analysis=worth))
    units = {row.quantity: row.unit for row in result.compared}
    assert (units["economy"], units["fuel_per_distance"]) == ("km/L", "L/km")
    kmh = 15.0 * 1.852
    assert mean(result, "economy", "2200 rpm") == pytest.approx(kmh / 30, rel=1e-3)
    assert mean(result, "fuel_per_distance", "2200 rpm") == pytest.approx(30 / kmh, rel=1e-3)


def test_fuel_per_distance_is_the_inverse_and_judged_so(tmp_path: Path) -> None:
    def plain(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        return over_ground(v, along) | {"fuel_flow [L/h]": f"{FLOW[point]:.4f}"}

    measures = "{speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}}"
    worth = "{worthwhile: {fuel_per_distance: 3 %}}"
    result = analyse(lay(tmp_path, measures, plain, analysis=worth))
    by = {(row.quantity, row.at): row for row in result.compared}
    economy, burned = by["economy", "2200 rpm"], by["fuel_per_distance", "2200 rpm"]
    assert burned.verdict == economy.verdict == "gain"
    assert economy.change is not None
    assert burned.change == pytest.approx(1 / (1 + economy.change) - 1, rel=1e-9)
    assert burned.worthwhile == 0.03


# --- speed by log, timed mile --------------------------------------------------------------------


LOG, FLOWS = "speed_through_water: {unit: kn}", "fuel_flow: {unit: L/h}"


def by_log(letter: str, point: int, v: float, along: float) -> dict[str, str]:
    return {"speed_through_water [kn]": f"{v:.5f}", "fuel_flow [L/h]": f"{FLOW[point]:.4f}"}


@pytest.mark.parametrize("directions", ["reciprocal", "one_way"])
def test_a_log_gives_the_speed_through_the_water(tmp_path: Path, directions: str) -> None:
    from slackwater import check

    measures = "{speed_through_water: {unit: kn}, fuel_flow: {unit: L/h}}"
    path = lay(tmp_path, measures, by_log, analysis="{current: none}", directions=directions)
    result = analyse(path)
    assert {"speed", "economy"} <= told(result)
    assert "speed_through_water" not in told(result)
    assert mean(result, "speed", "2200 rpm") == pytest.approx(15.0, rel=1e-3)
    assert {row.verdict for row in result.compared if row.quantity == "speed"} == {"gain"}
    assert "that of the log" in result.method[0]
    assert "current-left-in" not in {each.rule for each in check(path).findings}


def test_beside_a_log_the_speed_over_ground_takes_no_other_figure_along(tmp_path: Path) -> None:
    def both(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        return over_ground(v, along) | by_log(letter, point, v, along)

    ground = "speed_over_ground: {unit: kn}"
    for measures in (f"{ground}, {LOG}, {FLOWS}", f"{LOG}, {ground}, {FLOWS}"):
        folder = tmp_path / f"{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        result = analyse(lay(folder, f"{{{measures}}}", both, analysis="{current: none}"))
        assert {"speed", "fuel_flow", "economy"} <= told(result)


def test_a_timed_mile_gives_the_speed(tmp_path: Path) -> None:
    def timed(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        return {
            "timed_distance [nmi]": "1",
            "elapsed_time [s]": f"{3600 / (v + along):.5f}",
        }

    measures = (
        "{timed_distance: {unit: nmi, standard_uncertainty: 0.1 %, shared: false}, "
        "elapsed_time: {unit: s, standard_uncertainty: 0.2 %, shared: false}}"
    )
    analysed = compute(load_trial(lay(tmp_path, measures, timed)))
    assert "timed_distance" not in analysed.tables
    speed = analysed.tables["speed"]
    fast = speed.values[0, -1]
    assert fast == pytest.approx(20.0, rel=1e-3)  # speeds are averaged, not times
    assert_allclose(speed.instrument_variance, 2 * (0.001**2 + 0.002**2), rtol=1e-9)


# --- what is declared and not told ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("range", ""),
        ("trip_fuel", "the duty is not declared"),
        ("slip", "not declared"),
        ("shaft_power", "shaft_power was not measured"),
        ("engine_speed", ""),
        ("distance_per_energy", "electric_power was not measured"),
    ],
)
def test_what_matters_and_is_not_told_says_why(tmp_path: Path, name: str, said: str) -> None:
    def plain(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        return over_ground(v, along) | {"fuel_flow [L/h]": f"{FLOW[point]:.4f}"}

    measures = "{speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}}"
    size = "0.02" if name == "slip" else "3 %"
    path = lay(tmp_path, measures, plain, analysis=f"{{worthwhile: {{{name}: {size}}}}}")
    result = analyse(path)
    missing = [each for each in result.findings if each.rule == "worthwhile-not-told"]
    assert (name in told(result)) == (not missing)
    if said:
        (finding,) = missing
        assert said in finding.message


@pytest.mark.parametrize(
    "name", [each.name for each in MEASURES.values() if each.kind == "derived"]
)
def test_every_derived_quantity_is_made_of_what_is_measured(name: str) -> None:
    measured = {each.name for each in MEASURES.values() if each.kind == "measured"}
    assert can_be_made(name, measured)
    assert powers(name, measured).keys() <= measured


def test_every_derived_quantity_is_made_by_somebody(tmp_path: Path) -> None:
    def everything(letter: str, point: int, v: float, along: float) -> dict[str, str]:
        flow = {"fuel_flow [L/h]": f"{FLOW[point]:.4f}", "electric_power [kW]": "4"}
        return over_ground(v, along) | flow

    asked = [each.name for each in MEASURES.values() if each.kind == "derived"]
    noise = ", ".join(
        f"{name}: {{between_sessions: 1 %, sessions: 9}}"
        for name in asked
        if MEASURES[name].scale == "ratio"
    )
    measures = "{speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}, electric_power: {unit: kW}}"
    path = lay(
        tmp_path, measures, everything,
        trial="duty: {trip: [{speed: 12 kn, time: 1 h}], trips_per_year: 50}\n",
    )  # fmt: skip
    text = path.read_text(encoding="utf-8")
    text = text.replace("  analysis: {}", f"  analysis: {{}}\n  noise: {{{noise}}}")
    for letter in "AB":
        text = text.replace(
            f"{letter}: {{title:", f"{letter}: {{propeller_pitch: 0.6 m, gear_ratio: 2, title:"
        )
    text = text.replace("fuel_capacity", "length_overall: 9 m, fuel_capacity")
    path.write_text(text, encoding="utf-8")
    assert set(asked) <= {table.quantity for table in compute(load_trial(path)).tables.values()}
