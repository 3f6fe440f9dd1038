"""A turning circle: advance, transfer, tactical and steady diameter, speed lost, with the drift taken out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from slackwater.analysis.handling.drift import (
    LEAST_AROUND,
    STEADY_FROM,
    Drift,
    drift_by_pairs,
    drift_by_velocities,
)
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.path import Array, NoPath, Path
from slackwater.analysis.handling.turn_figures import BY_HEADING, Turn, figures_of

Side = Literal["port", "starboard"]

APPROACH = 10.0  # [s] before the order, over which course and speed of the approach are taken
LEAST_APPROACH = 3.0  # [s]
MOST_YAW = 5.0  # [deg] of turn in the approach; beyond it she was turning already
LEAST_TURN = 45.0  # [deg]; less is a change of course


@dataclass(frozen=True, slots=True)
class TurningCircle:
    """What a turn gave.

    Parameters
    ----------
    side : str
        To which she turned.
    order, end : float
        When the helm was put over, and when she stopped turning. [s]
    turned : float
        How far she turned. [deg]
    course : float or None
        Of the approach, through the water where the drift is known; None without an approach. [deg, 0 to 360]
    drift : Drift or None
        That was taken out; None where nothing tells it, and all figures are over ground.
    figures : mapping
        By the names of `turn_figures.UNITS`.
    over_ground, freed : Path
        From the approach to the end: as recorded, and with the drift taken out.
    notes : tuple of str
        What has to be said of it.
    """

    side: Side
    order: float
    end: float
    turned: float
    course: float | None
    drift: Drift | None
    figures: dict[str, Figure]
    over_ground: Path
    freed: Path
    notes: tuple[str, ...] = ()


def turning_circle(
    path: Path,
    order: float,
    end: float,
    *,
    drift: Drift | None = None,
    order_uncertainty: float = 0.0,
    approach: float = APPROACH,
) -> TurningCircle:
    """What a turn gives, from the moment that the helm is put over to the moment that it is eased.

    Parameters
    ----------
    path : Path
        Over ground, from before the order.
    order, end : float
        [s]
    drift : Drift, optional
        To be taken out; without it what the turn itself tells: places a whole turn apart from 540 degrees on, the
        circle of velocities from 360 on.
    order_uncertainty : float
        Standard uncertainty of the moment of the order. [s]
    approach : float
        Over how long before the order course and speed of the approach are taken. [s]

    Raises
    ------
    NoPath
        When nothing was recorded of the turn, the record breaks off in it, or it is none.

    Notes
    -----
    Advance is measured along the course of the approach to where the heading has changed by 90 degrees, the tactical
    diameter across it to where it has changed by 180; both from where the boat was at the order. Where no compass was
    recorded the direction of the velocity through the water stands in for the heading, which is said.

    References
    ----------
    IMO resolution MSC.137(76), annex, "Standard manoeuvres and associated terminology", .3 advance and .4 tactical
    diameter. Transfer (at 90 degrees) and steady diameter: common practice. Drift: MSC/Circ.1053, annex, 3.4.2.5.
    """
    own = path.within(max(order - approach, path.span[0]), end)
    _stop_without_record(own, order, end)
    notes = list(own.notes)
    if own.heading_seconds.size:
        turn = _turn(own, own.heading_seconds, own.heading, order, end)
    else:
        turn = _by_course(own, order, end, drift)
        notes.append(
            "no heading: the direction of her velocity stands in, which turns later than a boat that skids"
        )
    drift = drift or drift_of(turn)
    if drift is None:
        notes.append(
            "the current is left in, figures are over ground: "
            f"{turn.degrees:.0f} deg of turn do not tell it; 360 are needed, 540 and more are better"
        )
    turn = replace(turn, drift=(drift.east, drift.north) if drift else (0.0, 0.0))
    figures = figures_of(turn, drift, order_uncertainty)
    if not own.heading_seconds.size:  # by how much she skids nothing tells
        figures |= {name: replace(figures[name], uncertainty=None) for name in BY_HEADING}
    return TurningCircle(
        "starboard" if turn.sign > 0 else "port",
        order,
        end,
        turn.degrees,
        None if turn.straight else turn.axis() % 360.0,
        drift,
        figures,
        own,
        turn.freed,
        tuple(notes),
    )


def drift_of(turn: Turn) -> Drift | None:
    """The drift that a turn tells itself; None where she turned too little."""
    by_pairs = drift_by_pairs(turn.path, turn.seconds, turn.turned)
    since = turn.when(STEADY_FROM)
    if by_pairs is not None or since is None:
        return by_pairs
    return drift_by_velocities(turn.path, since[0], turn.end, turn.degrees - STEADY_FROM)


def _stop_without_record(own: Path, order: float, end: float) -> None:
    during = own.within(order, end)
    if during.seconds.size < 8:
        raise NoPath(
            f"{during.seconds.size} places are recorded in the turn; 8 are needed at least"
        )
    if own.heading_seconds.size == 1 or (own.heading.size and during.heading.size < 8):
        raise NoPath("the heading is not recorded throughout the turn")
    if (gap := own.longest_gap()) > 0.0:
        raise NoPath(f"the record breaks off for {gap:.0f} s in the turn or its approach")


def _turn(own: Path, seconds: Array, angles: Array, order: float, end: float) -> Turn:
    """The turn counted from the heading of the approach; from the first heading where there is no approach."""
    before = seconds <= order
    why = _no_approach(own, seconds[before], angles[before], order)
    level = float(angles[0]) if why else float(angles[before].mean())
    change = float(angles[-1]) - level
    if abs(change) < LEAST_TURN:
        raise NoPath(f"she turned by {abs(change):.0f} deg only; that is no turn")
    sign = math.copysign(1.0, change)
    return Turn(own, seconds, sign * (angles - level), sign, order, end, why)


def _no_approach(own: Path, seconds: Array, angles: Array, order: float) -> str:
    """Why there is no approach to measure from; empty where there is."""
    long = order - own.span[0]
    places = int((own.seconds <= order).sum())
    if long < LEAST_APPROACH or seconds.size < 2 or places < 3:
        return f"no approach: {max(long, 0.0):.0f} s are recorded before the helm was put over"
    since = seconds - seconds.mean()
    square = float(since @ since)
    yaw = abs(float(since @ angles)) / square * float(seconds[-1] - seconds[0]) if square else 0.0
    if yaw > MOST_YAW:
        return f"no straight approach: she turned by {yaw:.0f} deg in the {long:.0f} s before"
    return ""


def _by_course(own: Path, order: float, end: float, drift: Drift | None) -> Turn:
    """The turn by the direction of the velocity through the water, as far as the drift is known."""
    seconds, angles = own.course()
    if seconds.size < 8:
        raise NoPath("neither heading nor velocities are recorded in the turn")
    turn = _turn(own, seconds, angles, order, end)
    since = turn.when(STEADY_FROM)
    if drift is None and since is not None and turn.degrees - STEADY_FROM >= LEAST_AROUND:
        drift = drift_by_velocities(own, since[0], end, turn.degrees - STEADY_FROM)
    if drift is None:
        return turn
    seconds, angles = own.less(drift.east, drift.north, order).course()
    return _turn(own, seconds, angles, order, end)
