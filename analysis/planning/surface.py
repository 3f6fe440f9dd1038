"""Floors of a whole range of designs: drawn at some of them, by workers where there are any."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.planning.power import QUANTILES, SEED, Design, Noise, Setting, floors
from slackwater.analysis.wording.progress import progress
from slackwater.analysis.working.giving_out import in_order
from slackwater.analysis.working.workers import Workers

Array = NDArray[np.float64]

#: What a worker that draws floors begins with.
LOADS = "slackwater.analysis.planning.surface"
_ANCHOR_SESSIONS = (1, 2, 3, 4, 6, 10, 20, 50, 100, 200)
_ANCHOR_DOUBLE_RUNS = (1, 2, 5, 20, 100)
_ANCHOR_RATERS = (1, 2, 3, 5, 10, 20, 100)  # what it takes to agree bends more


@dataclass(frozen=True, slots=True)
class Cell:
    """One design to be simulated, with the seed that its draws begin from."""

    design: Design
    noise: Noise
    setting: Setting
    seed: int


def drawn(cell: Cell) -> Array:
    """Floors of one design, as `power.floors`; what a worker runs."""
    return floors(cell.design, cell.noise, cell.setting, seed=cell.seed)


def learn(surfaces: Sequence[Surface], workers: Workers | None) -> None:
    """Draw what surfaces need, all cells of all of them at once; the same whoever draws.

    Parameters
    ----------
    surfaces : sequence of Surface
    workers : Workers or None
        None for this process.

    Raises
    ------
    InputError
        When there is nobody left to work.
    """
    cells = [cell for surface in surfaces for cell in surface.cells()]

    def tell(done: int) -> None:
        progress(f"simulating, {done} of {len(cells)} designs")

    tell(0)
    found = in_order(drawn, cells, workers, tell)
    for surface in surfaces:
        surface.learn([next(found) for _ in surface.cells()])


class Surface:
    """Floors of a whole range of designs, drawn at some of them and interpolated between.

    Parameters
    ----------
    noise : Noise
    setting : Setting
    sessions, double_runs : tuple of int
        Smallest and largest of each.
    seed : int

    Notes
    -----
    What is interpolated is the logarithm of the floor in units of the spread of a difference.
    Its mean and its deviations times the root of the degrees of freedom are nearly straight in
    the inverse of the degrees of freedom and of the double runs.
    """

    def __init__(
        self,
        noise: Noise,
        setting: Setting,
        sessions: tuple[int, int],
        double_runs: tuple[int, int],
        seed: int = SEED,
    ) -> None:
        self.noise, self.setting, self.seed = noise, setting, seed
        self.sessions = _anchors(sessions, _ANCHOR_SESSIONS)
        self.double_runs = _anchors(
            double_runs, _ANCHOR_DOUBLE_RUNS if setting.agreement is None else _ANCHOR_RATERS
        )
        # Mean and scaled deviations of the log floors, shape (sessions, double runs, ...).
        self._known: tuple[Array, Array] | None = None

    def cells(self) -> list[Cell]:
        """The designs that floors are drawn of, each by itself."""
        return [
            Cell(Design(n, m), self.noise, self.setting, self.seed)
            for n in self.sessions
            for m in self.double_runs
        ]

    def learn(self, drawn: Iterable[Array]) -> None:
        """Take what was drawn of `cells`, in their order."""
        shape = (len(self.sessions), len(self.double_runs))
        mean, deviation = np.empty(shape), np.empty((*shape, QUANTILES))
        for at, cell, floor in zip(np.ndindex(*shape), self.cells(), drawn, strict=True):
            root = np.sqrt(max(self.setting.session_df(cell.design.sessions), 1e-9))
            logs = np.log(floor / self.setting.spread(cell.design, self.noise))
            mean[at] = logs.mean()
            deviation[at] = (logs - mean[at]) * root if np.isfinite(mean[at]) else 0.0
        self._known = mean, deviation

    def spreads(self, sessions: NDArray[np.int_], double_runs: NDArray[np.int_]) -> Array:
        """Standard deviation of a difference of each design, shape (designs,)."""
        pairs = zip(sessions.tolist(), double_runs.tolist(), strict=True)
        return np.array([self.setting.spread(Design(n, m), self.noise) for n, m in pairs])

    def floors(self, sessions: NDArray[np.int_], double_runs: NDArray[np.int_]) -> Array:
        """Quantiles of the floor of each design, shape (designs, QUANTILES)."""
        if self._known is None:
            learn([self], None)
        assert self._known is not None
        mean, deviation = self._known
        df = np.array([self.setting.session_df(n) for n in sessions.tolist()])
        anchor_df = np.array([self.setting.session_df(n) for n in self.sessions])
        i, a = _between(1 / np.maximum(df, 1e-9), 1 / np.maximum(anchor_df, 1e-9))
        j, b = _between(1 / double_runs, 1 / np.array(self.double_runs))

        def at(table: Array) -> Array:
            # A weight of zero keeps out an anchor that can tell nothing.
            total = np.zeros((len(df), *table.shape[2:]))
            for di, wi in ((0, 1 - a), (1, a)):
                for dj, wj in ((0, 1 - b), (1, b)):
                    weight = wi * wj
                    part = table[
                        np.minimum(i + di, table.shape[0] - 1),
                        np.minimum(j + dj, table.shape[1] - 1),
                    ]
                    wide = weight.reshape(-1, *[1] * (part.ndim - 1))
                    total += np.where(wide > 0, wide * np.where(wide > 0, part, 0.0), 0.0)
            return total

        logs = at(mean)[:, None] + at(deviation) / np.sqrt(np.maximum(df, 1e-9))[:, None]
        return np.asarray(np.exp(logs) * self.spreads(sessions, double_runs)[:, None])


def _anchors(ends: tuple[int, int], usual: tuple[int, ...]) -> tuple[int, ...]:
    low, high = ends
    return tuple(sorted({low, high, *(each for each in usual if low < each < high)}))


def _between(x: Array, anchors: Array) -> tuple[NDArray[np.int_], Array]:
    """Left anchor of each x and the weight of the right one; the anchors fall."""
    if len(anchors) == 1:
        return np.zeros(len(x), dtype=int), np.zeros(len(x))
    i = np.clip(np.searchsorted(-anchors, -x, side="right") - 1, 0, len(anchors) - 2)
    weight = (anchors[i] - x) / (anchors[i] - anchors[i + 1])
    return i, np.clip(weight, 0.0, 1.0)
