"""Runs cut from invented outings are the runs that were made: in worlds that nothing was tuned on."""

from __future__ import annotations

import numpy as np
import pytest
from outing_cells import FIRST_SEED, cells
from outing_tally import Tally, tally

BIAS = {"calm": 0.001, "rough": 0.002}


def hold(found: Tally, bias: float) -> None:
    """What is asked of many outings together; means and scatter within three Monte Carlo errors."""
    assert found.recall >= 0.99
    assert found.precision >= 0.99
    assert found.wrong_point <= 0.002 * found.found
    off = np.array(found.off)
    assert abs(found.bias) <= bias + 3 * off.std() / np.sqrt(off.size)
    assert found.scatter_ratio <= 1.1 + 3 / np.sqrt(2 * off.size)


@pytest.mark.parametrize("sea", ["calm", "rough"])
def test_a_few_outings(sea: str) -> None:
    together = Tally()
    for world in [w for name, w in cells().items() if name.startswith(sea)]:
        together.add(tally(world, range(FIRST_SEED, FIRST_SEED + 1)))
    assert together.planned > 150
    hold(together, BIAS[sea])


@pytest.mark.full
@pytest.mark.parametrize("name", list(cells()))
def test_every_cell(name: str) -> None:
    found = tally(cells()[name], range(FIRST_SEED, FIRST_SEED + 25))
    hold(found, BIAS[name.split(",")[0]])
