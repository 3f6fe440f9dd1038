"""Fuel burned along a schedule, and where to fill up so that the displacement stays within bounds."""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.units.quantity import Quantity

USUAL_DENSITY = 0.84  # [kg/L]; middle of EN 590 for diesel, 0.820 to 0.845 at 15 degC


class FuelError(ValueError):
    """A limit on fuel or displacement that cannot be turned into litres; carries its mend."""

    def __init__(self, message: str, fix: str) -> None:
        self.message, self.fix = message, fix
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Fuel:
    """What the boat burns, and how much of it may be gone before she is filled up again.

    Parameters
    ----------
    flows : tuple of float
        At each set point, in the order that the protocol lists them. [L/h]
    allowance : float or None
        Fuel that may be burned from one filling to the next. [L] None where nothing limits it.
    because : str
        What the allowance follows from, in words.
    """

    flows: tuple[float, ...]
    allowance: float | None = None
    because: str = ""


def allowance(
    loading: dict[str, Limit],
    displacement: Quantity | None,
    capacity: Quantity | None,
    density: Quantity | None,
) -> tuple[float | None, str]:
    """How much fuel may be burned between fillings, and why. [L]

    Parameters
    ----------
    loading : dict of Limit
        Of the protocol: `displacement: {within: …}` and `fuel: {between: …}` count here.
    displacement, capacity, density : Quantity or None
        Of the boat.

    Returns
    -------
    litres : float or None
        The smaller of what the two limits allow; None where neither applies.
    because : str

    Notes
    -----
    The tolerance on displacement is between configurations. It is kept here by every session for
    itself, which is stricter: then it holds whatever the order of the sessions.

    Raises
    ------
    FuelError
        When a percentage of displacement is declared and no displacement is known.
    """
    found: list[tuple[float, str]] = []
    mass = loading.get("displacement", Limit()).within
    if mass is not None:
        if mass.unit == "%":
            if displacement is None:
                raise FuelError(
                    f"displacement may differ by {mass}, and the boat's displacement is not known",
                    "give --displacement, or write it under boat: in the trial",
                )
            kilograms = displacement.to("kg").value * mass.value / 100
        else:
            kilograms = mass.to("kg").value
        heavy = USUAL_DENSITY if density is None else density.to("kg/L").value
        assumed = f", at {heavy:g} kg/L" + (" (assumed)" if density is None else "")
        found.append((kilograms / heavy, f"displacement within {mass}{assumed}"))
    span = loading.get("fuel", Limit()).between
    if span is not None:
        litres = _litres(span, capacity)
        if litres is not None:
            found.append((litres, f"fuel between {span[0]} and {span[1]}"))
    return min(found) if found else (None, "")


def _litres(span: tuple[Quantity, Quantity], capacity: Quantity | None) -> float | None:
    low, high = span
    if low.unit != "%":
        return high.to("L").value - low.to("L").value
    if capacity is None:
        return None
    return capacity.to("L").value * (high.to("%").value - low.value) / 100
