"""Ten simulated sweeps against R: lme4, Kenward and Roger's degrees of freedom, multcomp's step-down.

`mixed_models.R` says how the stored numbers were made; run as a script, this file prints the values
that it reads.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import contrasts

HERE = Path(__file__).parent
TRIALS, POINTS = 10, 5


def values_of(trial: int) -> tuple[str, np.ndarray]:
    """Session values of a trial, as written to the file that R read."""
    rng = np.random.default_rng(trial)
    order = ("ABBAAB", "ABBAABBA")[trial % 2]
    fitted = np.array([letter == "B" for letter in order])
    values = rng.normal(0, 0.6, (len(order), 1)) + rng.normal(0, 0.3, (len(order), POINTS))
    return order, np.round(values + 1.5 * fitted[:, None], 4)


def of_r(trial: int) -> pd.DataFrame:
    found = pd.read_csv(HERE / "mixed_models_of_r.csv")
    return found[found["trial"] == trial]


def compared(trial: int) -> Differences:
    order, values = values_of(trial)
    layout = contrasts(list(order), "A", "B", np.ones(values.shape, dtype=bool))
    found = compare(values, np.zeros(POINTS), layout)
    assert found is not None
    return found


@pytest.mark.parametrize("trial", range(TRIALS))
def test_estimates_components_and_freedom(trial, monkeypatch):
    """R takes set points to be equally noisy: the weighing of each is taken to that limit."""
    monkeypatch.setattr("slackwater.analysis.statistics.noise.POOLING_DF", 1e12)
    monkeypatch.setattr("slackwater.analysis.statistics.evenness.ALLOWED", 1e12)
    found, known = compared(trial), of_r(trial)
    assert_allclose(found.difference, known["difference"], atol=1e-8)
    assert_allclose(float(found.noise.shared), known["shared"], rtol=2e-5)
    assert_allclose(found.noise.specific, known["specific"], rtol=2e-5)
    assert_allclose(found.standard_error, known["standard_error"], rtol=1e-5)
    # Kenward and Roger's on balanced data are those of the two mean squares behind the variance.
    between = POINTS * float(found.noise.shared) + found.noise.specific
    within = (POINTS - 1) * found.noise.specific
    df = len(values_of(trial)[0]) - 2
    freedom = (between + within) ** 2 / (between**2 / df + within**2 / (df * (POINTS - 1)))
    assert_allclose(freedom, known["df"], rtol=1e-4)


@pytest.mark.parametrize("trial", range(TRIALS))
def test_verdicts_and_p_values(trial):
    """The same verdicts; p-values as near as two ways of allowing for unknown variances are."""
    found, known = compared(trial), of_r(trial)
    assert found.established.tolist() == (known["adjusted"] <= 0.05).tolist()
    ratio = found.p_values() / known["adjusted"].to_numpy()
    assert ratio.min() > 0.8
    assert ratio.max() < 2.0


if __name__ == "__main__":
    print("trial,session,point,fitted,y")
    for number in range(TRIALS):
        letters, table = values_of(number)
        for (s, p), value in np.ndenumerate(table):
            print(f"{number},{s},{p},{int(letters[s] == 'B')},{value:.4f}")
