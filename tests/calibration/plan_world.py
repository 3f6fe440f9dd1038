"""Run tables of invented trials with the noise that a plan supposes, and how they are judged.

The noise is the same part of the speed at every set point, as a plan takes it; everything after the
run table is what users' trials go through.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from slackwater.analysis.planning.power import Design, Noise, Setting
from slackwater.analysis.quantities.making import Instrument, SweepAxis, measured
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.catalogue.measures import MEASURES

TIDE_PERIOD = 12.42 * 3600  # [s]
RUN_EVERY = 150.0  # [s]
# The speeds lie close together: a plan takes the noise as the same part of the speed at every set
# point, while the analysis steadies the run noise of speeds in knots.
SPEED, STEP = 16.0, 0.1  # [kn] at the first set point, and more at each further one


@dataclass(frozen=True)
class PlanCell:
    """One design, the noise that is true, and how the trial is analysed."""

    design: Design
    noise: Noise
    setting: Setting
    tide: float = 0.8  # [kn]
    power: float = 0.8  # that the effect is chosen for

    @property
    def name(self) -> str:
        d, n, s = self.design, self.noise, self.setting
        parts = [f"{d.sessions}x{d.double_runs}", f"p{s.set_points}", s.current]
        parts.append(f"b{1000 * n.between_sessions:g}")
        parts.append(f"s{1000 * n.session_by_set_point:g}")
        parts.append(f"w{1000 * n.within_session:g}")
        parts += ["day"] if s.blocked else []
        parts += ["prior"] if s.prior else []
        parts += [f"c{100 * s.confidence:g}"] if s.confidence != 0.95 else []
        parts += ["single"] if not s.simultaneous else []
        return "-".join(parts)


def run_table(cell: PlanCell, effect: float, rng: np.random.Generator) -> pd.DataFrame:
    """The runs of one trial, as the intake hands them on; the effect is at the first set point."""
    points, doubles = cell.setting.set_points, cell.design.double_runs
    frames = []
    base = SPEED + STEP * np.arange(points)
    # A pass carries the noise of a double run times the root of two.
    pass_sd = cell.noise.within_session * np.sqrt(2)
    for s, fitted in enumerate(order_of(cell)):
        level = cell.noise.between_sessions * rng.standard_normal()
        own = cell.noise.session_by_set_point * rng.standard_normal(points)
        change = np.where((np.arange(points) == 0) & (fitted == "B"), effect, 0.0)
        through = base * np.exp(level + own + change)
        point = np.repeat(rng.permutation(points), 2 * doubles)
        first = np.where(np.arange(points * doubles) % 2 == 0, 1.0, -1.0)
        if cell.setting.current == "mean_of_means":
            first = np.ones(points * doubles)  # its weights need passes that alternate
        sign = np.stack([first, -first], axis=1).ravel()
        seconds = RUN_EVERY * np.arange(point.size) + 86400.0 * s
        phase = rng.uniform(0, 2 * np.pi)
        current = cell.tide * np.sin(2 * np.pi * seconds / TIDE_PERIOD + phase)
        speed = through[point] * (1 + pass_sd * rng.standard_normal(point.size)) + sign * current
        frames.append(
            pd.DataFrame(
                {
                    "session": f"S{s + 1}",
                    "set_point": 1000.0 + 500.0 * point,
                    "double_run": np.tile(np.repeat(np.arange(doubles), 2), points) + 1,
                    "direction": np.where(sign > 0, "out", "back"),
                    "seconds": seconds,
                    "speed_over_ground": speed,
                }
            )
        )
    frame = pd.concat(frames, ignore_index=True)
    start = pd.Timestamp("2026-05-04T08:00:00") + pd.to_timedelta(frame.pop("seconds"), unit="s")
    return frame.assign(
        row=np.arange(2, len(frame) + 2),
        heading=np.nan,
        start=start.astype("datetime64[ns]"),
        duration=60.0,
        set_aside="",
    )


def order_of(cell: PlanCell) -> str:
    """One session of each configuration in turn."""
    return "AB" * cell.design.sessions


def judge(cell: PlanCell, frame: pd.DataFrame) -> Judged:
    """Reduction, session values and comparison, as every trial goes."""
    reduction = reduce_runs(frame, method=cell.setting.current, one_way=False)
    sessions = tuple(f"S{s + 1}" for s in range(2 * cell.design.sessions))
    measure = replace(MEASURES["speed_over_ground"], unit="kn")
    tables = measured(
        reduction,
        {"speed_over_ground": measure},
        {"speed_over_ground": Instrument("kn")},
        SweepAxis("engine_speed", "rpm"),
        sessions,
    )
    prior: PriorNoise | None = cell.setting.prior_noise(cell.design)
    terms = Terms(
        confidence=cell.setting.confidence, simultaneous=cell.setting.simultaneous, prior=prior
    )
    blocks = None
    if cell.setting.blocked:
        blocks = [str(s // 2) for s in range(len(sessions))]
    return judge_sweep(tables["speed"], list(order_of(cell)), "A", "B", terms, blocks)


def found(cell: PlanCell, effect: float, rng: np.random.Generator) -> bool:
    """Whether one trial establishes the effect at the first set point, on its side."""
    differences = judge(cell, run_table(cell, effect, rng)).differences
    if differences is None:
        return False
    return bool(differences.established[0] and differences.difference[0] > 0)


BETWEEN = Noise(0.008, 0.002, 0.003)
MIXED = Noise(0.005, 0.003, 0.006)
RUNS = Noise(0.002, 0.001, 0.008)
EARLIER = Noise(0.005, 0.003, 0.006, df=10.0)


def _cell(
    sessions: int,
    double_runs: int,
    noise: Noise,
    points: int,
    *,
    power: float = 0.8,
    tide: float = 0.8,
    current: str = "tide_fit",
    blocked: bool = False,
    prior: Noise | None = None,
    confidence: float = 0.95,
    simultaneous: bool = True,
) -> PlanCell:
    setting = Setting(
        set_points=points,
        current=current,
        blocked=blocked,
        prior=prior,
        confidence=confidence,
        simultaneous=simultaneous,
    )
    return PlanCell(Design(sessions, double_runs), noise, setting, tide, power)


CELLS: tuple[PlanCell, ...] = (
    _cell(2, 1, BETWEEN, 3),
    _cell(2, 3, MIXED, 3),
    _cell(2, 3, RUNS, 8, power=0.5),
    _cell(3, 1, MIXED, 3, power=0.9),
    _cell(3, 2, BETWEEN, 5),
    _cell(3, 3, BETWEEN, 8),
    _cell(3, 3, MIXED, 8, power=0.5),
    _cell(3, 3, RUNS, 3, power=0.9),
    _cell(3, 5, MIXED, 3),
    _cell(4, 1, RUNS, 3),
    _cell(4, 2, MIXED, 5, power=0.9),
    _cell(4, 2, BETWEEN, 1),
    _cell(4, 3, MIXED, 3, power=0.95),
    _cell(5, 2, RUNS, 5, power=0.5),
    _cell(5, 4, BETWEEN, 3),
    _cell(6, 1, BETWEEN, 5, power=0.9),
    _cell(6, 2, MIXED, 3),
    _cell(6, 3, RUNS, 1),
    _cell(8, 2, MIXED, 3, power=0.5),
    _cell(8, 1, RUNS, 8, tide=0.3),
    _cell(3, 3, MIXED, 3, current="double_run", tide=0.2),
    _cell(4, 3, RUNS, 3, current="double_run", tide=0.2, power=0.9),
    _cell(3, 2, MIXED, 3, current="mean_of_means"),
    _cell(4, 3, RUNS, 3, current="mean_of_means"),
    _cell(3, 3, MIXED, 3, blocked=True),
    _cell(5, 2, BETWEEN, 5, blocked=True),
    _cell(2, 2, MIXED, 3, prior=EARLIER),
    _cell(3, 3, MIXED, 5, prior=EARLIER, power=0.9),
    _cell(1, 3, MIXED, 3, prior=EARLIER),
    _cell(4, 2, MIXED, 3, confidence=0.90),
    _cell(4, 2, MIXED, 5, simultaneous=False),
)

#: A single double run and a tide that changes much while eight set points are run: there is too
#: little to fit the current with, its change counts as run noise, and less is seen than planned.
STRAINED = _cell(8, 1, RUNS, 8, tide=0.8)

#: Of every kind one: these are tried in every test run, the rest by name.
SAMPLE: tuple[int, ...] = (1, 7, 20, 26)
