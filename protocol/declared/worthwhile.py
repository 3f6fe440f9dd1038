"""The smallest difference that would matter: on both sides, or on the side of a loss alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from slackwater.protocol.files.scalars import QuantityIn, refuse
from slackwater.protocol.units.quantity import Quantity

KEY = "no_loss"


@dataclass(frozen=True, slots=True)
class NoLoss(Quantity):
    """The smallest loss that would matter, where a gain need not be shown."""


@dataclass(frozen=True, slots=True)
class WorthwhileIn(QuantityIn):
    """A quantity, or `{no_loss: …}` for a difference that matters on one side alone."""

    def _check(self, value: object) -> Any:
        if isinstance(value, NoLoss):
            return value
        if not isinstance(value, dict):
            return super(WorthwhileIn, self)._check(value)
        if set(value) != {KEY}:
            found = ", ".join(map(str, value)) or "nothing"
            raise refuse(
                "unfit-value",
                f"{found} stands here; a size for both sides or '{KEY}' alone is needed",
                f"write '1 %', or '{{{KEY}: 1 %}}' for the smallest loss that would matter",
            )
        size = super(WorthwhileIn, self)._check(value[KEY])
        return NoLoss(size.value, size.unit, size.uncertainty)

    def json(self) -> dict[str, Any]:
        size = super(WorthwhileIn, self).json()
        one_side = {
            "type": "object",
            "properties": {KEY: {"description": "The smallest loss that would matter.", **size}},
            "required": [KEY],
            "additionalProperties": False,
        }
        return {"anyOf": [size, one_side]}


Worthwhile = Annotated[Quantity, WorthwhileIn(sign="positive", of="worthwhile")]
