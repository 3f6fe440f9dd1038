"""Published figures held against what boats do: findings with their source, never a verdict."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from slackwater.analysis.audit.arithmetic import stated_change
from slackwater.analysis.audit.book import Book, Known, collect, place_of
from slackwater.analysis.audit.outcome import FINDING, Reason
from slackwater.analysis.audit.rounding import bounded
from slackwater.analysis.audit.sources import PRACTICE
from slackwater.protocol.claims.claim import Claim, Claims
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import convert

GRAVITY = 9.80665  # [m/s^2]
_PLANING = "Radojcic, Zgradic, Kalajdzic, Simic, Polish Maritime Research 2(82) 2014, pp. 9-26"
_ADMIRALTY = "Admiralty coefficient; bounds wide around Reed's Naval Architecture: common practice"
_FUEL = "EN 590 density of diesel; density of petrol and specific consumption of engines: common practice"

#: Density [kg/L], and lowest and highest usual specific consumption under load [g/kWh].
_FUELS = {"diesel": (0.835, 185.0, 330.0), "petrol": (0.745, 230.0, 560.0)}
SLIP = (-0.02, 0.70)  # apparent slip of boats under way
ECONOMY = (0.01, 30.0)  # [nmi/L]
ADMIRALTY = (40.0, 900.0)  # [t^(2/3) kn^3 / kW]
LENGTH_FROUDE = 4.0
PLANING_FROUDE = (0.4, 1.2)
USUAL_GAIN = 15.0  # [%] of speed at one engine speed, from a change that adds no power


def check_plausibility(claims: Claims) -> list[list[Reason]]:
    """Findings for each claim, in order."""
    book = collect(claims)
    flows = {_compared(c): c for c in claims.claims if c.quantity == "fuel_flow"}
    return [
        [*_one(claims, index, book), *_speed_change(claims, claim, flows.get(_compared(claim)))]
        for index, claim in enumerate(claims.claims)
    ]


def _compared(claim: Claim) -> tuple[str, str, str]:
    return claim.baseline, claim.modified, str(claim.at)


def _one(claims: Claims, index: int, book: Book) -> Iterator[Reason]:
    claim = claims.claims[index]
    for side in ("baseline", "modified"):
        entry = book.get((getattr(claim, side), place_of(claim, side) or f"#{index}"), {})
        figure = claim.stated.figures.get(side)
        if figure is not None:
            yield from _value(claims, claim, side, figure)
        if claim.stated.figures:
            yield from _engine(claims, entry, side)
            yield from _slip(claim, entry, side)


def _number(figure: Figure, unit: str) -> float:
    return convert(float(figure.middle), figure.unit, unit)


def _of(entry: Mapping[str, list[Known]], name: str, unit: str) -> float | None:
    found = entry.get(name)
    return _number(found[0].figure, unit) if found else None


def _value(claims: Claims, claim: Claim, side: str, figure: Figure) -> Iterator[Reason]:
    if claim.quantity == "economy":
        value = _number(figure, "nmi/L")
        if not ECONOMY[0] <= value <= ECONOMY[1]:
            yield Reason(
                "economy",
                FINDING,
                f"An economy of '{figure}' ({value:.3g} nmi/L) is outside of what boats do.",
                source=PRACTICE,
            )
    waterline = claims.boat.waterline_length
    if waterline is None or claim.quantity not in ("speed", "top_speed", "planing_threshold"):
        return
    length = _number(waterline, "m")
    froude = _number(figure, "m/s") / math.sqrt(GRAVITY * length)
    if claim.quantity == "planing_threshold" and not (
        PLANING_FROUDE[0] <= froude <= PLANING_FROUDE[1]
    ):
        message = (
            f"The {side} planing threshold '{figure}' is a length Froude number of {froude:.2f}; "
            "boats begin to gain from planing at 0.4 and plane fully at about 1."
        )
        yield Reason("speed-for-length", FINDING, message, source=_PLANING)
    elif froude > LENGTH_FROUDE:
        message = (
            f"'{figure}' on a waterline of '{waterline}' is a length Froude number of "
            f"{froude:.1f}; few boats get beyond {LENGTH_FROUDE:g}."
        )
        yield Reason("speed-for-length", FINDING, message, source=PRACTICE)


def _engine(claims: Claims, entry: Mapping[str, list[Known]], side: str) -> Iterator[Reason]:
    flow, power = _of(entry, "fuel_flow", "L/h"), _of(entry, "shaft_power", "kW")
    boat = claims.boat
    if flow is not None and boat.fuel is not None:
        density, least, most = _FUELS[boat.fuel]
        mass = flow * density * 1000
        if power is not None and not least <= mass / power <= most:
            message = (
                f"{side}: {flow:g} L/h for {power:g} kW is {mass / power:.0f} g/kWh; {boat.fuel} "
                f"engines use {least:g} to {most:g} g/kWh under load."
            )
            yield Reason("specific-consumption", FINDING, message, source=_FUEL)
        rated = None if boat.engine_power is None else _number(boat.engine_power, "kW")
        if rated is not None and mass / rated > most:
            message = (
                f"{side}: {flow:g} L/h is more than an engine of {rated:g} kW burns: "
                f"{mass / rated:.0f} g for each kWh even at rated power."
            )
            yield Reason("specific-consumption", FINDING, message, source=_FUEL)
    speed = _of(entry, "speed", "kn")
    if speed is not None and power is not None and boat.displacement is not None:
        mass = _number(boat.displacement, "t")
        coefficient = mass ** (2 / 3) * speed**3 / power
        if not ADMIRALTY[0] <= coefficient <= ADMIRALTY[1]:
            message = (
                f"{side}: {speed:g} kn with {power:g} kW at {mass:g} t is an Admiralty coefficient "
                f"of {coefficient:.0f}; {ADMIRALTY[0]:g} to {ADMIRALTY[1]:g} covers most vessels."
            )
            yield Reason("power-needed", FINDING, message, source=_ADMIRALTY)


def _slip(claim: Claim, entry: Mapping[str, list[Known]], side: str) -> Iterator[Reason]:
    if claim.quantity not in ("speed", "slip", "advance"):
        return
    slip = _of(entry, "slip", "1")
    if slip is None:
        speed, rpm = _of(entry, "speed", "m/s"), _of(entry, "engine_speed", "rpm")
        gear, pitch = _of(entry, "gear_ratio", "1"), _of(entry, "propeller_pitch", "m")
        if speed is None or not rpm or not gear or not pitch:
            return
        slip = 1 - speed / (rpm / 60 / gear * pitch)
    if not SLIP[0] <= slip <= SLIP[1]:
        message = (
            f"{side}: an apparent slip of {100 * slip:.0f} % is outside of what propellers do "
            f"({100 * SLIP[0]:.0f} to {100 * SLIP[1]:.0f} %); pitch, gear ratio, engine speed or "
            "the unit of the speed may be wrong, or the current was not taken out."
        )
        yield Reason("slip", FINDING, message, source=PRACTICE)


def _speed_change(claims: Claims, claim: Claim, flow_claim: Claim | None) -> Iterator[Reason]:
    change = stated_change(claim, claims.rounding) if claim.quantity == "speed" else None
    if change is None or not bounded(change) or change.middle <= 0:
        return
    gain = float(change.middle)
    if gain > USUAL_GAIN:
        message = (
            f"{gain:.0f} % more speed at the same engine speed is more than changes to a boat "
            f"usually give ({USUAL_GAIN:g} %); by the cube law it takes "
            f"{100 * ((1 + gain / 100) ** 3 - 1):.0f} % more power, or so much less resistance."
        )
        yield Reason("power-needed", FINDING, message, source=f"cube law: {PRACTICE}")
    flow = None if flow_claim is None else stated_change(flow_claim, claims.rounding)
    if flow_claim is None or flow is None or not bounded(flow) or flow.middle >= 0:
        return
    needed = (1 + gain / 100) ** 3 / (1 + float(flow.middle) / 100) - 1
    if needed > 0.25:
        message = (
            f"{gain:.1f} % more speed with {-float(flow.middle):.1f} % less fuel ({flow_claim.id}) "
            f"needs {100 * needed:.0f} % more propulsive work from each litre, by the cube law."
        )
        yield Reason("power-needed", FINDING, message, source=f"cube law: {PRACTICE}")
