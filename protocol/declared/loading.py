"""How strongly what disturbs a whole session shows along the sweep, as a protocol declares it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from slackwater.protocol.files.scalars import Scalar, refuse
from slackwater.protocol.units.quantity import QuantityError, parse_number

WORDS = ("even", "constant", "slope")
WANTED = f"{', '.join(WORDS)} or a number for each set point"


@dataclass(frozen=True, slots=True)
class LoadingIn(Scalar):
    """A word, or a number for each set point."""

    def wanted(self) -> str:
        return WANTED

    def _check(self, value: object) -> Any:
        if isinstance(value, (list, tuple)):
            return tuple(self._strength(each) for each in value)
        if value in WORDS:
            return value
        raise refuse(
            "unfit-value",
            f"'{value}' does not do here; {WANTED} is needed",
            "write 'constant' for noise that is as large in the unit everywhere, or a list of "
            "strengths such as [1, 1, 4, 1]",
        )

    def _strength(self, value: object) -> float:
        try:
            number = parse_number(str(value))
        except QuantityError as error:
            raise refuse("unfit-value", error.message, error.fix) from None
        if not 0 < number < 1000:
            raise refuse("unfit-value", f"'{value}' is no strength", "write a number above zero")
        return number

    def json(self) -> dict[str, Any]:
        strength = {"type": ["number", "string"]}
        return {"anyOf": [{"enum": list(WORDS)}, {"type": "array", "items": strength}]}


Loading = Annotated[str | tuple[float, ...], LoadingIn()]
