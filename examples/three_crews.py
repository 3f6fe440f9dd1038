"""Make a folder of invented trials, as a test organisation might have them.

    python examples/three_crews.py FOLDER [--trials 40]

Three crews try changes on six boats, and between these each crew takes the reference boat out: one
configuration, nothing changed. Her engine loses speed and burns more from a day in autumn on, which
nobody noted. Boats, crews and every figure are invented; the seed is fixed, so that the files come
out the same every time.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from invented import Boat, Curve, Day, changed, diesel, semi_planing, sweep

CREWS = ("north", "quay", "sound")
BOATS = ("pilot launch", "crew boat", "survey boat", "harbour tug", "patrol boat", "ferry")
FIRST = datetime.fromisoformat("2025-03-03T08:30:00")
DRIFT = datetime.fromisoformat("2025-09-15T00:00:00")  # from here on her engine is not what it was
SLOWER, THIRSTIER = -0.02, 0.04
EVERY = 3  # one trial in so many is of the reference boat
POINTS = (1400, 2000, 2600, 3200)
BETWEEN = {"north": 0.004, "quay": 0.005, "sound": 0.007}  # of a session's speed

PROTOCOL = """\
# An invented protocol: a short sweep, as this invented organisation runs it.
protocol: short-sweep
version: "1.0"
title: Speed and fuel at four engine speeds
runs:
  set_points: {{of: engine_speed, values: [{points}], hold: 1 %}}
  double_runs: 2
  first_direction: alternate
  set_point_order: shuffled
  steady: {{settle: 20 s, record: 60 s}}
sessions: {{per_configuration: {each}, order: {order}}}
measures:
  speed_over_ground: {{unit: kn, shared: true}}
  engine_speed: {{unit: rpm, shared: true}}
  fuel_flow: {{unit: L/h, shared: true}}
analysis: {{worthwhile: {{speed: 1 %, economy: 3 %}}{decides}}}
"""
TRIAL = """\
# An invented trial, made by examples/three_crews.py: no such boat, no such crew.
trial: {id}
title: {title}
invented: true
protocol: {protocol}
sailed_by: {crew}
boat: {{title: {boat} (invented), waterline_length: {length:.1f} m}}
configurations: {{{configurations}}}
sessions:
{sessions}
runs: {id}.csv
"""


@dataclass(frozen=True)
class Planned:
    """One trial before it is made."""

    id: str
    crew: str
    boat: str
    first: datetime
    order: str  # of configurations, a letter a session
    size: float  # of the gain in speed that the change brings [fraction]
    seed: int
    length: float = 9.5  # [m]

    @property
    def is_reference(self) -> bool:
        return self.boat == "reference boat"


def plans(trials: int, order: str) -> Iterator[Planned]:
    """What is tried, in the order of the calendar."""
    for number in range(trials):
        crew = CREWS[number % len(CREWS)]
        day = FIRST + timedelta(days=9 * number)
        # Every crew has its turn with her, so that the crews can be compared.
        if number // len(CREWS) % EVERY == 0:
            yield Planned(
                f"reference-{number + 1:03d}", crew, "reference boat", day, "AA", 0.0, 7000 + number
            )
        else:
            boat = BOATS[number % len(BOATS)]
            size = (0.0, 0.012, 0.03)[number % 3]
            id = f"{boat.replace(' ', '-')}-{number + 1:03d}"
            yield Planned(
                id, crew, boat, day, order, size, 7000 + number, 8.0 + number % len(BOATS)
            )


def make(folder: Path, trials: int = 40, order: str = "ABBA") -> list[Path]:
    """Write the trials, a folder a crew; gives their files. `order` is that of configurations."""
    folder.mkdir(parents=True, exist_ok=True)
    points = ", ".join(f"{point} rpm" for point in POINTS)
    decides = ", decides: speed"
    for name, sessions, word in (("change", order, decides), ("reference", "AA", "")):
        each = sessions.count("A")
        text = PROTOCOL.format(points=points, order=sessions, each=each, decides=word)
        (folder / f"{name}.yaml").write_text(
            text.replace("short-sweep", f"short-sweep-{name}"), encoding="utf-8"
        )
    return [_make_one(folder, plan) for plan in plans(trials, order)]


def _make_one(folder: Path, plan: Planned) -> Path:
    home = folder / plan.crew
    home.mkdir(exist_ok=True)
    bare = Boat(_scaled(semi_planing, 1 + (plan.length - 9.5) / 60), diesel)
    if plan.is_reference and plan.first >= DRIFT:
        bare = changed(bare, lambda rpm: SLOWER, lambda rpm: THIRSTIER)
    fitted = changed(bare, lambda rpm: plan.size, lambda rpm: plan.size)
    days = [
        Day(
            f"S{number + 1}",
            {"A": "bare", "B": "fitted"}[letter],
            plan.first + timedelta(days=number),
            0.7,
            (plan.seed * 1.7 + number * 0.8) % 12,
        )
        for number, letter in enumerate(plan.order)
    ]
    sweep(
        home / f"{plan.id}.csv",
        days,
        {"bare": bare, "fitted": fitted},
        list(POINTS),
        double_runs=2,
        seed=plan.seed,
        between=BETWEEN[plan.crew],
    )
    path = home / f"{plan.id}.yaml"
    path.write_text(_text(plan, days), encoding="utf-8")
    return path


def _scaled(curve: Curve, factor: float) -> Curve:
    return lambda rpm: factor * curve(rpm)


def _text(plan: Planned, days: list[Day]) -> str:
    names = {"A": "bare: {title: As she is}", "B": "fitted: {title: With the change}"}
    sessions = "\n".join(
        f"  - {{id: {day.id}, configuration: {day.fitted}, date: {day.start.date()}, "
        f"wave_height: {0.1 + 0.1 * (plan.seed % 4):.1f} m}}"
        for day in days
    )
    what = "The reference boat, nothing changed" if plan.is_reference else "A change tried"
    return TRIAL.format(
        id=plan.id,
        title=f"{what}, by the crew of {plan.crew} (invented)",
        protocol=f"../{'reference' if plan.is_reference else 'change'}.yaml",
        crew=plan.crew,
        boat=plan.boat.capitalize(),
        length=plan.length,
        configurations=", ".join(names[letter] for letter in sorted(set(plan.order))),
        sessions=sessions,
    )


def main() -> None:
    """Write them where the command line says."""
    parser = argparse.ArgumentParser(description="a folder of invented trials")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--trials", type=int, default=40)
    args = parser.parse_args()
    made = make(args.folder, args.trials)
    print(f"{len(made)} trials below {args.folder}")


if __name__ == "__main__":
    main()
