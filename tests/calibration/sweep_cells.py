"""The worlds that figures of the sweep are tried in, and the table of what comes out.

    python tests/calibration/sweep_cells.py

prints every cell at 1000 trials; it takes about an hour on one core.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from sweep_tally import Count, tally
from sweep_world import SweepWorld, flat_flow, hump, kink, plain

COARSE = tuple(np.linspace(1500, 4500, 7).tolist())

HUMP = SweepWorld("hump", hump)
KINK = SweepWorld("kink", kink)
FLAT = SweepWorld("flat", plain, flat_flow, cruise=(12.0, 28.0))

# With `stretch` nothing differs at equal speed; with `lift` the hump comes earlier.
SAMPLE = (
    HUMP,
    replace(HUMP, name="hump, 5 % stretched", stretch=1.05),
    replace(KINK, name="kink, lifted", lift=90.0),
    FLAT,
)
FULL = (
    *SAMPLE,
    KINK,
    replace(HUMP, name="hump, lifted", lift=120.0, flow_change=-0.02),
    replace(HUMP, name="hump, noisy", between=0.015),
    replace(HUMP, name="hump, coarse, 5 % stretched", stretch=1.05, points=COARSE),
    replace(KINK, name="kink, 5 % stretched", stretch=1.05),
    replace(KINK, name="kink, noisy, lifted", between=0.012, lift=90.0),
    replace(FLAT, name="flat, 5 % stretched", stretch=1.05),
    replace(FLAT, name="flat, noisy", between=0.01, run=0.008),
    replace(HUMP, name="hump, five sessions each", order="ABBAABBAAB", stretch=1.05),
)


def faults(counts: dict[str, Count]) -> list[str]:
    """Figures whose intervals or claims were wrong more often than they may be."""
    found = []
    for name, count in counts.items():
        for what in ("wrong", "false", "level_wrong"):
            if getattr(count, what) > count.bound(0.05):
                found.append(f"{name}: {what} {getattr(count, what)} of {count.trials}")
    return found


def main(trials: int = 1000) -> None:
    """Print what came of every world."""
    for number, world in enumerate(FULL):
        print(world.name)
        for name, count in tally(world, trials, 100 + number).items():
            print(
                f"    {name:40s} stated {count.stated / trials:6.3f}  wrong "
                f"{count.wrong / trials:6.3f}  false {count.false / trials:6.3f}  "
                f"level wrong {count.level_wrong / trials:6.3f}  half-width {count.width:.4g}"
            )


if __name__ == "__main__":
    main()
