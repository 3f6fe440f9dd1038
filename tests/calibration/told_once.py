"""What a plan promises of a quantity that is told once a session, and whether simulated trials keep it."""

from __future__ import annotations

from math import sqrt

import numpy as np

from slackwater.analysis.planning.power import Design, Noise, Setting, power_of
from slackwater.analysis.planning.surface import Surface

POINTS = 0.03  # that predicted and realised power may differ by


def power_planned(
    design: Design, noise: Noise, effect: float, agreement: float | None = None
) -> float:
    """What the table of a plan has for a design; of a rating, with the confidence that its raters agree at."""
    n, k = np.array([design.sessions]), np.array([design.double_runs])
    surface = Surface(noise, Setting(set_points=1, agreement=agreement), (2, 10), (1, 12))
    return float(power_of(surface.floors(n, k), surface.spreads(n, k), [effect])[0])


def keeps(name: str, power: float, realised: float, trials: int) -> None:
    """Realised is what was predicted, within three points and what chance makes of so many trials."""
    error = sqrt(power * (1 - power) / trials)
    assert abs(realised - power) <= POINTS + 2 * error, f"{name}: predicted {power:.3f}, realised {realised:.3f}"  # fmt: skip
