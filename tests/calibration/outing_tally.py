"""What is cut from invented outings, held against the truth: found, wrongly found, bias, scatter."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from outing_world import Outing, OutingWorld, TrueRun, simulate_outing

from slackwater.analysis.steady.cutting import CutRun, cut_session
from slackwater.analysis.steady.terms import CutTerms, PlannedLeg

HOLD = 0.01  # of the set point
WITHIN = 0.9  # of a run that has to lie where its set point was held


@dataclass
class Tally:
    """Counts over many outings; differences of mean speeds as fractions."""

    planned: int = 0
    found: int = 0
    right: int = 0
    wrong_point: int = 0
    unpaired: int = 0
    off: list[float] = field(default_factory=list)  # cut less true speed of the window
    scatter: list[tuple[float, float]] = field(
        default_factory=list
    )  # cut, true window: both off truth

    def add(self, other: Tally) -> None:
        """Take in the counts of others."""
        self.planned += other.planned
        self.found += other.found
        self.right += other.right
        self.wrong_point += other.wrong_point
        self.unpaired += other.unpaired
        self.off += other.off
        self.scatter += other.scatter

    @property
    def recall(self) -> float:
        return self.right / self.planned

    @property
    def precision(self) -> float:
        return self.right / self.found if self.found else 0.0

    @property
    def bias(self) -> float:
        return float(np.mean(self.off))

    @property
    def scatter_ratio(self) -> float:
        """Scatter of the cut means about the boat's own speed, over that of the true windows' means."""
        cut, true = np.array(self.scatter).T
        return float(np.std(cut) / np.std(true))

    def line(self) -> str:
        """One line of figures."""
        return (
            f"recall {self.recall:.4f}  precision {self.precision:.4f}  bias {self.bias:+.3%}"
            f"  scatter {self.scatter_ratio:.3f} ({np.std(self.scatter, axis=0)[1]:.2%})  wrong {self.wrong_point / max(self.found, 1):.3%}"
            f"  unpaired {self.unpaired}  of {self.planned} runs"
        )


def terms_of(world: OutingWorld) -> CutTerms:
    """What the protocol of such an outing asks."""
    points = tuple(float(p) for p in world.set_points)
    bands = tuple(((1 - HOLD) * p, (1 + HOLD) * p) for p in points)
    return CutTerms("engine_speed", "rpm", points, bands, world.settle, world.record, double_runs=1)


def plan_of(outing: Outing) -> list[PlannedLeg]:
    """The printed plan, in its order."""
    return [PlannedLeg(point, 1, way) for point, way in outing.plan]


def tally(world: OutingWorld, seeds: range) -> Tally:
    """Cut the outings of these seeds."""
    found = Tally()
    for seed in seeds:
        outing = simulate_outing(world, seed)
        plan = () if world.engine else plan_of(outing)
        cut = cut_session(outing.channels, terms_of(world), plan)
        _count(found, outing, cut.runs)
    return found


def _count(found: Tally, outing: Outing, runs: tuple[CutRun, ...]) -> None:
    found.planned += len(outing.runs)
    found.found += len(runs)
    found.unpaired += sum(not run.double_run for run in runs)
    made: set[TrueRun] = set()
    for run in runs:
        true = max(outing.runs, key=lambda each: _shared(run, each))
        if _shared(run, true) < WITHIN * run.duration or true in made:
            continue
        if run.set_point != true.set_point:
            found.wrong_point += 1
            continue
        made.add(true)
        found.right += 1
        speed = run.readings["speed_over_ground"].value
        found.off.append(speed / true.speed - 1)
        found.scatter.append((speed / true.level - 1, true.recorded / true.level - 1))


def _shared(run: CutRun, true: TrueRun) -> float:
    """How long the run lies where the set point was held. [s]"""
    return min(run.start + run.duration, true.held[1]) - max(run.start, true.held[0])
