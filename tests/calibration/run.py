"""Print the table of error rates, coverage and power over the whole grid of invented worlds.

    python tests/calibration/run.py [--trials 1000] [--jobs 2] [--only null|effect|oracle|stress]

Every cell has its own seed, so that a cell gives the same figures whatever else is run.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from grid import ORACLE, effect_cells, null_cells, oracle_world, stress_cells
from tally import USUAL, Tally, tally
from world import World


def seed_of(world: World) -> int:
    """A seed that belongs to the cell."""
    return zlib.crc32(repr(world).encode())


def _work(task: tuple[str, World, int]) -> tuple[str, World, Tally]:
    note, world, trials = task
    return note, world, tally(world, trials, seed_of(world), usual="effect" not in note)


def main() -> int:
    """Run the grid; 0 when every cell keeps its bounds, else 1."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", choices=("null", "effect", "oracle", "stress"))
    given = parser.parse_args()
    cells: list[tuple[str, World, int]] = []
    if given.only in (None, "null"):
        cells += [(note, world, given.trials) for note, world in null_cells()]
    if given.only in (None, "effect"):
        cells += [(note, world, given.trials) for note, world in effect_cells()]
    if given.only in (None, "oracle"):
        cells += [("oracle", oracle_world(order), given.trials) for order in ORACLE]
    allowed: dict[World, float] = {}
    if given.only in (None, "stress"):
        for note, world, most in stress_cells():
            allowed[world] = most
            cells.append((note, world, given.trials))
    print(
        "order       runs tide between   false  covered     both   found/oracle  | "
        + "  ".join(USUAL)
        + "   note"
    )
    broken = 0
    with ProcessPoolExecutor(given.jobs) as pool:
        for note, world, got in pool.map(_work, cells):
            wanted = ORACLE.get(world.order, 0.0) if note == "oracle" else 0.0
            most = allowed.get(world, 0.05)
            broken += not keeps_bounds(got, wanted, most)
            print(_line(note, world, got, wanted, most), flush=True)
    print(f"{len(cells)} cells of {given.trials} trials; {broken} outside their bounds")
    return 1 if broken else 0


def keeps_bounds(got: Tally, least: float = 0.0, most: float = 0.05) -> bool:
    """False claims at most 5 %, coverage at least 95 %, each with 3 Monte Carlo errors.

    Worlds in which the model does not hold have a rate of their own, which coverage shares.
    """
    share = got.found / got.oracle if got.oracle else 1.0
    return (
        got.false <= most + 3 * got.error(most)
        and got.covered >= 1 - most - 3 * got.error(most)
        and share >= least
    )


def _line(note: str, world: World, got: Tally, least: float, most: float) -> str:
    share = f"{got.found:.2f}/{got.oracle:.2f}={got.found / got.oracle:.2f}" if got.oracle else ""
    usual = "  ".join(f"{got.usual[way]:{len(way)}.3f}" for way in USUAL)
    mark = "" if keeps_bounds(got, least, most) else "  <-- outside"
    return (
        f"{world.order:11} {world.double_runs:4} {world.tide:4.1f} {100 * world.between:6.1f} %  "
        f"{got.false:6.4f}   {got.covered:6.4f}   {got.both:6.4f}  {share:>14}  | {usual}   "
        f"{note}{mark}"
    )


if __name__ == "__main__":
    raise SystemExit(main())
