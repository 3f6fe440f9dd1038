"""Statements of simulated trials, held against the audit and against the analysis they are made from.

    python tests/calibration/statement_trials.py --trials 500

Each trial is drawn anew: order, set points, double runs, units, noise, effects (often none), what is
declared, runs set aside, a third configuration. It is written to files, and goes the way of any user's.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import yaml

sys.path.insert(0, str(Path(__file__).parents[2] / "examples"))

from invented import Boat, Day, Reading, Table, bump, changed, diesel, semi_planing, sweep

import slackwater
from slackwater.analysis.statement.claims_file import claims_text
from slackwater.analysis.statement.contents import statement_of

ORDERS = ("ABBA", "AABB", "ABBAAB", "ABBABAAB", "ABBAB", "ABCCBA", "ABCCBAABC")
ESTABLISHED = ("gain", "loss", "higher", "lower")
KMH = 1.852  # km/h in a knot, by definition


@dataclass
class Tally:
    """What came of so many statements.

    Attributes
    ----------
    trials, lines, claims : int
    said : Counter
        How much was said of a change.
    not_upheld : list of str
        Claims that the audit does not uphold, with why.
    beyond : list of str
        Lines that state what the analysis does not.
    """

    trials: int = 0
    lines: int = 0
    claims: int = 0
    said: Counter[str] = field(default_factory=Counter)
    not_upheld: list[str] = field(default_factory=list)
    beyond: list[str] = field(default_factory=list)


def statements(trials: int, seed: int, first: int = 0) -> Tally:
    """Draw so many trials, state each, and hold the statement against audit and analysis."""
    tally = Tally()
    for number in range(first, first + trials):
        with tempfile.TemporaryDirectory() as folder:
            trial = draw(np.random.default_rng((seed, number)), Path(folder))
            _held(trial, f"{seed}/{number}", tally)
    return tally


def _held(trial: Path, name: str, tally: Tally) -> None:
    result = slackwater.analyse(trial)
    made = statement_of(result)
    tally.trials += 1
    verdicts = {
        (row["baseline"], row["modified"], row["quantity"], row["at"]): row
        for row in result.records("comparisons")
    }
    for section, line in made.lines:
        tally.lines += 1
        tally.said[str(line.said)] += 1
        row = verdicts[(line.row.baseline, line.row.modified, line.row.quantity, line.at)]
        told = [s for s in made.told(section) if "was higher" in s or "was lower" in s]
        place = section.places([line]) if section.unit else ""
        stated = any(f"at {place} by" in s or not place for s in told)
        if (line.said.shown or stated) and row["verdict"] not in ESTABLISHED:
            tally.beyond.append(f"{name}: {row['quantity']} at {line.at}: {row['verdict']}")
        if line.said.shown and line.higher != (row["change"] > 0):
            tally.beyond.append(f"{name}: {row['quantity']} at {line.at}: the other direction")
    text = claims_text(made, trial, trial.parent)
    if not text:
        return
    file = trial.parent / "claims.yaml"
    file.write_text(text, encoding="utf-8")
    for claim in slackwater.audit(file).claims:
        tally.claims += 1
        if claim.verdict != "upheld":
            tally.not_upheld.append(
                f"{name}: {claim.id} {claim.stated}: {claim.verdict}; {claim.why}"
            )


def draw(rng: np.random.Generator, folder: Path) -> Path:
    """A trial in files; returns the path of the trial."""
    order = str(rng.choice(ORDERS))
    blocked = order in ("ABBA", "ABBABAAB") and rng.random() < 0.3
    points = sorted(rng.choice(np.arange(1000, 3501, 250), int(rng.integers(4, 8)), replace=False))
    metric, fuel = rng.random() < 0.3, rng.random() < 0.8
    boats = _boats(rng)
    start = datetime.fromisoformat("2026-05-04T08:00:00")
    days = [
        Day(
            f"S{n + 1}",
            letter,
            start + (timedelta(days=n // 4, hours=3.5 * (n % 4)) if blocked else timedelta(days=n)),
            float(rng.uniform(0, 1.2)),
            float(rng.uniform(0, 12)),
        )
        for n, letter in enumerate(order)
    ]
    unit = "km/h" if metric else "kn"
    headings = [f"speed_over_ground [{unit}]", "engine_speed [rpm]"]
    headings += ["fuel_flow [L/h]"] if fuel else []

    def cells(run: Reading) -> list[str]:
        found = [f"{run.over_ground * (KMH if metric else 1):.2f}", f"{run.held:.0f}"]
        return [*found, f"{run.flow:.2f}"] if fuel else found

    sweep(
        folder / "runs.csv", days, boats, [int(point) for point in points],
        int(rng.integers(1, 4)), int(rng.integers(2**31)), float(rng.uniform(0.002, 0.012)),
        table=Table(headings, cells),
    )  # fmt: skip
    _set_aside(rng, folder / "runs.csv")
    data = _trial(rng, days, [int(point) for point in points], unit, fuel, blocked)
    path = folder / "trial.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    return path


def _boats(rng: np.random.Generator) -> dict[str, Boat]:
    bare = Boat(semi_planing, diesel)
    boats = {"A": bare}
    for letter in "BC":
        size = float(rng.choice([0.0, 0.0, rng.uniform(-0.06, 0.08), rng.uniform(-0.02, 0.02)]))
        flow = float(rng.choice([0.0, rng.uniform(-0.06, 0.06)]))
        whole = rng.random() < 0.5
        speed = (lambda rpm, size=size: size) if whole else bump(2200, 500, size)
        boats[letter] = changed(bare, speed, lambda rpm, flow=flow: flow)
    return boats


def _set_aside(rng: np.random.Generator, path: Path) -> None:
    """A double run or two are called off in a third of the trials."""
    if rng.random() > 0.35:
        return
    lines = path.read_text(encoding="utf-8").splitlines()
    for _ in range(int(rng.integers(1, 4))):
        gone = ",".join(lines[int(rng.integers(1, len(lines)))].split(",")[:3]) + ","
        lines = [
            f"{line[:-2]},traffic," if line.startswith(gone) and line.endswith(",,") else line
            for line in lines
        ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _trial(
    rng: np.random.Generator,
    days: list[Day],
    points: list[int],
    unit: str,
    fuel: bool,
    blocked: bool,
) -> dict[str, Any]:
    order = "".join(day.fitted for day in days)
    shared = bool(rng.random() < 0.8)
    measures: dict[str, Any] = {
        "speed_over_ground": {
            "unit": unit,
            "standard_uncertainty": f"0.05 {unit}",
            "shared": shared,
        },
        "engine_speed": {"unit": "rpm", "standard_uncertainty": "5 rpm", "shared": True},
    }
    worthwhile: dict[str, Any] = {"speed": rng.choice(["1 %", "2 %", "5 %"]).item()}
    if rng.random() < 0.4:
        worthwhile = {"speed": {"no_loss": rng.choice(["1 %", "3 %", "6 %"]).item()}}
    if fuel:
        measures["fuel_flow"] = {"unit": "L/h", "standard_uncertainty": "1 %", "shared": True}
        worthwhile["economy"] = rng.choice(["3 %", "6 %"]).item()
    analysis: dict[str, Any] = {
        "confidence": rng.choice(["95 %", "90 %"]).item(),
        "worthwhile": worthwhile,
        "family": rng.choice(["set_points", "set_points", "all", "single"]).item(),
    }
    if rng.random() < 0.7:
        analysis["decides"] = "economy at equal speed" if fuel else "speed"
    letters = sorted(set(order))
    return {
        "trial": "drawn",
        "title": "A drawn trial (invented)",
        "protocol": {
            "protocol": "drawn",
            "version": "1.0",
            "title": "Drawn",
            "runs": {"set_points": {"of": "engine_speed", "values": [f"{p} rpm" for p in points]}},
            "sessions": {"order": "AB" if len(set(map(order.count, letters))) > 1 else order}
            | ({"block": "day"} if blocked else {}),
            "measures": measures,
            "analysis": analysis,
        },
        "boat": {"title": "Drawn (invented)", "fuel_capacity": "400 L"},
        "configurations": {
            letter: {"title": f"Fit {letter}", "propeller_pitch": "21 in", "gear_ratio": 1.75}
            for letter in letters
        },
        "comparisons": [{"baseline": "A", "modified": other} for other in letters[1:]],
        "sessions": [
            {"id": day.id, "configuration": day.fitted, "date": day.start.date().isoformat()}
            for day in days
        ],
        "runs": "runs.csv",
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20261126)
    parser.add_argument("--first", type=int, default=0, help="number of the first trial")
    args = parser.parse_args()
    tally = statements(args.trials, args.seed, args.first)
    print(f"{tally.trials} trials, {tally.lines} lines, {tally.claims} claims")
    print("said of changes:", ", ".join(f"{word} {n}" for word, n in tally.said.most_common()))
    for title, found in (("not upheld", tally.not_upheld), ("beyond the analysis", tally.beyond)):
        print(f"{title}: {len(found)}")
        print("".join(f"  {line}\n" for line in found[:40]), end="")


if __name__ == "__main__":
    main()
