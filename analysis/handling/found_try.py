"""A try that was found in logs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.turning import TurningCircle

NO_DRIFT = "the drift is not known: no turn of 360 deg or more within half an hour tells it"


@dataclass(frozen=True, slots=True)
class FoundTry:
    """A try that was found.

    Parameters
    ----------
    manoeuvre : str
    start, end : float
        From its order to its end. [s]
    values : mapping
        By the names that the protocol gives them, in the units of `Wanted`.
    course : float or None
        That it began on. [deg, 0 to 360]
    side : str
        To which she turned; empty where she did not.
    aside : str
        Why it cannot be used; else empty.
    notes : tuple of str
    circle : TurningCircle or None
    direction : str
        One of the manoeuvre's ways; empty where it cannot be told.
    number : int
        From 1 within manoeuvre and direction.
    """

    manoeuvre: str
    start: float
    end: float
    values: dict[str, Figure]
    course: float | None
    side: str = ""
    aside: str = ""
    notes: tuple[str, ...] = ()
    circle: TurningCircle | None = None
    direction: str = ""
    number: int = 0


def whole(one: FoundTry, own: Mapping[str, Figure]) -> FoundTry:
    """The try with the protocol's own values, set aside where it gave none at all; with why values lack."""
    values = {**one.values, **own}
    lacking = [f"no {name}: {f.why_not}" for name, f in values.items() if f.value is None]
    if len(lacking) == len(values):
        why = next(iter(values.values())).why_not
        return replace(one, values=values, aside=one.aside or why)
    return replace(one, values=values, notes=(*one.notes, *lacking))
