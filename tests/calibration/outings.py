"""Runs cut from invented outings, held against the truth, cell by cell.

python tests/calibration/outings.py [--outings 10] [--hasty]
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from outing_cells import FIRST_SEED, cells
from outing_tally import Tally, tally


def main() -> None:
    """Print a line a cell, and all calm and all rough cells together."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outings", type=int, default=10, help="in each cell")
    parser.add_argument("--hasty", action="store_true", help="crews that do not wait")
    args = parser.parse_args()
    waits = (
        "for as long as told" if args.hasty else "until the speed stands: that favours the method"
    )
    print(f"The invented crews wait {waits}.")
    sums = {"calm": Tally(), "rough": Tally()}
    for name, world in cells().items():
        world = replace(world, hasty=args.hasty)
        found = tally(world, range(FIRST_SEED, FIRST_SEED + args.outings))
        sums[name.split(",")[0]].add(found)
        print(f"{name:48} {found.line()}", flush=True)
    for name, found in sums.items():
        print(f"{'all ' + name:48} {found.line()}")


if __name__ == "__main__":
    main()
