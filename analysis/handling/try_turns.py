"""Tries of turning circles, from the turns of an outing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from slackwater.analysis.handling.changes_found import tolerance
from slackwater.analysis.handling.circles_found import Circles, LeftOut
from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.found_try import NO_DRIFT, FoundTry
from slackwater.analysis.handling.path import Path
from slackwater.analysis.handling.turning import TurningCircle, turning_circle
from slackwater.analysis.handling.wanted import TURNS, Wanted

WHOLE_TURN, HALF_TURN = 320.0, 170.0  # [deg] that a turn has to go for what is read of it
LEFT_IN = "left in, as the protocol declares"


def turns(wanted: Wanted, circles: Circles) -> Iterator[FoundTry | LeftOut]:
    yield from (LeftOut(each.start, each.end, f"no {wanted.name}: {each.reason}") for each in circles.left_out)  # fmt: skip
    whole = wanted.current == "drift_taken_out" or any(
        v.kind in ("steady_diameter", "speed_lost_in_turn") for v in wanted.values
    )
    least = WHOLE_TURN if whole else HALF_TURN
    for circle in circles.found:
        if circle.turned < least:
            why = (
                f"no {wanted.name}: she turned by {circle.turned:.0f} deg; {least:g} deg are needed"
            )
            yield LeftOut(circle.order, circle.end, why)
            continue
        made = circle if wanted.current == "drift_taken_out" else _left_in(circle, circles.path)
        elsewhere = _began_elsewhere(wanted, made.figures["approach_speed"].value)
        if elsewhere:
            yield LeftOut(circle.order, circle.end, f"no {wanted.name}: {elsewhere}")
            continue
        yield _turn(wanted, made)


def _left_in(circle: TurningCircle, path: Path | None) -> TurningCircle:
    """The circle over ground, as a protocol has it that leaves the current in."""
    if path is None:
        return circle
    over_ground = turning_circle(
        path, circle.order, circle.end, drift=Drift(0.0, 0.0, None, LEFT_IN)
    )
    return replace(over_ground, notes=circle.notes)


def _turn(wanted: Wanted, circle: TurningCircle) -> FoundTry:
    values = {each.name: circle.figures[TURNS[each.kind]] for each in wanted.values}
    one = FoundTry(
        wanted.name, circle.order, circle.end, values, circle.course, circle.side, circle=circle
    )
    if circle.drift is None:
        why = NO_DRIFT
        return replace(one, aside=why, values={n: Figure.missing(f.unit, why) for n, f in values.items()})  # fmt: skip
    notes = list(circle.notes)
    if wanted.current == "drift_taken_out":
        notes.append(f"drift of {circle.drift.knots:.2f} kn to {circle.drift.towards:.0f} deg taken out, told by {circle.drift.by}")  # fmt: skip
    return replace(one, notes=tuple(notes))


def _began_elsewhere(wanted: Wanted, speed: float | None) -> str:
    """Why a try did not begin at the speed that is declared; empty where it did."""
    asked = wanted.from_speed
    if asked is None or speed is None or asked == 0 or abs(speed - asked) <= tolerance(asked):
        return ""
    return f"she came at {speed:.1f} kn; {asked:g} kn are declared"
