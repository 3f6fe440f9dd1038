"""Invented claims by the thousand whose figures all come from the same true values."""

from __future__ import annotations

import random
from decimal import ROUND_DOWN, Decimal
from typing import Any

import numpy as np
from claims_printed import FACTORS, Case, Printed, print_as, step_for

UNITS = {
    "speed": ("kn", "kn", "kn", "mph", "km/h"),
    "fuel_flow": ("L/h", "L/h", "gal/h"),
    "economy": ("nmi/L", "nmi/L", "nmi/gal", "mi/gal"),
    "range": ("nmi", "nmi", "mi", "km"),
}


def claim_of(figures: dict[str, Printed], quantity: str, **more: Any) -> dict[str, Any]:
    stated = {name: printed.text for name, printed in figures.items()}
    return {"id": "G1", "quantity": quantity, "at": "2400 rpm", "stated": stated, **more}


def two_values(rng: random.Random, quantity: str) -> tuple[float, float]:
    low, high = {
        "speed": (5, 45), "fuel_flow": (4, 300), "economy": (0.1, 2.0), "range": (60, 900),
    }[quantity]  # fmt: skip
    baseline = float(np.exp(rng.uniform(np.log(low), np.log(high))))
    return baseline, baseline * (1 + rng.choice((1, 1, -1)) * rng.uniform(0.01, 0.35))


def comparison(
    rng: random.Random, quantity: str, names: tuple[str, ...], digits: tuple[int, ...] = (3, 3, 4)
) -> dict[str, Printed]:
    """Baseline, modified, difference and percentage of one comparison, each rounded by itself."""
    b, m = two_values(rng, quantity)
    unit = rng.choice(UNITS[quantity])
    other = rng.choice(UNITS[quantity]) if rng.random() < 0.15 else unit
    step = step_for(rng, b / FACTORS[unit], digits)
    figures: dict[str, Printed] = {}
    if "baseline" in names:
        figures["baseline"] = print_as(rng, b, unit, step)
    if "modified" in names:
        figures["modified"] = print_as(
            rng, m, other, step if other == unit else step_for(rng, m / FACTORS[other], digits)
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
        return rng.choice((economy_case, range_case, _slip_case, _total_case))(rng)
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
        return Case({"claims": [claim_of(_in_fives(rng, quantity, names), quantity)]})
    if draw < 0.45:
        return _cut_off(rng, quantity, names)
    figures = comparison(rng, quantity, names)
    for printed in figures.values():
        if printed.number == 0 and printed is figures.get("baseline"):
            return consistent(rng)
    _in_words(rng, figures)
    return Case({"claims": [claim_of(figures, quantity)]})


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
    b, m = two_values(rng, quantity)
    unit = UNITS[quantity][0]
    step = step_for(rng, b)
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
    return Case({**said, "claims": [claim_of(figures, quantity)]})


def _stated(figures: dict[str, Printed], change: str) -> dict[str, str]:
    return {**{name: printed.text for name, printed in figures.items()}, "change": change}


def _values(rng: random.Random, b: float, m: float, unit: str = "kn") -> dict[str, Printed]:
    return {"baseline": print_as(rng, b, unit, "0.1"), "modified": print_as(rng, m, unit, "0.1")}


def _spread(rng: random.Random) -> Case:
    """Values and percentage with their ±, each measured that far off the truth at most."""
    b, m = two_values(rng, "speed")
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
    b, m = two_values(rng, "speed")
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
    b, m = two_values(rng, "speed")
    step = rng.choice(("0.5", "0.2", "1"))
    figures = {name: print_as(rng, v, "kn", step) for name, v in (("baseline", b), ("modified", m))}
    for printed in figures.values():
        printed.number = printed.number.quantize(Decimal("0.1"))
    if min(p.number for p in figures.values()) <= 0:
        return _read(rng)
    figures["change"] = print_as(rng, 100 * (m / b - 1), "%", "0.1")
    return Case({"read_to": {"speed": f"{step} kn"}, "claims": [claim_of(figures, "speed")]})


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
            step = step_for(rng, b)
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
        claims.append({**claim_of(figures, quantity), "id": f"G{len(claims) + 1}"})
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


def economy_case(rng: random.Random) -> Case:
    v, q = rng.uniform(6, 40), rng.uniform(5, 200)
    figures = {
        "speed": print_as(rng, v, rng.choice(UNITS["speed"]), "0.1"),
        "fuel_flow": print_as(rng, q, rng.choice(UNITS["fuel_flow"]), "0.1"),
    }
    unit = rng.choice(UNITS["economy"])
    figures["economy"] = print_as(rng, v / q, unit, step_for(rng, v / q / FACTORS[unit], (3, 4)))
    return economy_document(figures)


def economy_document(figures: dict[str, Printed]) -> Case:
    beside = {"baseline": {name: figures[name].text for name in ("speed", "fuel_flow")}}
    claim = claim_of({"baseline": figures["economy"]}, "economy", beside=beside)
    return Case({"claims": [claim]}, figures=figures)


def range_case(rng: random.Random) -> Case:
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
    return range_document(figures)


def range_document(figures: dict[str, Printed]) -> Case:
    beside = {"baseline": {"economy": figures["economy"].text}}
    boat = {name: figures[name].text for name in ("fuel_capacity", "fuel_reserve")}
    claim = claim_of({"baseline": figures["range"]}, "range", beside=beside)
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
    claim = claim_of({"baseline": total}, "range", parts={"baseline": listed})
    return Case({"claims": [claim]})
