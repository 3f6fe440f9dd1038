"""Runs cut from invented outings, held against the truth, cell by cell.

python tests/calibration/outings.py [--outings 10]
"""

from __future__ import annotations

import argparse

from outing_cells import FIRST_SEED, cells
from outing_tally import Tally, tally


def main() -> None:
    """Print a line a cell, and all calm and all rough cells together."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outings", type=int, default=10, help="in each cell")
    count = parser.parse_args().outings
    sums = {"calm": Tally(), "rough": Tally()}
    for name, world in cells().items():
        found = tally(world, range(FIRST_SEED, FIRST_SEED + count))
        sums[name.split(",")[0]].add(found)
        print(f"{name:48} {found.line()}", flush=True)
    for name, found in sums.items():
        print(f"{'all ' + name:48} {found.line()}")


if __name__ == "__main__":
    main()
