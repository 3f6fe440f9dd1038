"""Measurements of the speed of light, 1879: 100 readings in 24 sets over 28 days.

Data: nist-inference/MICHELSO.DAT (NIST; E. N. Dorsey, Transactions of the American Philosophical
Society 34 (1944), 1-110, table 22). A set is a session, a reading a run. The file's own header
gives the true value, 299.7925 million m/s. The certified mean and standard deviation are those of
the NIST Statistical Reference Datasets.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis import analyse
from slackwater.analysis.reduction.current import by_single_runs

TRUE = 299792.5  # [km/s]
SETS = range(1, 25)


@pytest.fixture
def readings(measured):
    """Columns: speed of light [million m/s], temperature, day, morning or afternoon, set."""
    return np.loadtxt(measured("nist-inference/MICHELSO.DAT"), skiprows=25)


@pytest.fixture
def halves(readings, write_trial):
    """The first twelve sets against the last twelve; nothing was changed between them."""
    sessions = "\n".join(
        f"  - {{id: S{s:02d}, configuration: {'early' if s <= 12 else 'late'}}}" for s in SETS
    )
    trial = f"""
trial: sets-of-1879
protocol:
  protocol: sets-as-sessions
  runs:
    set_points: {{of: mirror_speed, values: [258 rpm]}}
    directions: one_way
    double_runs: 1
  sessions: {{per_configuration: 12}}
  measures:
    mirror_speed: {{unit: rpm}}
    speed_of_light: {{unit: km/s, scale: difference}}
  analysis: {{current: none}}
configurations: {{early: {{title: Sets 1 to 12}}, late: {{title: Sets 13 to 24}}}}
sessions:
{sessions}
"""
    seen: Counter[int] = Counter()
    rows = []
    for value, *_, number in readings:
        seen[int(number)] += 1
        row = (f"S{int(number):02d}", 258, seen[int(number)], "out", round(1000 * value))
        rows.append(row)
    heading = ("session", "set_point [rpm]", "double_run", "direction", "speed_of_light [km/s]")
    return analyse(write_trial(trial, heading, rows))


def test_certified_mean_and_standard_deviation(readings):
    cells = by_single_runs(readings[:, 0], np.zeros(100, dtype=int))
    # Certified to 15 digits; doubles of size 300 carry 14 digits of a mean and 12 of a spread.
    assert cells.value[0] == pytest.approx(299.852400000000, abs=1e-12)
    spread = np.sqrt(cells.scatter[0] / cells.df[0])
    assert spread == pytest.approx(0.0790105478190518, rel=1e-12)


def test_pooled_readings_name_a_change_that_sessions_do_not(readings, halves):
    early, late = (readings[:, 0][readings[:, 4] <= 12], readings[:, 0][readings[:, 4] > 12])
    pooled = stats.ttest_ind(late, early)
    assert pooled.pvalue < 0.05  # 100 readings taken as independent: a "loss" of 32 km/s
    (row,) = halves.records("comparisons")
    assert row["verdict"] == "within noise"
    assert row["p_value"] > 0.5
    assert halves.runs.used == 100


def test_the_sessions_path_is_the_t_test_of_set_means(readings, halves):
    means = 1000 * np.array([readings[:, 0][readings[:, 4] == s].mean() for s in SETS])
    known = stats.ttest_ind(means[12:], means[:12])
    interval = known.confidence_interval(0.95)
    (row,) = halves.records("comparisons")
    assert row["degrees_of_freedom"] == pytest.approx(22, abs=1e-9)
    # Readings are whole km/s; what is left is the rounding of doubles near 3e5.
    assert_allclose(row["change"], means[12:].mean() - means[:12].mean(), rtol=0, atol=1e-7)
    assert_allclose([row["low"], row["high"]], interval, rtol=0, atol=1e-7)
    assert row["p_value"] == pytest.approx(known.pvalue, abs=1e-9)


def test_the_pooled_interval_is_too_sure_of_itself(readings, halves):
    """Neither interval holds the true value: no statistics of the readings knows their bias."""
    pooled = stats.t.interval(0.95, 99, 1000 * readings[:, 0].mean(), 7.90105478190518)
    assert not pooled[0] <= TRUE <= pooled[1]
    mean = halves.set_points.iloc[0]
    assert mean["high"] - mean["low"] > 1.8 * (pooled[1] - pooled[0])
    assert not mean["low"] <= TRUE <= mean["high"]
    (noise,) = halves.noise.query("component == 'between sessions'")["value"]
    (runs,) = halves.noise.query("component == 'within session (runs)'")["value"]
    assert noise > 2 * runs  # what pooling leaves out
