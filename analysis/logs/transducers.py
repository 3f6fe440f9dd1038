"""Sentences of transducers (XDR): groups of type, value, unit and name, as many as the sender likes."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from slackwater.analysis.logs.blocks import Sentences

#: Quantity by type, unit and the beginning of the name, and what a value is multiplied by.
_KNOWN: tuple[tuple[str, str, tuple[str, ...], str, float], ...] = (
    ("A", "D", ("HEEL", "ROLL"), "heel", 1.0),
    ("A", "D", ("TRIM", "PTCH", "PITCH"), "trim", 1.0),
    ("A", "D", ("RUDDER",), "rudder_angle", 1.0),
    ("R", "l", ("FUEL",), "fuel_flow", 3600.0),  # litres a second
    ("T", "R", ("ENGINE",), "engine_speed", 1.0),
    ("V", "P", ("FUEL",), "tank_level", 1.0),
)

_XDR = int.from_bytes(b"XDR")

Readings = dict[tuple[str, str, bool], list[tuple[int, float]]]


def read_transducers(found: Sentences) -> Readings:
    """Readings of a known kind: line within the block and value, by quantity, source, checked."""
    rows = np.flatnonzero(found.address & 0xFFFFFF == _XDR)
    readings: Readings = {}
    if not rows.size:
        return readings
    raw = found.data.tobytes()
    ends = zip(
        found.start[rows].tolist(),
        found.stop[rows].tolist(),
        found.line[rows].tolist(),
        found.checked[rows].tolist(),
        strict=True,
    )
    for start, stop, line, checked in ends:
        address, *fields = raw[start:stop].decode("latin-1").split(",")
        for kind, value, unit, name in zip(
            fields[0::4], fields[1::4], fields[2::4], fields[3::4], strict=False
        ):
            known = _known(kind, unit, name)
            number = _number(value) if known else None
            if known and number is not None:
                shown = "".join(c if c.isprintable() else "?" for c in f"{address[:2]} XDR {name}")
                key = known[0], shown, checked
                readings.setdefault(key, []).append((line, number * known[1]))
    return readings


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


@lru_cache(maxsize=256)
def _known(kind: str, unit: str, name: str) -> tuple[str, float] | None:
    for wanted, of_unit, names, quantity, scale in _KNOWN:
        if (kind, unit) == (wanted, of_unit) and name.upper().startswith(names):
            return quantity, scale
    return None
