"""Declared corrections: what they take out, what they leave open, and what they may not hide."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from sweep_tables import table

from slackwater.analysis import analyse
from slackwater.analysis.result.result import Result
from slackwater.analysis.sweep.corrections import Differed, air_density, corrected, size_of
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.declared.asked import Correction
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "finer-pitch-propeller"
FITTED = ["A", "B", "B", "A"]
X = np.array([1000.0, 2000.0, 3000.0])


def correction(changes: dict[str, str], **more: Any) -> Correction:
    given = {"of": "displacement", "per": "100 kg", "changes": changes, "source": "invented"}
    return Correction.model_validate(given | more)


def test_a_declared_sensitivity_is_taken_out() -> None:
    """B carried 100 kg more in each session, which costs 1 % of speed: nothing else differs."""
    excess = np.array([[-0.5], [0.5], [0.5], [-0.5]]) * np.ones(3)
    true = np.array([10.0, 20.0, 30.0])
    speed = table("speed", X, true * 0.99**excess)
    one = Differed(correction({"speed": "-1.0 ± 0.2 %"}), excess, 0.0, "")
    found = corrected({"speed": speed}, [one], FITTED)["speed"]
    assert_allclose(found.values, np.broadcast_to(true, (4, 3)), rtol=1e-12)
    size = size_of(one, found, FITTED, "A", "B")
    assert size is not None
    assert_allclose(size.size, -0.01, rtol=1e-9)
    assert_allclose(size.uncertainty, 0.002)
    # The variance of the difference is that of the size.
    row = judge_sweep(found, FITTED, "A", "B", Terms()).rows[0]
    assert row.curve_uncertainty == pytest.approx(0.002)


def test_an_estimated_effect_is_part_of_the_comparison() -> None:
    rng = np.random.default_rng(8)
    fitted = list("ABBAABBA")
    excess = rng.normal(0, 1, (8, 1)) * np.ones(3)
    excess[[1, 2, 5, 6]] += 1.0  # B was heavier on the whole
    values = np.array([10.0, 20.0, 30.0]) * 0.98**excess * np.exp(rng.normal(0, 5e-4, (8, 3)))
    one = Differed(correction({"speed": "estimated"}), excess, 0.0, "")
    plain = judge_sweep(table("speed", X, values), fitted, "A", "B", Terms()).rows
    found = corrected({"speed": table("speed", X, values)}, [one], fitted)["speed"]
    rows = judge_sweep(found, fitted, "A", "B", Terms()).rows
    assert all(abs(row.change) < 0.002 for row in rows)
    assert all(row.change < -0.01 for row in plain)
    assert rows[0].noise_floor < plain[0].noise_floor
    size = size_of(one, found, fitted, "A", "B")
    assert size is not None
    between = excess[[1, 2, 5, 6], 0].mean() - excess[[0, 3, 4, 7], 0].mean()
    assert_allclose(size.size, np.log(0.98) * between, rtol=0.05)
    assert (size.uncertainty < 0.002).all()


def test_what_differed_with_the_configuration_cannot_be_told_from_it() -> None:
    excess = np.array([[0.0], [1.0], [1.0], [0.0]]) * np.ones(3)
    one = Differed(correction({"speed": "estimated"}), excess, 0.0, "")
    speed = table("speed", X, np.full((4, 3), 10.0) * [[1.0], [1.01], [1.012], [1.002]])
    found = corrected({"speed": speed}, [one], FITTED)["speed"]
    rows = judge_sweep(found, FITTED, "A", "B", Terms()).rows
    assert {row.verdict for row in rows} == {"untestable"}
    assert "differed with the configuration" in rows[0].reason


def analysed(tmp_path: Path, corrections: str, **swaps: str) -> Result:
    shutil.copytree(EXAMPLE, tmp_path / "trial")
    path = tmp_path / "trial" / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    start, end = text.index("corrections:"), text.index("sessions:")
    text = text[:start] + corrections + text[end:]
    for old, new in swaps.items():
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return analyse(path)


ONE = """corrections:
  - {of: displacement, per: 100 kg, changes: {speed: CHANGE}, source: invented}
"""


def test_shown_with_size_and_uncertainty(tmp_path: Path) -> None:
    result = analysed(tmp_path, ONE.replace("CHANGE", "-1.0 ± 0.4 %"))
    rows = result.corrections
    assert set(rows.quantity) == {"speed"}
    assert (rows["how"] == "declared").all()
    # 2118.3 kg with the finer propeller, 2120 with the standard one: 1.7 kg lighter.
    assert rows["size"].to_numpy() == pytest.approx(1.67e-4, rel=0.02)
    assert any("Corrections were declared" in paragraph for paragraph in result.method)


def test_larger_than_the_difference_is_a_finding(tmp_path: Path) -> None:
    heavy = {"2105 ± 10 kg": "2405 ± 10 kg", "2135 ± 10 kg": "2435 ± 10 kg"}
    result = analysed(tmp_path, ONE.replace("CHANGE", "-9.0 ± 0.4 %"), **heavy)
    found = [each for each in result.findings if each.rule == "correction-larger-than-difference"]
    assert len(found) == 1
    assert "displacement" in found[0].message
    assert found[0].place is not None
    assert found[0].place.line is not None


def test_none_is_silent_when_it_cannot_be_made(tmp_path: Path) -> None:
    result = analysed(
        tmp_path, ONE.replace("CHANGE", "-1 %"), **{"displacement: 2105 ± 10 kg, ": ""}
    )
    found = [each for each in result.findings if each.rule == "correction-not-made"]
    assert [each.message for each in found] == [
        "the correction for displacement was not made: no displacement is noted of P2"
    ]
    assert result.corrections.empty


def test_fuel_burned_needs_its_density(tmp_path: Path) -> None:
    text = ONE.replace("displacement", "fuel_burned").replace("CHANGE", "1 %")
    with_density = analysed(tmp_path / "a", text)
    assert len(with_density.corrections) == 10
    without = analysed(tmp_path / "b", text, **{", fuel_density: 745 kg/m^3": ""})
    assert "fuel_density is not declared" in str([f.message for f in without.findings])


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("per: 100 kg", "per: 5 kn", "'5 kn' does not fit; a mass is needed"),
        ("speed: CHANGE", "sped: -1 %", "'sped' is not a quantity that can be corrected"),
        ("CHANGE", "-1", "needed"),
        ("speed: CHANGE", "speed: estimated, fuel_flow: 1 %", "is one or the other"),
        ("of: displacement", "of: luck", "luck"),
    ],
)
def test_errors_say_what_is_wrong(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(InputError) as error:
        analysed(tmp_path, ONE.replace(old, new))
    assert message in str(error.value)


def test_air_is_lighter_when_warm() -> None:
    assert air_density(5, 1013.25) > air_density(25, 1013.25)
