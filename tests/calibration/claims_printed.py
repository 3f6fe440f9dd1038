"""Figures as they are printed, and whether one truth can be behind them.

What rounding can hide is decided here by itself, with a linear programme and with corners of boxes,
and not by the code under test.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass, field
from decimal import ROUND_HALF_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np
from scipy.optimize import linprog

ROUNDINGS = (ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_HALF_DOWN)
# Exact factors, NIST SP 811: one of the unit in the unit that the values are drawn in.
FACTORS = {
    "kn": 1.0, "mph": 1609.344 / 1852, "km/h": 1 / 1.852, "m/s": 3600 / 1852,
    "L/h": 1.0, "gal/h": 3.785411784,
    "nmi/L": 1.0, "mi/gal": 1609.344 / 1852 / 3.785411784, "nmi/gal": 1 / 3.785411784,
    "nmi": 1.0, "mi": 1609.344 / 1852, "km": 1 / 1.852,
}  # fmt: skip


@dataclass
class Printed:
    """A figure as it is printed: the number in a unit, and the step it was rounded to."""

    number: Decimal
    unit: str
    step: Decimal
    before: str = ""
    after: str = ""

    @property
    def text(self) -> str:
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.before}{self.number:f}{unit}{self.after}"

    def ends(self, *, cut: bool = False) -> tuple[float, float]:
        """What the rounding leaves open, or cutting off, in the unit that values are drawn in."""
        factor = FACTORS.get(self.unit, 1.0)
        below = above = self.step / 2
        if cut:
            below = self.step if self.number <= 0 else Decimal(0)
            above = self.step if self.number >= 0 else Decimal(0)
        return float(self.number - below) * factor, float(self.number + above) * factor


@dataclass
class Case:
    """A document of claims, which slip was planted, and whether rounding can hide it."""

    data: dict[str, Any]
    kind: str = ""
    hidden: bool = False
    claim: int = 0
    figures: dict[str, Printed] = field(default_factory=dict)


def print_as(
    rng: random.Random, value: float, unit: str, step: str, mode: str | None = None
) -> Printed:
    """Round a value, drawn in the first unit of its kind, to a step in the unit it is printed in."""
    number = Decimal(repr(value / FACTORS.get(unit, 1.0)))
    quantum = Decimal(step)
    how = mode or rng.choice(ROUNDINGS)
    whole = (number / quantum).to_integral_value(rounding=how) * quantum
    exponent = min(int(quantum.normalize().as_tuple().exponent), 0)
    return Printed(whole.quantize(Decimal(1).scaleb(exponent)), unit, quantum)


def step_for(rng: random.Random, value: float, digits: tuple[int, ...] = (3, 3, 4)) -> str:
    """A step that leaves so many significant digits, never coarser than one."""
    power = int(np.floor(np.log10(abs(value)))) - rng.choice(digits) + 1
    return str(Decimal(1).scaleb(min(power, 0)))


def swap_digits(rng: random.Random, printed: Printed) -> bool:
    digits = f"{abs(printed.number):f}"
    places = [i for i, c in enumerate(digits) if c.isdigit()]
    pairs = [
        (a, b)
        for a, b in itertools.pairwise(places)
        if digits[a] != digits[b] and not (a == 0 and digits[b] == "0")
    ]
    if not pairs:
        return False
    a, b = rng.choice(pairs)
    swapped = list(digits)
    swapped[a], swapped[b] = swapped[b], swapped[a]
    sign = -1 if printed.number < 0 else 1
    printed.number = sign * Decimal("".join(swapped))
    return printed.number != 0


def rounder(printed: list[Printed]) -> Decimal:
    """The coarsest fives, tens, fifties ... that whole numbers of three digits may be rounded to.

    Fives behind the point as well, where two values show them.
    """
    steps = {p.step for p in printed}
    values = [p for p in printed if abs(p.number) >= 20 * 5 * p.step]
    if len(steps) == 1 and (digit := steps.pop()) < 1:
        fives = all(p.number % (5 * digit) == 0 for p in printed)
        seen = any(p.number % (10 * digit) for p in values)
        return 5 * digit if fives and seen and len(values) > 1 else Decimal(0)
    for step in (Decimal(m) * 10**k for k in (2, 1, 0) for m in (5, 1)):
        if step > 1 and all(
            p.step >= 1 and p.number % step == 0 and abs(p.number) >= step * 20 for p in printed
        ):
            return step
    return Decimal(0)


def feasible(figures: dict[str, Printed], base: str = "baseline") -> bool:
    """Whether true values exist that round to all figures of one claim: a linear programme.

    A difference or percentage printed without a sign is a size, that either direction fits.
    """
    ways = (set(), set(figures), set(figures) - {"change"}, {"change"})
    return any(_feasible_as_sizes(figures, base, cut) for cut in ways)


def _feasible_as_sizes(figures: dict[str, Printed], base: str, cut: set[str]) -> bool:
    sizes = [n for n in ("difference", "change") if n in figures and _is_size(figures[n])]
    values = [figures[n] for n in ("baseline", "modified")]
    falls = values[1].ends()[0] < values[0].ends()[0]
    if sizes and falls:
        turned = dict(figures)
        for name in sizes:
            turned[name] = Printed(-figures[name].number, figures[name].unit, figures[name].step)
        return _feasible(turned, base, cut)
    return _feasible(figures, base, cut)


def _is_size(printed: Printed) -> bool:
    """Whether it is printed without a sign."""
    return printed.number > 0 and printed.before != "+"


def _feasible(figures: dict[str, Printed], base: str, cut: set[str]) -> bool:
    values = [p for k, p in figures.items() if k != "change"]
    coarse = Decimal(0) if cut else rounder(values)
    rows, limits = [], []

    def limit(row: list[float], low: float, high: float) -> None:
        rows.extend([row, [-x for x in row]])
        limits.extend([high, -low])

    bounds: list[tuple[float, float | None]] = [(1e-9, None), (1e-9, None)]
    for name, printed in figures.items():
        step = max(printed.step, coarse)
        if name == "change":
            step = printed.step if cut else max(printed.step, rounder([printed]))
        low, high = Printed(printed.number, printed.unit, step).ends(cut=name in cut)
        if name == "baseline":
            bounds[0] = (low, high)
        elif name == "modified":
            bounds[1] = (low, high)
        elif name == "difference":
            limit([-1.0, 1.0], low, high)
        elif base == "baseline":
            rows.extend([[1 + low / 100, -1.0], [-1 - high / 100, 1.0]])
            limits.extend([0.0, 0.0])
    found = linprog([0.0, 0.0], A_ub=rows or None, b_ub=limits or None, bounds=bounds)
    return bool(found.status == 0)
