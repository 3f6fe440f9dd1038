"""What corrections have to agree on with the protocol: measured quantities, and fitting units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from slackwater.protocol.catalogue.measures import nearest
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import QuantityError, fitting, parse_any, same_dimension

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol

# What a correction may be of, with the units of its value and of an increase of it.
CORRECTED: dict[str, tuple[str, str]] = {
    "displacement": ("kg", "kg"),
    "fuel_burned": ("kg", "kg"),
    "water_density": ("kg/m^3", "kg/m^3"),
    "water_temperature": ("degC", "delta_degC"),
    "air_temperature": ("degC", "delta_degC"),
    "air_pressure": ("hPa", "hPa"),
    "air_density": ("kg/m^3", "kg/m^3"),
    "wind_speed": ("kn", "kn"),
}


def correction_findings(document: Document, protocol: Protocol) -> Iterator[Finding]:
    """Corrections of quantities that nobody measured, or in units that do not fit."""
    entries = document.data.get("corrections")
    for index, entry in enumerate(entries if isinstance(entries, (list, tuple)) else ()):
        if not isinstance(entry, dict):
            continue
        loc: Loc = ("corrections", index)
        units = CORRECTED.get(str(entry.get("of")))
        for key, unit in zip(("to", "per"), units or (), strict=False):
            yield from _fits(document, (*loc, key), entry.get(key), unit)
        changes = entry.get("changes")
        for name in changes if isinstance(changes, dict) else {}:
            yield from _measured(document, (*loc, "changes", str(name)), protocol)


def _fits(document: Document, loc: Loc, text: Any, unit: str) -> Iterator[Finding]:
    if not isinstance(text, str):
        return
    try:
        found = parse_any(text).unit
    except QuantityError:
        return  # the model tells of it
    if not same_dimension(found, unit):
        noun, fit = fitting(unit)
        message = f"'{text}' does not fit; {noun} is needed"
        yield at(document, loc, message, f"use one of {', '.join(fit)}")


def _measured(document: Document, loc: Loc, protocol: Protocol) -> Iterator[Finding]:
    known = ["speed", *(name for name in protocol.measures if name != "speed_over_ground")]
    if loc[-1] in known:
        return
    near = nearest(str(loc[-1]), known)
    yield at(
        document,
        loc,
        f"'{loc[-1]}' is not a quantity that can be corrected",
        f"did you mean '{near}'?" if near else f"correct what is measured: {', '.join(known)}",
        rule="unknown-key",
        key=True,
    )
