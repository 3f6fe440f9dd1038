"""A third configuration that is much quieter than the pair lends the pair none of its calm."""

from __future__ import annotations

import numpy as np
import pytest

from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.evenness import by_side
from slackwater.analysis.statistics.noise import estimate_noise

POINTS = 4


@pytest.mark.parametrize("order", ["ABCCBA", "ABCCBAC", "ABCABCABC"])
@pytest.mark.parametrize(("third", "apart"), [(0.0002, True), (0.006, False)])
def test_a_quiet_third_configuration_is_left_out(order: str, third: float, apart: bool) -> None:
    """Also where it has two sessions, and so a single degree of freedom, to show it with."""
    spread = {"A": 0.006, "B": 0.006, "C": third}
    # The sessions of each configuration lie evenly about nought, so that nothing is left to chance.
    made = {name: iter(np.linspace(-1, 1, order.count(name))) for name in spread}
    ripple = 0.001 * np.cos(np.outer(np.arange(len(order)) + 1, np.arange(POINTS) + 1))
    values = np.array([spread[name] * next(made[name]) for name in order])[:, None] + ripple
    layout = contrasts(list(order), "A", "B", np.ones(values.shape, dtype=bool))
    noise = estimate_noise(values, np.zeros(POINTS), layout)
    assert noise is not None
    factor, own = by_side(noise, values, layout)
    assert bool((np.asarray(factor) != 1).any()) is apart
    if apart:  # what the pair shows by itself is more, and less well known
        assert (factor > 1).all()
        assert own.freedom is not None
        assert float(own.freedom[0]) < noise.shared_df
