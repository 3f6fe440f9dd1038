"""Sentences of transducers (XDR): groups of type, value, unit and name, as many as the sender likes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
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

KIND = "XDR"
_XDR = int.from_bytes(KIND.encode())


@dataclass(slots=True)
class Transducers:
    """Readings of known kinds from one talker.

    Parameters
    ----------
    readings : dict of (quantity, source) to list of (line, value)
        Lines are counted from nought within the block.
    lines : set of int
        Of the sentences that have a transducer of a known kind.
    empty, broken : int
        Readings left empty; readings that are no number.
    """

    readings: dict[tuple[str, str], list[tuple[int, float]]] = field(default_factory=dict)
    lines: set[int] = field(default_factory=set)
    empty: int = 0
    broken: int = 0

    def add(self, line: int, known: tuple[str, float], source: str, text: str) -> None:
        """Take one reading."""
        self.lines.add(line)
        quantity, scale = known
        try:
            value = float(text)
        except ValueError:
            self.empty += not text.strip()
            self.broken += bool(text.strip())
        else:
            self.readings.setdefault((quantity, source), []).append((line, value * scale))


def read_transducers(found: Sentences) -> dict[tuple[str, bool], Transducers]:
    """Readings by talker, and by whether their sentences have a checksum."""
    rows = np.flatnonzero(found.address & 0xFFFFFF == _XDR)
    read: defaultdict[tuple[str, bool], Transducers] = defaultdict(Transducers)
    if not rows.size:
        return read
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
            if known is not None:
                source = f"{address[:2]} {KIND} {name}"
                shown = "".join(c if c.isprintable() else "?" for c in source)
                read[address[:2], checked].add(line, known, shown, value)
    return read


@lru_cache(maxsize=256)
def _known(kind: str, unit: str, name: str) -> tuple[str, float] | None:
    for wanted, of_unit, names, quantity, scale in _KNOWN:
        if (kind, unit) == (wanted, of_unit) and name.upper().startswith(names):
            return quantity, scale
    return None
