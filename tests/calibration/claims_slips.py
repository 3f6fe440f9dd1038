"""Invented claims by the thousand with a single planted slip."""

from __future__ import annotations

import itertools
import random
from decimal import ROUND_HALF_EVEN, Decimal

from claims_generator import (
    UNITS,
    claim_of,
    comparison,
    economy_case,
    economy_document,
    range_case,
    range_document,
    two_values,
)
from claims_printed import (
    FACTORS,
    Case,
    Printed,
    feasible,
    print_as,
    rounder,
    step_for,
    swap_digits,
)

KINDS = (
    "wrong-base", "swapped-digits", "subtraction", "range", "unit", "over-rounded",
    "mirrored", "points", "swapped-columns",
)  # fmt: skip
SLIPS = {
    "kn": ("mph", "km/h"), "mph": ("kn",), "km/h": ("kn",), "L/h": ("gal/h",), "gal/h": ("L/h",),
    "nmi/L": ("nmi/gal",), "mi/gal": ("nmi/gal",), "nmi/gal": ("mi/gal",),
    "nmi": ("mi", "km"), "mi": ("nmi", "km"), "km": ("nmi", "mi"),
}  # fmt: skip


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
    return Case(
        {"claims": [claim_of(figures, quantity)]}, hidden=feasible(figures), figures=figures
    )


def _names(rng: random.Random, *needed: str) -> tuple[str, ...]:
    more = ("difference",) if "difference" not in needed and rng.random() < 0.6 else ()
    return ("baseline", "modified", *more, *needed)


def _wrong_base(rng: random.Random) -> Case | None:
    quantity = rng.choice(tuple(UNITS))
    b, m = two_values(rng, quantity)
    unit = rng.choice(UNITS[quantity])
    step = step_for(rng, b / FACTORS[unit])
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
        case = rng.choice((economy_case, range_case))(rng)
        name = rng.choice([n for n in case.figures if n not in ("fuel_reserve",)])
        if not swap_digits(rng, case.figures[name]):
            return None
        return _identity_case(case.figures)
    quantity = rng.choice(tuple(UNITS))
    figures = comparison(rng, quantity, ("baseline", "modified", "difference", "change"))
    name = rng.choice(tuple(figures))
    return _finish(figures, quantity) if swap_digits(rng, figures[name]) else None


def _subtraction(rng: random.Random) -> Case | None:
    quantity = rng.choice(tuple(UNITS))
    names = ("baseline", "modified", "difference", *(("change",) if rng.random() < 0.8 else ()))
    figures = comparison(rng, quantity, names)
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
    case = range_case(rng)
    figures = case.figures
    e, c, r = (float(figures[n].number) for n in ("economy", "fuel_capacity", "fuel_reserve"))
    left = {"forgotten": 1.0, "added": 1 + r / 100, "half": (1 - r / 100) / 2, "only": r / 100}
    wrong = e * c * left[rng.choice(tuple(left))]
    figures["range"] = print_as(rng, wrong, figures["range"].unit, "1")
    return _identity_case(figures)


def _unit_slip(rng: random.Random) -> Case | None:
    if rng.random() < 0.5:
        case = rng.choice((economy_case, range_case))(rng)
        name = rng.choice([n for n in case.figures if case.figures[n].unit in SLIPS])
        printed = case.figures[name]
        printed.unit = rng.choice(SLIPS[printed.unit])
        return _identity_case(case.figures)
    quantity = rng.choice(tuple(UNITS))
    figures = comparison(rng, quantity, ("baseline", "modified", "difference", "change"))
    name = rng.choice(("baseline", "modified", "difference"))
    figures[name].unit = rng.choice(SLIPS[figures[name].unit])
    return _finish(figures, quantity)


def _over_rounded(rng: random.Random) -> Case | None:
    if rng.random() < 0.3:
        figures = range_case(rng).figures
        e = figures["economy"]
        early = e.number.quantize(Decimal("0.01"), ROUND_HALF_EVEN)
        c, r = (float(figures[n].number) for n in ("fuel_capacity", "fuel_reserve"))
        wrong = float(early) * c * (1 - r / 100)
        figures["range"] = print_as(rng, wrong, figures["range"].unit, "1")
        return _identity_case(figures)
    quantity = rng.choice(("speed", "fuel_flow", "economy"))
    figures = comparison(rng, quantity, _names(rng, "change"))
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
    figures = comparison(rng, "speed", ("baseline", "modified", "change"))
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
        case = range_document(figures)
        parts = [figures[n].ends() for n in ("economy", "fuel_capacity", "fuel_reserve")]
        given = [e * c * (1 - r / 100) for e, c, r in itertools.product(*parts)]
        result = figures["range"]
    else:
        case = economy_document(figures)
        parts = [figures[n].ends() for n in ("speed", "fuel_flow")]
        given = [v / q for v, q in itertools.product(*parts)]
        result = figures["economy"]
    step = max(result.step, rounder([result]))
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
