"""Invented helmsmen and stopwatches: what the examples' tables of tries are made with. Nobody tried anything."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True)
class Tried:
    """An invented value of a manoeuvre: its middle, what the change does to it, how it scatters."""

    level: float  # with nothing changed, mean of both directions [its unit]
    effect: Mapping[str, float]  # of what is fitted, as a logarithm
    apart: float = 0.08  # between the two directions, as a logarithm
    of_session: float = 0.02  # standard deviation that a session shares, as a logarithm
    of_try: float = 0.05  # of one try about that, as a logarithm


def tries(
    path: Path,
    sessions: Sequence[tuple[str, str]],
    manoeuvres: Mapping[str, tuple[tuple[str, str], Mapping[str, Tried]]],
    each: int,
    seed: int,
    *,
    learned: float = 0.0,
    spoiled: Mapping[tuple[str, str, str, int], str] | None = None,
) -> None:
    """Write a table of tries, the directions in turn.

    Parameters
    ----------
    sessions : sequence of (session, what was fitted)
    manoeuvres : mapping
        By name: its two directions, and its values by heading, with their unit.
    each : int
        Tries in each direction of a session.
    learned : float
        What the helmsman gains from a session to the next, as a logarithm.
    spoiled : mapping, optional
        Tries that were set aside, with the reason.
    """
    rng = np.random.default_rng(seed)
    headings = [name for _, values in manoeuvres.values() for name in values]
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(
            ["session", "manoeuvre", "direction", "try", *headings, "helmsman", "set_aside", "note"]
        )
        for place, (session, fitted) in enumerate(sessions):
            for name, (ways, values) in manoeuvres.items():
                shared = {h: rng.normal(0, one.of_session) for h, one in values.items()}
                for number in range(1, each + 1):
                    for way in ways if number % 2 else ways[::-1]:
                        hand = rng.normal()
                        cells = dict.fromkeys(headings, "")
                        for heading, one in values.items():
                            side = one.apart / 2 * (1 if way == ways[0] else -1)
                            stray = one.of_try * (0.8 * hand + 0.6 * rng.normal())
                            log = one.effect.get(fitted, 0.0) + side + shared[heading] + stray
                            cells[heading] = f"{one.level * math.exp(log - learned * place):.3g}"
                        reason = (spoiled or {}).get((session, name, way, number), "")
                        if reason:
                            cells = dict.fromkeys(headings, "")
                        row = [session, name, way, number, *cells.values(), "H1", reason, ""]
                        out.writerow(row)
