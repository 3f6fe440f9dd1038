"""Five invented launches that were each given interceptors: their true curves and changes.

The launches are of one kind and of several sizes: at one Froude number they do alike, and each turns her
engine at her own speed for it. What interceptors gain differs from boat to boat, as declared here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from invented import Boat, Day, bump, changed, diesel, semi_planing, sweep

LENGTH = 10.2  # [m], of the waterline that `semi_planing` is of


@dataclass(frozen=True)
class Launch:
    """One invented launch, and the truth about her."""

    name: str
    length: float  # [m], of the waterline
    faster: float  # her engine turns so many times as fast
    gain: float  # the largest gain of speed at one engine speed [fraction]
    first_day: str


FLEET = (
    Launch("first", 8.2, 1.10, 0.060, "2026-04-07"),
    Launch("second", 9.1, 1.05, 0.045, "2026-04-20"),
    Launch("third", 10.2, 1.00, 0.052, "2026-05-05"),
    Launch("fourth", 11.6, 0.95, 0.036, "2026-05-18"),
    Launch("fifth", 12.9, 0.92, 0.068, "2026-06-02"),
)
POINTS = (1600, 2000, 2300, 2600, 3000)  # [rpm], times `faster`


def boats_of(launch: Launch) -> dict[str, Boat]:
    """Bare, and with interceptors."""
    size, turns = launch.length / LENGTH, launch.faster
    bare = Boat(
        lambda rpm: math.sqrt(size) * semi_planing(rpm / turns),
        lambda rpm: size**2.5 * diesel(rpm / turns),
    )
    middle, wide = 2250 * turns, 480 * turns
    return {
        "bare": bare,
        "fitted": changed(bare, bump(middle, wide, launch.gain), bump(middle, wide, -0.01)),
    }


def days_of(launch: Launch) -> list[Day]:
    """Four mornings, ABBA."""
    first = datetime.fromisoformat(f"{launch.first_day}T08:30:00")
    return [
        Day(f"S{n + 1}", fitted, first + timedelta(days=2 * n), 0.8, 1.1 * n)
        for n, fitted in enumerate(("bare", "fitted", "fitted", "bare"))
    ]


def five_launches(folder: Path) -> None:
    """The run tables of all five."""
    for number, launch in enumerate(FLEET):
        points = [round(rpm * launch.faster / 10) * 10 for rpm in POINTS]
        path = folder / "five-launches" / launch.name / "runs.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        sweep(path, days_of(launch), boats_of(launch), points, 2, 16 + number, 0.004)
