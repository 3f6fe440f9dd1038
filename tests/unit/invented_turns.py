"""Invented turns: a straight approach, then a circle at one speed, in a uniform current; closed forms are known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.path import Path


@dataclass(frozen=True)
class Circle:
    """A boat on `course` at `speed` [m/s] that turns from t = 0 on a circle of `radius` [m] to `side`.

    She skids: her heading is `skid` [deg] further round than her course from the moment of the order.
    """

    radius: float = 40.0
    speed: float = 4.0
    course: float = 30.0
    side: int = 1
    degrees: float = 720.0
    current: tuple[float, float] = (0.3, -0.2)
    approach: float = 20.0
    skid: float = 0.0
    slowed: float = 1.0  # the speed in the turn as part of that before it
    step: float = 0.02

    @property
    def rate(self) -> float:
        """[rad/s]"""
        return self.slowed * self.speed / self.radius

    @property
    def end(self) -> float:
        """[s]"""
        return math.radians(self.degrees) / self.rate

    def path(self, *, compass: bool = True, noise: float = 0.0, seed: int = 1) -> Path:
        inside = round(
            self.end / self.step
        )  # so that order and end are samples, and steps are even
        step = self.end / inside
        t = np.arange(-round(self.approach / step), inside + 1) * step
        turned = np.where(t > 0, self.rate * t, 0.0)
        ahead = np.where(t > 0, self.radius * np.sin(turned), self.speed * t)
        aside = np.where(t > 0, self.radius * (1 - np.cos(turned)), 0.0) * self.side
        a = math.radians(self.course)
        east = ahead * math.sin(a) + aside * math.cos(a) + self.current[0] * t
        north = ahead * math.cos(a) - aside * math.sin(a) + self.current[1] * t
        fast = np.where(t > 0, self.slowed, 1.0) * self.speed
        angle = a + self.side * turned
        ve = fast * np.sin(angle) + self.current[0]
        vn = fast * np.cos(angle) + self.current[1]
        rng = np.random.default_rng(seed)
        if noise:
            east, north = (each + noise * rng.standard_normal(t.size) for each in (east, north))
            ve, vn = (each + 0.1 * noise * rng.standard_normal(t.size) for each in (ve, vn))
        heading = np.degrees(angle) + self.side * np.where(t > 0, self.skid, 0.0)
        none = np.empty(0)
        return Path(t, east, north, t, ve, vn, t if compass else none, heading if compass else none)
