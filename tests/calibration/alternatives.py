"""Print what other ways of judging a sweep would give, on the same simulated session values.

    python tests/calibration/alternatives.py [--trials 4000]

Ways: as shipped; the same with the simultaneous intervals deciding (single-step); with the noise of
all set points pooled fully; and with Satterthwaite's degrees of freedom in a multivariate t.
Session values are drawn directly, with run noise known from the degrees of freedom that runs give.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from unittest import mock

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from grid import GAIN
from tally import oracle_bounds, step_down_oracle
from world import SPEEDS, Array, World

from slackwater.analysis.reduction.run_noise import pool_run_noise
from slackwater.analysis.statistics import noise as noise_module
from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.largest import Spot
from slackwater.analysis.statistics.simultaneous import crowded_nodes

CELLS = (
    ("ABBA", 0.006, 1.0),
    ("ABBA", 0.0, 1.0),
    ("ABBA", 0.003, 3.0),
    ("ABBAAB", 0.006, 1.0),
    ("ABBAAB", 0.0, 3.0),
    ("ABBAABBA", 0.006, 1.0),
    ("ABBAABBA", 0.0, 3.0),
)


def draw(world: World, trials: int, rng: np.random.Generator) -> tuple[Array, Array, Contrasts]:
    """Session values (logarithms) and the run noise estimated along with them."""
    sessions, points = len(world.order), len(SPEEDS)
    runs = (world.noise_factor * world.run / SPEEDS) ** 2 / (2 * world.double_runs)
    own = world.session_variance() - world.between**2
    change = np.log1p(np.array(world.effect)) * np.array([[c == "B"] for c in world.order])
    values = change + world.between * rng.standard_normal((trials, sessions, 1))
    values = values + np.sqrt(own) * rng.standard_normal((trials, sessions, points))
    df = float(sessions * (2 * world.double_runs - 1))
    seen = runs * rng.chisquare(df, (trials, points)) / df
    steadied = pool_run_noise(seen * SPEEDS**2, np.full(seen.shape, df)) / SPEEDS**2
    layout = contrasts(list(world.order), "A", "B", np.ones((sessions, points), dtype=bool))
    return values, steadied, layout


def satterthwaite(found: Differences) -> np.ndarray:
    """Which differences a multivariate t with Satterthwaite's degrees of freedom would name."""
    noise = found.noise
    df = noise.effective_df().mean(axis=-1)
    own = np.sqrt((noise.specific / noise.total).mean(axis=-1))
    bounds = np.linspace(1.5, 12.0, 120)
    limit = np.empty(df.shape)
    for i in range(df.size):
        square, weight = crowded_nodes(float(df[i]), 24)
        spot = Spot(bounds[:, None] * np.sqrt(square), np.full((1, 24), own[i]))
        tail = spot.tail(found.difference.shape[-1]) @ weight
        limit[i] = np.interp(-0.05, -tail, bounds)
    return np.abs(found.difference) > limit[:, None] * found.standard_error


def ways(world: World, trials: int, seed: int) -> dict[str, np.ndarray]:
    """Which differences each way names, shape (trials, set points); and what an oracle names."""
    rng = np.random.default_rng(seed)
    values, runs, layout = draw(world, trials, rng)
    found = compare(values, runs, layout)
    with mock.patch.object(noise_module, "POOLING_DF", 1e6):
        pooled = compare(values, runs, layout)
    if found is None or pooled is None:
        raise RuntimeError("repeated sessions gave no comparison")
    true = np.sqrt(world.session_variance() * layout.spread)
    return {
        "as shipped": found.established,
        "single-step": np.abs(found.difference) > found.half_width,
        "pooled fully": pooled.established,
        "Satterthwaite": satterthwaite(pooled),
        "oracle": step_down_oracle(np.abs(found.difference) / true, oracle_bounds(world, rng)),
    }


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--trials", type=int, default=4000)
    trials = parser.parse_args().trials
    print("false: sweeps with any false gain or loss; found: set points named of a true 2 %")
    for order, between, uneven in CELLS:
        null = World(order, 3, 0.0, between, uneven=uneven)
        changed = World(order, 3, 0.0, between, uneven=uneven, effect=GAIN)
        nothing, something = ways(null, trials, 1), ways(changed, trials, 2)
        print(f"{order}, {100 * between:.1f} % between sessions, noise uneven by {uneven:g}")
        for way in nothing:
            false = nothing[way].any(axis=1).mean()
            error = np.sqrt(false * (1 - false) / trials)
            part = something[way].mean() / something["oracle"].mean()
            print(f"  {way:14} false {false:.3f} ± {error:.3f}   found {part:.2f} of the oracle's")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
