"""What a trial asks of the whole sweep, from its file to its result."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.terminal import render
from slackwater.analysis.result.result import Result
from slackwater.analysis.sweep.asked_tables import usable_fuel
from slackwater.protocol.declared.trial import Boat, load_trial
from slackwater.protocol.findings import InputError
from slackwater.protocol.units.quantity import parse_quantity

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def finer() -> Result:
    return analyse(EXAMPLES / "finer-pitch-propeller" / "trial.yaml")


@pytest.fixture(scope="module")
def workboat() -> Result:
    return analyse(EXAMPLES / "workboat-interceptors" / "trial.yaml")


def verdicts(result: Result, quantity: str, unit: str) -> list[str]:
    rows = result.comparisons[result.comparisons["quantity"] == quantity]
    return rows[rows["at"].str.endswith(unit)]["verdict"].tolist()


def test_equal_engine_speed_names_no_merit_and_equal_speed_says_noise(finer: Result) -> None:
    assert verdicts(finer, "fuel_flow", "rpm") == ["lower"] * 10
    assert verdicts(finer, "economy", "rpm").count("higher") == 5
    assert verdicts(finer, "economy", "kn") == ["within noise"] * 5
    assert verdicts(finer, "range", "kn") == ["within noise"] * 5
    assert "equal engine speed" in finer.remarks[0]


def test_every_published_sentence_has_its_interval(workboat: Result) -> None:
    rows = workboat.comparisons.set_index(["quantity", "at"])
    for key in (("range", "16 kn"), ("top_speed", "top speed"), ("trip_fuel", "trip")):
        row = rows.loc[key]
        assert row["low"] < row["change"] < row["high"]
        assert row["noise_floor"] > 0
    year = rows.loc[("annual_fuel", "year")]
    assert year["scale"] == "difference"
    assert year["verdict"] == "gain"
    pay = workboat.figures[workboat.figures["name"].str.startswith("pay-back")].iloc[0]
    # 4800 EUR over the litres saved at 1.35 EUR.
    assert pay["value"] == pytest.approx(4800 / (1.35 * -year["change"]))
    assert pay["low"] == pytest.approx(4800 / (1.35 * -year["low"]))
    assert pay["high"] == pytest.approx(4800 / (1.35 * -year["high"]))


def test_range_is_usable_fuel_times_economy(workboat: Result) -> None:
    means = workboat.set_points.set_index(["configuration", "quantity", "at"])["mean"]
    for at in ("10 kn", "22 kn"):
        economy, reach = means["bare", "economy", at], means["bare", "range", at]
        assert reach == pytest.approx(720 * economy)


def test_stretches_cover_the_axis_without_overlap(workboat: Result) -> None:
    for (_, unit), part in workboat.stretches.groupby(["quantity", "unit"]):
        ends = part[["from", "to"]].to_numpy()
        assert (ends[:, 0] <= ends[:, 1]).all()
        assert (ends[1:, 0] > ends[:-1, 1]).all()
        if unit == "rpm":
            assert ends[0, 0] == pytest.approx(1000)
            assert ends[-1, 1] == pytest.approx(3500)


def test_the_report_holds_all_of_it(workboat: Result) -> None:
    text, html = " ".join(render(workboat, full=True).split()), workboat.to_html()
    for words in ("The sweep as a whole", "economy at equal speed", "Pay-back time", "top speed"):
        assert words in text
        assert words in html
    assert "which asks more than at each of them: gain from" in text
    assert "nan" not in text.lower().split()


@pytest.mark.parametrize(
    ("capacity", "reserve", "litres", "declared"),
    [
        ("200 L", "10 %", 180.0, True),
        ("200 L", "50 L", 150.0, True),
        ("200 L", None, 180.0, False),  # common practice: a tenth
    ],
)
def test_usable_fuel(capacity: str, reserve: str | None, litres: float, declared: bool) -> None:
    given = {"title": "x", "fuel_capacity": capacity}
    if reserve:
        given["fuel_reserve"] = reserve
    found = usable_fuel(Boat.model_validate(given))
    assert found is not None
    assert found.litres == pytest.approx(litres)
    assert found.declared is declared


def test_no_range_without_fuel() -> None:
    assert usable_fuel(Boat.model_validate({"title": "x"})) is None
    dry = Boat(title="x", fuel_capacity=parse_quantity("50 L", "L"),
               fuel_reserve=parse_quantity("60 L", "L"))  # fmt: skip
    assert usable_fuel(dry) is None


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("speeds: [25]", "needed"),
        ("speeds: [25 rpm]", "needed"),
        ("cruise: [28 kn, 15 kn]", "write two speeds, the slower first"),
        ("cruise: [15 kn]", "the slowest and the fastest speed are needed"),
        ("duty: {trip: [{speed: 16 kn}]}", "neither of time and distance"),
        ("duty: {trip: [{speed: 16 kn, time: 1 h, distance: 9 nmi}]}", "both of time and distance"),
        ("price: {currency: EUR, change: 0, fuel: 1.5}", "above zero"),
    ],
)
def test_errors_say_what_is_needed(tmp_path: Path, line: str, message: str) -> None:
    shutil.copytree(EXAMPLES / "one-morning-each", tmp_path / "trial")
    path = tmp_path / "trial" / "trial.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "\n" + line + "\n", encoding="utf-8")
    with pytest.raises(InputError) as error:
        load_trial(path)
    assert message in str(error.value)
