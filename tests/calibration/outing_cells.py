"""The worlds that runs are cut in, and what is asked of the cutting in each.

The thresholds in `slackwater.analysis.steady` were chosen by looking at other worlds than these: seeds
below 1000, a response of 3, 6 and 9 s, receivers of 0.05 and 0.15 kn that lag by 0, 1.5 and 2.8 s, a tide of
0.8 kn. These here were kept for reporting.
"""

from __future__ import annotations

from itertools import product

from outing_world import OutingWorld

FIRST_SEED = 10_000


def cells() -> dict[str, OutingWorld]:
    """Worlds by name: calm and rough, engine speed or order, 60 and 30 s, 1 and 10 Hz, 8 and 16 points."""
    found = {}
    grid = product((0.0, 1.0), (True, False), (60.0, 30.0), (1.0, 10.0), (8, 16))
    for number, (rough, engine, record, rate, points) in enumerate(grid):
        name = (
            f"{'rough' if rough else 'calm'}, {'engine speed' if engine else 'order'}, {record:g} s, "
            f"{rate:g} Hz, {points} set points"
        )
        found[name] = OutingWorld(
            points=points, record=record, rough=rough, rate=rate, engine=engine,
            noise=(0.07, 0.1, 0.13)[number % 3], lag=(0.6, 2.2)[number % 2],
            response=(5.0, 7.5)[number // 2 % 2], tide=(0.4, 1.4)[number // 3 % 2],
            dropouts=(0, 2, 4)[number % 3], aborted=(2, 0, 1)[number % 3],
            unplanned=number % 2 == 1, positions=number % 3 != 0,
            step=(0.01, 0.1)[number % 2],
        )  # fmt: skip
    return found
