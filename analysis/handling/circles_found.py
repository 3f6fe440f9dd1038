"""All turning circles of one outing, from one channel for each quantity; and turns that gave none, with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.path import HEADINGS, NoPath, Path, lay_path
from slackwater.analysis.handling.turn_figures import FROM_ORDER
from slackwater.analysis.handling.turning import TurningCircle, turning_circle
from slackwater.analysis.handling.turns_found import LEAST_FOUND, FoundTurn, find_turns
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import COURSES, first

BORROWED = (
    1800.0  # [s]; a current is taken over from a turn that was made no longer before or after
)
QUANTITIES = ("latitude", "longitude", "speed_over_ground", *COURSES, *HEADINGS, "rudder_angle")


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A stretch that gave nothing, and why. [s]"""

    start: float
    end: float
    reason: str


@dataclass(frozen=True, slots=True)
class Circles:
    """What came of the turns of an outing.

    Parameters
    ----------
    path : Path or None
        None where no path can be laid.
    found : tuple of TurningCircle
        In order of time.
    left_out : tuple of LeftOut
    why_none : str
        Why no path can be laid; else empty.
    """

    path: Path | None
    found: tuple[TurningCircle, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    why_none: str = ""


def circles_of(channels: Sequence[Channel], least: float = LEAST_FOUND) -> Circles:
    """All turns of an outing that went as far as `least`, with the drift taken out where any of them tells it. [deg]"""
    try:
        path = lay_path(channels)
    except NoPath as error:
        return Circles(None, why_none=str(error))
    found: list[tuple[FoundTurn, TurningCircle]] = []
    left_out = []
    for turn in find_turns(path, first(channels, "rudder_angle"), least):
        try:
            found.append((turn, _circle(path, turn, None)))
        except NoPath as error:
            left_out.append(LeftOut(turn.order, turn.end, str(error)))
    own = [circle for _, circle in found if circle.drift is not None]
    circles = tuple(
        circle if circle.drift is not None else _with_another_drift(path, turn, circle, own)
        for turn, circle in found
    )
    return Circles(path, circles, tuple(left_out))


def _circle(path: Path, turn: FoundTurn, drift: Drift | None) -> TurningCircle:
    circle = turning_circle(
        path, turn.order, turn.end, drift=drift, order_uncertainty=turn.uncertainty
    )
    if turn.told_by == "rudder":
        return circle
    note = (
        "the order is when she began to turn: no rudder angle tells when the helm was put over, so advance and times are "
        "short by what she takes to answer"
    )
    # How long that is nothing tells; a small uncertainty beside it would mislead.
    unsure = {name: replace(circle.figures[name], uncertainty=None) for name in FROM_ORDER}
    return replace(circle, notes=(*circle.notes, note), figures={**circle.figures, **unsure})


def _with_another_drift(
    path: Path, turn: FoundTurn, circle: TurningCircle, others: Sequence[TurningCircle]
) -> TurningCircle:
    """The circle freed of the drift that the turn nearest in time told; as it is where none is near."""
    near = min(others, key=lambda other: abs(other.order - turn.order), default=None)
    if near is None or near.drift is None or abs(near.order - turn.order) > BORROWED:
        return circle
    minutes = abs(near.order - turn.order) / 60
    drift = replace(near.drift, uncertainty=None, by=f"a turn {minutes:.0f} min away")
    return _circle(path, turn, drift)
