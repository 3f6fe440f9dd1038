"""Verdicts from cut runs against those from the true windows, over trials of four sessions.

Aimed at are changes off by 0.1 percentage points and 95 % of the verdicts alike. What a cut run is off by comes from
where it begins: some seconds beside the crew's own window there are other waves and other noise of the receiver. How
much of it that is, a second crew tells: the same windows, each begun LATER s later, held against the same truth.
Verdicts that differ are parted into those of set points of which a double run was set aside (its two runs lie over
different water, which the crew's own table does not tell), those decided by less than a HAIR, and the rest.

The invented crews wait until the speed stands, which favours the method.

python tests/calibration/outings_to_verdict.py [--trials 16]
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd
from test_outings_to_verdict import ORDER, WORLD, by_hand, write_trial

import slackwater

LATER = 4.0  # [s]; what cut runs begin beside the crew's own, as a median, is 4 s
HAIR = 0.002  # of the speed, between what decides and the margin


@dataclass
class Held:
    """What some trials show: how far changes are off, and which verdicts are alike."""

    off: list[float] = field(default_factory=list)
    crew: list[float] = field(default_factory=list)  # the second crew's changes, off the first's
    alike: Counter[str] = field(default_factory=Counter)
    crew_alike: Counter[str] = field(default_factory=Counter)

    def add(self, other: Held) -> None:
        """Take in what others show."""
        self.off += other.off
        self.crew += other.crew
        self.alike += other.alike
        self.crew_alike += other.crew_alike

    def line(self) -> str:
        """One line of figures."""
        kinds = ", ".join(
            f"{n} {kind}" for kind, n in sorted(self.alike.items()) if kind != "alike"
        )
        return (
            f"off by {_rms(self.off):.3%} rms, alike {_share(self.alike):.1%} ({kinds or 'none differs'}); "
            f"a second crew: {_rms(self.crew):.3%}, alike {_share(self.crew_alike):.1%}"
        )


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def _share(counts: Counter[str]) -> float:
    return counts["alike"] / max(counts.total(), 1)


def one(number: int) -> tuple[str, Held]:
    """The world of a trial in words, and what it shows."""
    world = replace(
        WORLD, rough=(0.0, 0.5, 1.0)[number % 3], rate=(1.0, 5.0)[number % 2],
        record=(60.0, 30.0)[number // 2 % 2], response=(5.0, 7.0)[number // 3 % 2],
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = write_trial(world, folder, 30_000 + 10 * number)
        logs = [folder / f"day{n + 1}.log" for n in range(len(ORDER))]
        table = folder / "runs.csv"
        table.write_text(slackwater.cut(folder / "trial.yaml", *logs).to_csv(), encoding="utf-8")
        cut = _speeds(folder)
        by_hand(made, world.record, table)
        true = _speeds(folder)
        by_hand(made, world.record, table, later=LATER, lag=world.lag)
        crew = _speeds(folder)
    held = Held()
    held.off, held.alike = _against(cut, true)
    held.crew, held.crew_alike = _against(crew, true)
    return f"rough {world.rough:g}, {world.record:g} s, {world.rate:g} Hz", held


def _speeds(folder: Path) -> pd.DataFrame:
    table = slackwater.analyse(folder / "trial.yaml").comparisons
    return table[table["quantity"] == "speed"].set_index("at")


def _against(one: pd.DataFrame, true: pd.DataFrame) -> tuple[list[float], Counter[str]]:
    """How far changes are off, and how the verdicts agree, a word for each set point."""
    off = one["change"].astype(float) - true["change"].astype(float)
    return list(off), Counter(_kind(one.loc[at], true.loc[at]) for at in true.index)


def _kind(one: pd.Series, true: pd.Series) -> str:
    if one["verdict"] == true["verdict"]:
        return "alike"
    if "untestable" in (one["verdict"], true["verdict"]):
        return "without a double run over the same water"
    return "by a hair" if min(_margin(one), _margin(true)) <= HAIR else "otherwise"


def _margin(row: pd.Series) -> float:
    """How far what decides is from where the verdict turns, the nearer of difference and equivalence."""
    clear = abs(abs(row["change"]) - row["noise_floor"])
    ends = max(abs(row["equivalence_low"]), abs(row["equivalence_high"]))
    return float(min(clear, abs(ends - row["worthwhile"])))


def main() -> None:
    """Print a line a trial, and all together."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=16)
    print("The invented crews wait until the speed stands: that favours the method.")
    sums: dict[str, Held] = {}
    for number in range(parser.parse_args().trials):
        name, held = one(number)
        print(f"{name:24} {held.line()}", flush=True)
        for key in (name.rpartition(",")[0], "all"):
            sums.setdefault(key, Held()).add(held)
    for name, held in sorted(sums.items()):
        print(f"{'together: ' + name:32} {held.line()}")


if __name__ == "__main__":
    main()
