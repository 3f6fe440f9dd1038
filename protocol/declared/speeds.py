"""Speeds named in a file: those compared at, and those between which the best is looked for."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field

from slackwater.protocol.files.scalars import QuantityIn, refuse
from slackwater.protocol.units.quantity import Quantity

Speed = Annotated[Quantity, QuantityIn(("kn",), "positive", "25 kn")]


def _two_rising(found: tuple[Quantity, ...]) -> tuple[Quantity, ...]:
    if len(found) == 2 and found[0].to("kn").value < found[1].to("kn").value:
        return found
    given = ", ".join(str(speed) for speed in found)
    raise refuse(
        "unfit-value",
        f"[{given}] stands here; the slowest and the fastest speed are needed",
        "write two speeds, the slower first: [15 kn, 28 kn]",
    )


Speeds = Annotated[
    tuple[Speed, ...],
    Field(
        max_length=40,
        description="Speeds at which the configurations are compared at equal speed. Where "
        "neither protocol nor trial names any, round speeds that every session reaches.",
        examples=[["15 kn", "20 kn", "25 kn"]],
    ),
]
Cruise = Annotated[
    tuple[Speed, ...],
    AfterValidator(_two_rising),
    Field(
        description="Slowest and fastest speed between which the best economy is looked for, as "
        "when a boat that is most economical at a crawl is meant to plane.",
        examples=[["15 kn", "28 kn"]],
    ),
]
