"""One cell of the grid simulated: what a worker runs, on whatever machine it is."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from tally import Tally, tally
from world import World


@dataclass(frozen=True, slots=True)
class Cell:
    """A world, how many trials of it, and what is noted beside it."""

    note: str
    world: World
    trials: int


def seed_of(world: World) -> int:
    """A seed that belongs to the cell."""
    return zlib.crc32(repr(world).encode())


def tallied(cell: Cell) -> Tally:
    """Simulate a cell."""
    usual = "effect" not in cell.note
    return tally(cell.world, cell.trials, seed_of(cell.world), usual=usual)
