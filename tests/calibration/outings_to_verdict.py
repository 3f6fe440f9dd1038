"""Verdicts from cut runs against those from the true windows, over trials of four sessions.

The invented crews wait until the speed stands, which favours the method. Aimed at are changes off by 0.1
percentage points and 95 % of the verdicts alike; both are missed, and why is not known.

python tests/calibration/outings_to_verdict.py [--trials 16]
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from test_outings_to_verdict import ORDER, WORLD, by_hand, write_trial

import slackwater


def one(number: int) -> tuple[str, list[float], list[bool]]:
    """The world of a trial in words, how far its changes are off, and which verdicts are alike."""
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
        cut = slackwater.analyse(folder / "trial.yaml").comparisons
        by_hand(made, world.record, table)
        true = slackwater.analyse(folder / "trial.yaml").comparisons
    cut, true = (t[t["quantity"] == "speed"].set_index("at") for t in (cut, true))
    off = cut["change"].astype(float) - true["change"].astype(float)
    name = f"rough {world.rough:g}, {world.record:g} s, {world.rate:g} Hz"
    return name, list(off), list(cut["verdict"] == true["verdict"])


def main() -> None:
    """Print a line a trial, and all together."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=16)
    print("The invented crews wait until the speed stands: that favours the method.")
    offs: list[float] = []
    alike: list[bool] = []
    for number in range(parser.parse_args().trials):
        name, off, same = one(number)
        print(
            f"{name:24} off by {np.sqrt(np.mean(np.square(off))):.3%} rms, alike {np.mean(same):.0%}"
        )
        offs, alike = offs + off, alike + same
    print(
        f"{'all':24} off by {np.sqrt(np.mean(np.square(offs))):.3%} rms, alike {np.mean(alike):.1%}"
    )


if __name__ == "__main__":
    main()
