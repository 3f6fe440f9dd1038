"""Noise that is supposed where nobody has measured any: three sizes, marked as assumed wherever they show.

Common practice; no open source gives them for small craft. Middling is what the invented examples and the
simulations have for speed. What carries a fuel flow or a power scatters about twice as much, as the
engine's load and the meter add to what the water does.
"""

from __future__ import annotations

from collections.abc import Collection

from slackwater.analysis.planning.power import Noise
from slackwater.protocol.catalogue.recipes import SPEEDS, given, powers

#: Standard deviation between sessions, and between double runs, of a speed. [fraction]
OF_SPEED = ((0.003, 0.002), (0.006, 0.004), (0.012, 0.008))
FURTHER = 2.0  # times that, for what is not made of speeds alone


#: The same between sessions, and between pairs of tries, of what is read of manoeuvres: a hand at the throttle
#: and an eye on the watch scatter by several per cent. [fraction]
OF_MANOEUVRE = ((0.015, 0.03), (0.03, 0.05), (0.06, 0.09))


def usual_noise(
    quantity: str, measures: Collection[str], *, tried: bool = False
) -> tuple[Noise, ...]:
    """Small, middling and large noise of a quantity that is compared as a ratio.

    `tried` says that it is read of a manoeuvre.
    """
    if tried:
        return tuple(Noise(between, 0.0, within) for between, within in OF_MANOEUVRE)
    behind = set(powers(quantity, given(measures)))
    calm = {*SPEEDS, "engine_speed", "propeller_speed"}
    factor = 1.0 if behind <= calm else FURTHER
    return tuple(Noise(factor * between, 0.0, factor * within) for between, within in OF_SPEED)
