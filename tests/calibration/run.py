"""Print the table of error rates, coverage and power over the whole grid of invented worlds.

    python tests/calibration/run.py [--trials 1000] [--workers 2 | --scheduler ADDRESS]
        [--only null|effect|oracle|stress]

Every cell has its own seed, so that a cell gives the same figures whatever else is run, whoever runs it.
The workers of a scheduler have to have this folder under the same path.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
sys.path.insert(0, str(FOLDER))

from cell_work import Cell
from grid import ORACLE, effect_cells, null_cells, oracle_world, stress_cells
from tally import USUAL, Tally
from world import World

from slackwater.analysis.commands.workers import add_worker_arguments
from slackwater.analysis.wording.progress import progress, told
from slackwater.analysis.working.elsewhere import Elsewhere
from slackwater.analysis.working.giving_out import in_order
from slackwater.analysis.working.workers import Workers, hired
from slackwater.protocol.findings import InputError

LOADS = "slackwater.analysis.pipeline"
WORK = Elsewhere(str(FOLDER), "cell_work", "tallied")


def tallies(cells: list[Cell], workers: Workers | None) -> Iterator[Tally]:
    """The tally of every cell, in their order."""

    def tell(done: int) -> None:
        progress(f"simulating, {done} of {len(cells)} cells")

    return in_order(WORK, map(WORK.packed, cells), workers, tell)


def asked_cells(only: str | None, trials: int) -> tuple[list[Cell], dict[World, float]]:
    """The cells asked for, and the false rate allowed in worlds that have one of their own."""
    cells: list[Cell] = []
    if only in (None, "null"):
        cells += [Cell(note, world, trials) for note, world in null_cells()]
    if only in (None, "effect"):
        cells += [Cell(note, world, trials) for note, world in effect_cells()]
    if only in (None, "oracle"):
        cells += [Cell("oracle", oracle_world(order), trials) for order in ORACLE]
    allowed: dict[World, float] = {}
    if only in (None, "stress"):
        for note, world, most in stress_cells():
            allowed[world] = most
            cells.append(Cell(note, world, trials))
    return cells, allowed


def main() -> int:
    """Run the grid; 0 when every cell keeps its bounds, else 1; 2 when a cluster cannot be reached."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--only", choices=("null", "effect", "oracle", "stress"))
    add_worker_arguments(parser, "one for each processor")
    given = parser.parse_args()
    cells, allowed = asked_cells(given.only, given.trials)
    try:
        with (
            told(lambda text: print(text, file=sys.stderr)),
            hired(given.workers, given.scheduler, None, LOADS) as workers,
        ):
            return _print(cells, allowed, tallies(cells, workers))
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("broken off: the cells above are whole", file=sys.stderr)
        return 130


def _print(cells: list[Cell], allowed: dict[World, float], found: Iterator[Tally]) -> int:
    print(
        "order       runs tide between   false  covered     both   found/oracle  | "
        + "  ".join(USUAL)
        + "   note"
    )
    broken = 0
    for cell, got in zip(cells, found, strict=True):
        wanted = ORACLE.get(cell.world.order, 0.0) if cell.note == "oracle" else 0.0
        most = allowed.get(cell.world, 0.05)
        broken += not keeps_bounds(got, wanted, most)
        print(_line(cell.note, cell.world, got, wanted, most), flush=True)
    print(f"{len(cells)} cells of {cells[0].trials} trials; {broken} outside their bounds")
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
