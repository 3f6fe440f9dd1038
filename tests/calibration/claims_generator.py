"""Invented claims by the thousand: consistent ones, and ones with a single planted slip.

What rounding can hide is decided here by itself, with a linear programme and with corners of boxes,
and not by the code under test.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass, field
from decimal import ROUND_DOWN, ROUND_HALF_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np
from scipy.optimize import linprog

KINDS = (
    "wrong-base", "swapped-digits", "subtraction", "range", "unit", "over-rounded",
    "mirrored", "points", "swapped-columns",
)  # fmt: skip
ROUNDINGS = (ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_HALF_DOWN)
# Exact factors, NIST SP 811: one of the unit in the unit that the values are drawn in.
FACTORS = {
    "kn": 1.0, "mph": 1609.344 / 1852, "km/h": 1 / 1.852, "m/s": 3600 / 1852,
    "L/h": 1.0, "gal/h": 3.785411784,
    "nmi/L": 1.0, "mi/gal": 1609.344 / 1852 / 3.785411784, "nmi/gal": 1 / 3.785411784,
    "nmi": 1.0, "mi": 1609.344 / 1852, "km": 1 / 1.852,
}  # fmt: skip
UNITS = {
    "speed": ("kn", "kn", "kn", "mph", "km/h"),
    "fuel_flow": ("L/h", "L/h", "gal/h"),
    "economy": ("nmi/L", "nmi/L", "nmi/gal", "mi/gal"),
    "range": ("nmi", "nmi", "mi", "km"),
}
SLIPS = {
    "kn": ("mph", "km/h"), "mph": ("kn",), "km/h": ("kn",), "L/h": ("gal/h",), "gal/h": ("L/h",),
    "nmi/L": ("nmi/gal",), "mi/gal": ("nmi/gal",), "nmi/gal": ("mi/gal",),
    "nmi": ("mi", "km"), "mi": ("nmi", "km"), "km": ("nmi", "mi"),
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


def _step_for(rng: random.Random, value: float, digits: tuple[int, ...] = (3, 3, 4)) -> str:
    """A step that leaves so many significant digits, never coarser than one."""
    power = int(np.floor(np.log10(abs(value)))) - rng.choice(digits) + 1
    return str(Decimal(1).scaleb(min(power, 0)))


def _swap(rng: random.Random, printed: Printed) -> bool:
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


def _rounder(printed: list[Printed]) -> Decimal:
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
    coarse = Decimal(0) if cut else _rounder(values)
    rows, limits = [], []

    def limit(row: list[float], low: float, high: float) -> None:
        rows.extend([row, [-x for x in row]])
        limits.extend([high, -low])

    bounds: list[tuple[float, float | None]] = [(1e-9, None), (1e-9, None)]
    for name, printed in figures.items():
        step = max(printed.step, coarse)
        if name == "change":
            step = printed.step if cut else max(printed.step, _rounder([printed]))
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


def _claim(figures: dict[str, Printed], quantity: str, **more: Any) -> dict[str, Any]:
    stated = {name: printed.text for name, printed in figures.items()}
    return {"id": "G1", "quantity": quantity, "at": "2400 rpm", "stated": stated, **more}


def _two_values(rng: random.Random, quantity: str) -> tuple[float, float]:
    low, high = {
        "speed": (5, 45), "fuel_flow": (4, 300), "economy": (0.1, 2.0), "range": (60, 900),
    }[quantity]  # fmt: skip
    baseline = float(np.exp(rng.uniform(np.log(low), np.log(high))))
    return baseline, baseline * (1 + rng.choice((1, 1, -1)) * rng.uniform(0.01, 0.35))


def _comparison(
    rng: random.Random, quantity: str, names: tuple[str, ...], digits: tuple[int, ...] = (3, 3, 4)
) -> dict[str, Printed]:
    """Baseline, modified, difference and percentage of one comparison, each rounded by itself."""
    b, m = _two_values(rng, quantity)
    unit = rng.choice(UNITS[quantity])
    other = rng.choice(UNITS[quantity]) if rng.random() < 0.15 else unit
    step = _step_for(rng, b / FACTORS[unit], digits)
    figures: dict[str, Printed] = {}
    if "baseline" in names:
        figures["baseline"] = print_as(rng, b, unit, step)
    if "modified" in names:
        figures["modified"] = print_as(
            rng, m, other, step if other == unit else _step_for(rng, m / FACTORS[other], digits)
        )
    if "difference" in names:
        figures["difference"] = print_as(rng, m - b, unit, step)
    if "change" in names:
        figures["change"] = print_as(rng, 100 * (m / b - 1), "%", rng.choice(("0.1", "0.1", "1")))
    return figures


def consistent(rng: random.Random) -> Case:
    """A claim whose figures all come from the same true values."""
    if rng.random() < 0.4:
        return rng.choice((_spread, _bound, _word, _read, _several, _average))(rng)
    draw = rng.random()
    if draw < 0.25:
        return rng.choice((_economy_case, _range_case, _slip_case, _total_case))(rng)
    quantity = rng.choice(tuple(UNITS))
    names = rng.choice(
        (
            ("baseline", "modified", "difference", "change"),
            ("baseline", "modified", "change"),
            ("baseline", "modified", "difference"),
            ("baseline", "difference", "change"),
            ("modified", "difference", "change"),
        )
    )
    if draw < 0.35 and quantity in ("range", "fuel_flow"):
        return Case({"claims": [_claim(_in_fives(rng, quantity, names), quantity)]})
    if draw < 0.45:
        return _cut_off(rng, quantity, names)
    figures = _comparison(rng, quantity, names)
    for printed in figures.values():
        if printed.number == 0 and printed is figures.get("baseline"):
            return consistent(rng)
    _in_words(rng, figures)
    return Case({"claims": [_claim(figures, quantity)]})


def _in_words(rng: random.Random, figures: dict[str, Printed]) -> None:
    """Now and then "about", "up to" or "less", as people write."""
    change = figures.get("change")
    if change is None:
        return
    draw = rng.random()
    if draw < 0.1:
        change.before = "about "
    elif draw < 0.2:
        change.before = "up to "
    elif draw < 0.35 and change.number < 0:
        change.number, change.after = -change.number, " less"
    elif draw < 0.45 and change.number > 0:
        change.before = "+"


def _in_fives(rng: random.Random, quantity: str, names: tuple[str, ...]) -> dict[str, Printed]:
    """Values of three digits rounded to fives or tens, the percentage from the true values."""
    b = rng.uniform(210, 900)
    m = b * (1 + rng.uniform(-0.3, 0.3))
    step = rng.choice(("5", "10"))
    unit = {"range": "nmi", "fuel_flow": "L/h"}[quantity]
    figures = {
        "baseline": print_as(rng, b, unit, step),
        "modified": print_as(rng, max(m, 210.0), unit, step),
    }
    figures["change"] = print_as(rng, 100 * (max(m, 210.0) / b - 1), "%", "1")
    if min(p.number for k, p in figures.items() if k != "change") < Decimal(step) * 20:
        return _in_fives(rng, quantity, names)
    return figures


def _cut_off(rng: random.Random, quantity: str, names: tuple[str, ...]) -> Case:
    """Digits cut off instead of rounded, and the file says so, or does not."""
    b, m = _two_values(rng, quantity)
    unit = UNITS[quantity][0]
    step = _step_for(rng, b)
    figures = {
        "baseline": print_as(rng, b, unit, step, ROUND_DOWN),
        "modified": print_as(rng, m, unit, step, ROUND_DOWN),
        "difference": print_as(rng, m - b, unit, step, ROUND_DOWN),
        "change": print_as(rng, 100 * (m / b - 1), "%", "0.1", ROUND_DOWN),
    }
    figures = {name: figures[name] for name in names if figures[name].number != 0}
    if len(figures) < 2:
        return consistent(rng)
    said = {"rounding": "down"} if rng.random() < 0.5 else {}
    return Case({**said, "claims": [_claim(figures, quantity)]})


def _stated(figures: dict[str, Printed], change: str) -> dict[str, str]:
    return {**{name: printed.text for name, printed in figures.items()}, "change": change}


def _values(rng: random.Random, b: float, m: float, unit: str = "kn") -> dict[str, Printed]:
    return {"baseline": print_as(rng, b, unit, "0.1"), "modified": print_as(rng, m, unit, "0.1")}


def _spread(rng: random.Random) -> Case:
    """Values and percentage with their ±, each measured that far off the truth at most."""
    b, m = _two_values(rng, "speed")
    u, w = rng.choice((0.1, 0.25, 0.5)), rng.choice((0.5, 1.0, 2.0))
    off = [rng.uniform(-1, 1) for _ in range(3)]
    stated = {
        "baseline": f"{print_as(rng, b + u * off[0], 'kn', '0.1').number} ± {u} kn",
        "modified": f"{print_as(rng, m + u * off[1], 'kn', '0.1').number} ± {u} kn",
    }
    change = print_as(rng, 100 * (m / b - 1) + w * off[2], "%", "0.1")
    stated["change"] = (
        f"{change.number:+} % ± {w} %" if rng.random() < 0.5 else f"{change.number:+} ± {w} %"
    )
    return Case({"claims": [{"id": "G1", "quantity": "speed", "at": "2400 rpm", "stated": stated}]})


def _bound(rng: random.Random) -> Case:
    """A bound that the truth keeps, of the size or, with its sign, of the change."""
    b, m = _two_values(rng, "speed")
    change = 100 * (m / b - 1)
    size, word = abs(change), "more" if change > 0 else "less"
    least = int(size * rng.uniform(0.3, 0.99) * 10) / 10
    most = int(size * rng.uniform(1.01, 2.0) * 10) / 10 + 0.1
    texts = [
        f"at least {least} % {word}", f"over {least} % {word}", f"up to {most} % {word}",
        f"at most {most} % {word}", f"no more than {most} % {word}", f"within {most} %",
        f"less than {most} % {word}", f"{-most} to {most} %", f"at least {-most} %",
    ]  # fmt: skip
    stated = _stated(_values(rng, b, m), rng.choice(texts))
    return Case({"claims": [{"id": "G1", "quantity": "speed", "at": "2400 rpm", "stated": stated}]})


def _word(rng: random.Random) -> Case:
    """A part in words that is off by no more than such words are, or a number with "nearly"."""
    b = rng.uniform(8, 30)
    if rng.random() < 0.5:
        word, size = rng.choice(
            (("a tenth more", 10), ("a fifth less", -20), ("a quarter more", 25), ("a third less", -100 / 3),
             ("half more", 50), ("half less", -50), ("twice", 100), ("about a quarter less", -25))
        )  # fmt: skip
        change = size * rng.uniform(0.88, 1.12)
    else:
        size = rng.choice((3, 5, 8, 12, 20, 30))
        word, part = rng.choice(
            (("nearly", (0.92, 0.999)), ("almost", (0.92, 0.999)), ("just over", (1.001, 1.08)),
             ("about", (0.95, 1.05)), ("some", (0.95, 1.05)))
        )  # fmt: skip
        change, word = size * rng.uniform(*part), f"{word} {size} %"
    stated = _stated(_values(rng, b, b * (1 + change / 100)), word)
    return Case({"claims": [{"id": "G1", "quantity": "speed", "at": "2400 rpm", "stated": stated}]})


def _read(rng: random.Random) -> Case:
    """Speeds read to a step that the file names, the percentage from the truth."""
    b, m = _two_values(rng, "speed")
    step = rng.choice(("0.5", "0.2", "1"))
    figures = {name: print_as(rng, v, "kn", step) for name, v in (("baseline", b), ("modified", m))}
    for printed in figures.values():
        printed.number = printed.number.quantize(Decimal("0.1"))
    if min(p.number for p in figures.values()) <= 0:
        return _read(rng)
    figures["change"] = print_as(rng, 100 * (m / b - 1), "%", "0.1")
    return Case({"read_to": {"speed": f"{step} kn"}, "claims": [_claim(figures, "speed")]})


def _several(rng: random.Random) -> Case:
    """Speed, flow, economy and range at one place, in claims of their own, some in per cent alone."""
    v, q = rng.uniform(6, 30), rng.uniform(5, 100)
    changes = [1 + rng.uniform(-0.2, 0.2) for _ in range(2)]
    true = {
        "speed": (v, v * changes[0]), "fuel_flow": (q, q * changes[1]),
        "economy": (v / q, v / q * changes[0] / changes[1]),
        "range": (v / q * 270, v / q * 270 * changes[0] / changes[1]),
    }  # fmt: skip
    how = ROUND_DOWN if rng.random() < 0.2 else None
    claims = []
    for quantity in rng.sample(sorted(true), rng.choice((2, 3, 4))):
        b, m = true[quantity]
        unit = UNITS[quantity][0]
        figures: dict[str, Printed] = {}
        if rng.random() < 0.6:
            step = _step_for(rng, b)
            figures = {
                "baseline": print_as(rng, b, unit, step, how),
                "modified": print_as(rng, m, unit, step, how),
            }
            if min(p.number for p in figures.values()) <= 0:
                return _several(rng)
        change = print_as(rng, 100 * (m / b - 1), "%", rng.choice(("0.1", "1")), how)
        if not figures or rng.random() < 0.5:
            change.before = "+" if change.number > 0 else ""
            figures["change"] = change
        claims.append({**_claim(figures, quantity), "id": f"G{len(claims) + 1}"})
    return Case({"boat": {"fuel_capacity": "300 L", "fuel_reserve": "10 %"}, "claims": claims})


def _average(rng: random.Random) -> Case:
    """The changes at some set points, their average, and the largest of them."""
    changes = [rng.uniform(-5, 12) for _ in range(4)]
    places = ("2000 rpm", "2200 rpm", "2500 rpm", "3000 rpm")
    claims = [
        {"id": f"G{i + 1}", "quantity": "speed", "at": at, "stated": {"change": f"{c:+.1f} %"}}
        for i, (at, c) in enumerate(zip(places, changes, strict=True))
    ]
    mean = f"{sum(changes) / 4:+.1f} %"
    over = {"at": "2000 to 3000 rpm"} if rng.random() < 0.5 else {"at": "average"}
    claims.append({"id": "mean", "quantity": "speed", **over, "stated": {"change": mean}})
    if max(changes) > 0.1:
        best = {
            "id": "best",
            "quantity": "speed",
            "stated": {"change": f"up to {max(changes):.1f} %"},
        }
        claims.append(best)
    return Case({"claims": claims})


def _economy_case(rng: random.Random) -> Case:
    v, q = rng.uniform(6, 40), rng.uniform(5, 200)
    figures = {
        "speed": print_as(rng, v, rng.choice(UNITS["speed"]), "0.1"),
        "fuel_flow": print_as(rng, q, rng.choice(UNITS["fuel_flow"]), "0.1"),
    }
    unit = rng.choice(UNITS["economy"])
    figures["economy"] = print_as(rng, v / q, unit, _step_for(rng, v / q / FACTORS[unit], (3, 4)))
    return _economy_document(figures)


def _economy_document(figures: dict[str, Printed]) -> Case:
    beside = {"baseline": {name: figures[name].text for name in ("speed", "fuel_flow")}}
    claim = _claim({"baseline": figures["economy"]}, "economy", beside=beside)
    return Case({"claims": [claim]}, figures=figures)


def _range_case(rng: random.Random) -> Case:
    e, c = rng.uniform(0.15, 1.8), rng.randrange(150, 2000)
    r = rng.choice((10, 10, 15, 20, 25, 30))
    figures = {
        "economy": print_as(rng, e, "nmi/L", "0.001"),
        "fuel_capacity": Printed(Decimal(c), "L", Decimal(1)),
        "fuel_reserve": Printed(Decimal(r), "%", Decimal(1)),
    }
    # The reserve is exact by declaration; printed as a whole per cent it stands for half of one.
    unit = rng.choice(UNITS["range"])
    figures["range"] = print_as(rng, e * c * (1 - r / 100), unit, "1")
    return _range_document(figures)


def _range_document(figures: dict[str, Printed]) -> Case:
    beside = {"baseline": {"economy": figures["economy"].text}}
    boat = {name: figures[name].text for name in ("fuel_capacity", "fuel_reserve")}
    claim = _claim({"baseline": figures["range"]}, "range", beside=beside)
    return Case({"boat": boat, "claims": [claim]}, figures=figures)


def _slip_case(rng: random.Random) -> Case:
    rpm, gear, pitch = (
        rng.randrange(1200, 5600, 50),
        rng.choice((1.5, 1.75, 2.0)),
        rng.randrange(13, 27),
    )
    slip = rng.uniform(0.08, 0.35)
    speed = rpm / gear * pitch * 0.0254 * (1 - slip) * 60 / 1852
    stated = {"baseline": print_as(rng, 100 * slip, "%", rng.choice(("1", "0.1"))).text}
    beside = {"baseline": {"speed": print_as(rng, speed, rng.choice(UNITS["speed"]), "0.1").text}}
    claim = {"id": "G1", "quantity": "slip", "at": f"{rpm} rpm", "stated": stated, "beside": beside}
    boat = {"gear_ratio": f"{gear:g}", "propeller_pitch": f"{pitch} in"}
    return Case({"boat": boat, "claims": [claim]})


def _total_case(rng: random.Random) -> Case:
    parts = [rng.uniform(2, 60) for _ in range(rng.randrange(2, 7))]
    listed = [print_as(rng, part, "nmi", "0.1").text for part in parts]
    total = print_as(rng, sum(parts), "nmi", rng.choice(("0.1", "1")))
    claim = _claim({"baseline": total}, "range", parts={"baseline": listed})
    return Case({"claims": [claim]})


def faulty(rng: random.Random, kind: str) -> Case:
    """A claim with one planted slip of a kind."""
    makers = {
        "wrong-base": _wrong_base,
        "swapped-digits": _swapped,
        "subtraction": _subtraction,
        "range": _wrong_range,
        "unit": _unit_slip,
        "over-rounded": _over_rounded,
        "mirrored": _mirrored,
        "points": _points,
        "swapped-columns": _swapped_columns,
    }
    while True:
        case = makers[kind](rng)
        if case is not None:
            case.kind = kind
            return case


def _finish(figures: dict[str, Printed], quantity: str) -> Case | None:
    if any(p.number <= 0 for k, p in figures.items() if k in ("baseline", "modified")):
        return None
    if "change" in figures and not -95 < figures["change"].number < 900:
        return None
    return Case({"claims": [_claim(figures, quantity)]}, hidden=feasible(figures), figures=figures)


def _names(rng: random.Random, *needed: str) -> tuple[str, ...]:
    more = ("difference",) if "difference" not in needed and rng.random() < 0.6 else ()
    return ("baseline", "modified", *more, *needed)


def _wrong_base(rng: random.Random) -> Case | None:
    quantity = rng.choice(tuple(UNITS))
    b, m = _two_values(rng, quantity)
    unit = rng.choice(UNITS[quantity])
    step = _step_for(rng, b / FACTORS[unit])
    figures = {
        "baseline": print_as(rng, b, unit, step),
        "modified": print_as(rng, m, unit, step),
    }
    if rng.random() < 0.6:
        figures["difference"] = print_as(rng, m - b, unit, step)
    figures["change"] = print_as(rng, 100 * (1 - b / m), "%", rng.choice(("0.1", "1")))
    return _finish(figures, quantity)


def _swapped(rng: random.Random) -> Case | None:
    if rng.random() < 0.25:
        case = rng.choice((_economy_case, _range_case))(rng)
        name = rng.choice([n for n in case.figures if n not in ("fuel_reserve",)])
        if not _swap(rng, case.figures[name]):
            return None
        return _identity_case(case.figures)
    quantity = rng.choice(tuple(UNITS))
    figures = _comparison(rng, quantity, ("baseline", "modified", "difference", "change"))
    name = rng.choice(tuple(figures))
    return _finish(figures, quantity) if _swap(rng, figures[name]) else None


def _subtraction(rng: random.Random) -> Case | None:
    quantity = rng.choice(tuple(UNITS))
    names = ("baseline", "modified", "difference", *(("change",) if rng.random() < 0.8 else ()))
    figures = _comparison(rng, quantity, names)
    b, m, d = (figures[n] for n in ("baseline", "modified", "difference"))
    if b.unit != m.unit:
        return None
    right = m.number - b.number
    if rng.random() < 0.5:  # a carry lost
        power = int(d.step.adjusted()) + rng.choice((1, 1, 2))
        d.number = right + rng.choice((1, -1)) * Decimal(1).scaleb(power)
    else:  # the smaller digit from the larger in each place
        scale = [int(abs(x.number) / d.step) for x in (m, b)]
        width = max(len(str(x)) for x in scale)
        pairs = zip(*(str(x).zfill(width) for x in scale), strict=True)
        number = Decimal("".join(str(abs(int(p) - int(q))) for p, q in pairs)) * d.step
        d.number = number if right >= 0 else -number
    if d.number == right or d.number == 0 or (d.number > 0) != (right > 0):
        return None
    return _finish(figures, quantity)


def _wrong_range(rng: random.Random) -> Case | None:
    case = _range_case(rng)
    figures = case.figures
    e, c, r = (float(figures[n].number) for n in ("economy", "fuel_capacity", "fuel_reserve"))
    left = {"forgotten": 1.0, "added": 1 + r / 100, "half": (1 - r / 100) / 2, "only": r / 100}
    wrong = e * c * left[rng.choice(tuple(left))]
    figures["range"] = print_as(rng, wrong, figures["range"].unit, "1")
    return _identity_case(figures)


def _unit_slip(rng: random.Random) -> Case | None:
    if rng.random() < 0.5:
        case = rng.choice((_economy_case, _range_case))(rng)
        name = rng.choice([n for n in case.figures if case.figures[n].unit in SLIPS])
        printed = case.figures[name]
        printed.unit = rng.choice(SLIPS[printed.unit])
        return _identity_case(case.figures)
    quantity = rng.choice(tuple(UNITS))
    figures = _comparison(rng, quantity, ("baseline", "modified", "difference", "change"))
    name = rng.choice(("baseline", "modified", "difference"))
    figures[name].unit = rng.choice(SLIPS[figures[name].unit])
    return _finish(figures, quantity)


def _over_rounded(rng: random.Random) -> Case | None:
    if rng.random() < 0.3:
        figures = _range_case(rng).figures
        e = figures["economy"]
        early = e.number.quantize(Decimal("0.01"), ROUND_HALF_EVEN)
        c, r = (float(figures[n].number) for n in ("fuel_capacity", "fuel_reserve"))
        wrong = float(early) * c * (1 - r / 100)
        figures["range"] = print_as(rng, wrong, figures["range"].unit, "1")
        return _identity_case(figures)
    quantity = rng.choice(("speed", "fuel_flow", "economy"))
    figures = _comparison(rng, quantity, _names(rng, "change"))
    b, m = figures["baseline"], figures["modified"]
    if b.unit != m.unit:
        return None
    coarse = b.step * 10
    early = [(x.number / coarse).to_integral_value(ROUND_HALF_EVEN) * coarse for x in (b, m)]
    if early[0] <= 0 or early[0] == early[1]:
        return None
    figures["change"] = print_as(rng, float((early[1] / early[0] - 1) * 100), "%", "0.1")
    return _finish(figures, quantity)


def _mirrored(rng: random.Random) -> Case | None:
    """At one speed so much less fuel, and the same percentage more miles from each litre."""
    p = (Decimal(rng.randrange(50, 400)) / 10).quantize(Decimal("0.1"))
    claims = [
        {"id": "G1", "quantity": "fuel_flow", "at": "16 kn", "stated": {"change": f"-{p} %"}},
        {"id": "G2", "quantity": "economy", "at": "16 kn", "stated": {"change": f"+{p} %"}},
    ]
    # Cut off or rounded, a percentage is off by a digit at most.
    ends = [100 / (100 - float(p) + e) * 100 - 100 for e in (-0.1, 0.1)]
    hidden = min(ends) <= float(p) + 0.1 and float(p) - 0.1 <= max(ends)
    return Case({"claims": claims}, hidden=hidden)


def _points(rng: random.Random) -> Case | None:
    """Slip before and after, and the difference in points printed as a percentage."""
    b, less = (Decimal(rng.randrange(*ends)) / 10 for ends in ((80, 350), (10, 60)))
    b, m = (x.quantize(Decimal("0.1")) for x in (b, b - rng.choice((-1, 1)) * less))
    stated = {"baseline": f"{b} %", "modified": f"{m} %", "change": f"{m - b:+} %"}
    off = abs(float((m / b - 1) * 100 - (m - b)))
    if off < 3:
        return None
    return Case({"claims": [{"id": "G1", "quantity": "slip", "at": "2400 rpm", "stated": stated}]})


def _swapped_columns(rng: random.Random) -> Case | None:
    """Baseline and modified in each other's place, beside a change with its sign."""
    figures = _comparison(rng, "speed", ("baseline", "modified", "change"))
    b, m, change = (figures[n] for n in ("baseline", "modified", "change"))
    if b.unit != m.unit or abs(change.number) < 3:
        return None
    b.number, m.number = m.number, b.number
    change.before = "+" if change.number > 0 else ""
    case = _finish(figures, "speed")
    # Near to zero the wrong sign says the same.
    sign = dict(figures, change=Printed(-change.number, "%", change.step))
    if case is not None and feasible(sign):
        return None
    return case


def _identity_case(figures: dict[str, Printed]) -> Case | None:
    """The document of an identity, with what the corners of the box say of its fault."""
    if any(p.number <= 0 for p in figures.values()):
        return None
    if "range" in figures:
        case = _range_document(figures)
        parts = [figures[n].ends() for n in ("economy", "fuel_capacity", "fuel_reserve")]
        given = [e * c * (1 - r / 100) for e, c, r in itertools.product(*parts)]
        result = figures["range"]
    else:
        case = _economy_document(figures)
        parts = [figures[n].ends() for n in ("speed", "fuel_flow")]
        given = [v / q for v, q in itertools.product(*parts)]
        result = figures["economy"]
    step = max(result.step, _rounder([result]))
    low, high = Printed(result.number, result.unit, step).ends()
    case.hidden = min(given) <= high and low <= max(given)
    if "range" in figures:
        cut = [figures[n].ends(cut=True) for n in ("economy", "fuel_capacity", "fuel_reserve")]
        given = [e * c * (1 - r / 100) for e, c, r in itertools.product(*cut)]
    else:
        cut = [figures[n].ends(cut=True) for n in ("speed", "fuel_flow")]
        given = [v / q for v, q in itertools.product(*cut)]
    low, high = result.ends(cut=True)
    case.hidden = case.hidden or (min(given) <= high and low <= max(given))
    return case
