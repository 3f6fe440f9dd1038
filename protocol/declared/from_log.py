"""How a value of a manoeuvre is read from logs, where its kind does not say it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Annotated, Literal

from pydantic import Field
from pydantic_core import PydanticCustomError

from slackwater.protocol.catalogue.logged import CIRCULAR, UNITS
from slackwater.protocol.catalogue.measures import nearest
from slackwater.protocol.declared.limits import Limit, LimitsIn
from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.scalars import QuantityIn, Snake, refuse
from slackwater.protocol.units.quantity import Quantity, fitting, same_dimension

Loc = tuple[str, ...]
Time = Annotated[Quantity, QuantityIn(("s",), "positive", "10 s")]
Knots = Annotated[Quantity, QuantityIn(("kn",), "positive", "0.5 kn")]
Take = Literal["max", "min", "furthest", "mean", "spread"]

#: What the slowest planing speed is read by, and what a value of the protocol's own is.
PLANING = ("hold", "within", "step", "planing")
OWN = ("channel", "take", "over")
SLOWEST = "slowest_planing_speed"
SPEEDS = ("speed_over_ground",)
_FLOORS = (*SPEEDS, "engine_speed", "propeller_speed", "throttle")
_BY_CHANNEL = LimitsIn(("trim", "engine_speed"), {name: (unit,) for name, unit in UNITS.items()})


class FromLog(Part):
    """How a value is read from logs."""

    channel: Snake | None = Field(
        default=None,
        description="Of a value of the protocol's own: what is read, by the name that logs have it under.",
        examples=["heel"],
    )
    take: Take | None = Field(
        default=None,
        description="And what is taken of it over the try: `max`, `min`, `furthest` (from nought, either way, "
        "without its sign), `mean`, or `spread` (standard deviation).",
    )
    over: Time | None = Field(
        default=None,
        description="So long is the mean that `max`, `min` and `furthest` are of; 3 s where it is not given. The "
        "highest single reading grows with how often it was read.",
    )
    hold: Time | None = Field(
        default=None, description="Of the slowest planing speed: for how long it has to be held."
    )
    within: Knots | None = Field(
        default=None, description="How far the speed may stray to either side meanwhile."
    )
    step: Knots | None = Field(
        default=None,
        description="How far below the speed held she may be when she comes off the plane. Who comes off further "
        "below might have held less, and such a try gives no value.",
    )
    planing: Annotated[dict[str, Limit], _BY_CHANNEL] = Field(
        default_factory=dict,
        description="What shows that she planes, by what logs hold, such as the trim; and a speed that she certainly "
        "does not plane below, since at rest she is as level.",
        examples=[{"trim": {"at_most": "4 deg"}, "speed_over_ground": {"at_least": "8 kn"}}],
    )

    @property
    def given(self) -> frozenset[str]:
        """The keys that were written."""
        return frozenset(self.model_fields_set)

    @property
    def channels(self) -> tuple[str, ...]:
        """What has to be in the logs for it."""
        return (*self.planing, *([] if self.channel is None else [self.channel]))


def fault_of(how: FromLog, kind: str | None, unit: str) -> tuple[Loc, PydanticCustomError] | None:
    """What is wrong with it for a value of this kind; None where nothing is.

    Parameters
    ----------
    how : FromLog
    kind : str or None
        None for a value of the protocol's own.
    unit : str
        Of the value.
    """
    if kind is not None and kind != SLOWEST:
        return (), refuse("unfit-value", f"logs tell {kind} by themselves", "take 'from_log:' away")
    keys = OWN if kind is None else PLANING
    what = "a value of the protocol's own" if kind is None else "the slowest planing speed"
    needed = [key for key in keys if key != "over" and key not in how.given]
    needless = sorted(how.given - {*keys})
    if needless:
        fix = f"it takes {', '.join(keys)}"
        return (needless[0],), refuse("unfit-value", f"{what} is not read from logs by '{needless[0]}'", fix)  # fmt: skip
    if needed:
        return (), refuse("unfit-value", f"how {what} is read from logs lacks {' and '.join(needed)}", f"add {_such(needed)}")  # fmt: skip
    return _of_own(how, unit) if kind is None else _of_planing(how.planing)


def _such(needed: list[str]) -> str:
    shown = {"channel": "heel", "take": "max", "hold": "10 s", "within": "0.5 kn", "step": "1.5 kn", "planing": "{trim: {at_most: 4 deg}, speed_over_ground: {at_least: 8 kn}}"}  # fmt: skip
    return ", ".join(f"'{key}: {shown[key]}'" for key in needed)


def _of_own(how: FromLog, unit: str) -> tuple[Loc, PydanticCustomError] | None:
    channel = how.channel or ""
    if channel in CIRCULAR and how.take != "spread":
        message = f"'{channel}' goes round the compass, and has no {how.take}"
        return ("take",), refuse("unfit-value", message, "take its spread")
    if channel in UNITS and not same_dimension(unit, UNITS[channel]):
        noun, _ = fitting(UNITS[channel])
        message = f"'{channel}' is {noun}, and the value is in {unit}"
        return ("channel",), refuse("unfit-value", message, f"give the value a unit such as {UNITS[channel]}")  # fmt: skip
    if how.over is not None and how.take in ("mean", "spread"):
        message = f"the {how.take} is over the whole try"
        return ("over",), refuse("unfit-value", message, "take 'over:' away")
    return None


def _of_planing(shows: Mapping[str, Limit]) -> tuple[Loc, PydanticCustomError] | None:
    for name, limit in shows.items():
        if limit.compares:
            message = f"'{limit}' compares configurations"
            return ("planing", name), refuse("unfit-value", message, "write at_most, at_least or between")  # fmt: skip
    if not set(shows) - {*SPEEDS}:
        message = "whether she planes is asked at any speed, and a speed alone cannot show it"
        return ("planing",), refuse("unfit-value", message, "add what shows it, such as 'trim: {at_most: 4 deg}'")  # fmt: skip
    if not any(name in _FLOORS and limit.at_most is None for name, limit in shows.items()):
        message = "at rest she is as level as on the plane, and nothing parts the two"
        return ("planing",), refuse("unfit-value", message, "add a speed at which she certainly does not plane yet, such as 'speed_over_ground: {at_least: 8 kn}'")  # fmt: skip
    return None


def unknown_channel(name: str, measures: Collection[str]) -> str | None:
    """What to do about a channel that no log has; None where logs or the protocol know it."""
    if name in UNITS or name in measures:
        return None
    near = nearest(name, [*UNITS, *measures])
    return f"did you mean '{near}'?" if near else f"logs hold {', '.join(UNITS)}, and what is declared under 'measures:'"  # fmt: skip
