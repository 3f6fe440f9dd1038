"""Claims of known truth held against simulated trials, by the way that users' claims take.

A claim is false when there is no difference or the opposite one, or when the stated size is further
from the truth than the trial can resolve (two half-widths of its interval).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from world import SPEEDS, World, analyse_runs, simulate

from slackwater.analysis.audit.against_data import Held, hold
from slackwater.analysis.planning.power import Design, Noise, Setting, detectable_by, floors
from slackwater.analysis.verdict.compared import Compared
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of

POINT = 5  # the set point that claims are made at


@dataclass(frozen=True)
class Outcome:
    """How many of the claims of a simulation were upheld."""

    upheld: int
    trials: int

    @property
    def share(self) -> float:
        return self.upheld / self.trials

    def error(self, at: float) -> float:
        """Standard error of a share. [1]"""
        return float(np.sqrt(at * (1 - at) / self.trials))


def claim_of(change: float, at: str, bound: str = "") -> Claim:
    """A claim of a change, printed to a tenth of a per cent."""
    data = {
        "claims": [
            {
                "id": "C1",
                "quantity": "speed",
                "baseline": "A",
                "modified": "B",
                "at": at,
                "stated": {"change": f"{bound}{100 * change:+.1f} %"},
            }
        ]
    }
    claims, findings = build_claims(document_of(data))
    if claims is None:
        raise ValueError(findings[0].message)
    return claims.claims[0]


def with_effect(world: World, effect: float) -> World:
    """The world with a true change at the set point of the claims, and none elsewhere."""
    changed = [0.0] * len(SPEEDS)
    changed[POINT] = effect
    return replace(world, effect=tuple(changed))


def planned_effect(world: World, power: float) -> float:
    """The difference that the plan gives this power at the set point of the claims."""
    noise = Noise(world.between, world.by_set_point, world.run / np.sqrt(2) / SPEEDS[POINT])
    setting = Setting(set_points=len(SPEEDS), current="tide_fit")
    design = Design(len(world.order) // 2, world.double_runs)
    found = detectable_by(floors(design, noise, setting), setting.spread(design, noise), power)
    return float(np.expm1(found))


def rows_of(world: World, seed: int, trials: int) -> list[list[Compared]]:
    """The comparisons of so many simulated trials."""
    rng = np.random.default_rng(seed)
    return [list(analyse_runs(world, simulate(world, rng)).rows) for _ in range(trials)]


def upheld_when_stated(rows: list[list[Compared]], change: float) -> Outcome:
    """How often a stated change at the set point of the claims is upheld."""
    return _count([hold(claim_of(change, str(trial[POINT].at)), trial) for trial in rows])


def borne_out_when_stated(rows: list[list[Compared]], change: float) -> Outcome:
    """How often it is upheld, or compatible: its direction shown, and its size among those open."""
    held = [hold(claim_of(change, str(trial[POINT].at)), trial) for trial in rows]
    return Outcome(sum(one.verdict in ("upheld", "compatible") for one in held), len(held))


def upheld_best_quoted(rows: list[list[Compared]]) -> Outcome:
    """How often an author is upheld who quotes the largest gain of the sweep, as measured."""
    held = []
    for trial in rows:
        best = max(trial, key=lambda row: row.change)
        held.append(hold(claim_of(max(best.change, 0.001), str(best.at)), trial))
    return _count(held)


def upheld_far_off(rows: list[list[Compared]], truth: float) -> Outcome:
    """How often a size is upheld that lies two half-widths above the truth."""
    held = []
    for trial in rows:
        row = trial[POINT]
        half = (np.log1p(row.high) - np.log1p(row.low)) / 2
        stated = float(np.expm1(np.log1p(truth) + 2 * half)) + 0.0005  # its rounding
        held.append(hold(claim_of(stated, str(row.at)), trial))
    return _count(held)


def _count(held: list[Held]) -> Outcome:
    return Outcome(sum(one.verdict == "upheld" for one in held), len(held))
