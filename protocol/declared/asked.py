"""What is asked of a trial beyond its set points: a duty, prices, corrections."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.declared.speeds import Speed
from slackwater.protocol.files.scalars import (
    AnyQuantity,
    Name,
    Number,
    QuantityIn,
    Scalar,
    Snake,
    Text,
    WholeIn,
    refuse,
)
from slackwater.protocol.units.quantity import Quantity

Hours = Annotated[Quantity, QuantityIn(("h",), "positive", "1.5 h")]
Distance = Annotated[Quantity, QuantityIn(("nmi",), "positive", "30 nmi")]


class Leg(Part):
    """A part of a trip, run at one speed."""

    speed: Speed = Field(description="Speed through the water.")
    time: Hours | None = Field(default=None, description="Time at that speed; or `distance`.")
    distance: Distance | None = Field(
        default=None, description="Distance at that speed; or `time`."
    )

    @model_validator(mode="after")
    def _one_of_two(self) -> Leg:
        if (self.time is None) == (self.distance is None):
            found = "neither" if self.time is None else "both"
            raise refuse(
                "unfit-value",
                f"{found} of time and distance stands here; one of the two is needed",
                "write 'time: 1.5 h' or 'distance: 30 nmi'",
            )
        return self


class Duty(Part):
    """What the boat is used for: a trip, and how often it is made."""

    trip: tuple[Leg, ...] = Field(
        min_length=1, max_length=40, description="The legs of one trip, each at one speed."
    )
    trips_per_year: Annotated[int, WholeIn(1, 100_000)] | None = Field(
        default=None, description="How many such trips are made in a year."
    )


class Price(Part):
    """What the change and the fuel cost, in one currency."""

    currency: Name = Field(description="The currency, as EUR.")
    change: Number = Field(description="Price of the change, fitted. [the currency]")
    fuel: Number = Field(description="Price of the fuel. [the currency, a `fuel_unit`]")
    fuel_unit: Literal["L", "gal"] = Field(
        default="L", description="What `fuel` is the price of: a litre, or a US gallon."
    )


class Sensitivity(Scalar):
    """How much a quantity changes: a difference or a percentage, or the word `estimated`."""

    def wanted(self) -> str:
        return "a change such as '-0.4 ± 0.1 %', or the word 'estimated'"

    def read(self, value: object) -> Quantity | str:
        if isinstance(value, str) and value.strip() == "estimated":
            return "estimated"
        found: Quantity = QuantityIn(("%",), example="-0.4 ± 0.1 %").read(value)
        return found

    def json(self) -> dict[str, Any]:
        return {"type": "string", "examples": ["-0.4 ± 0.1 %", "estimated"]}


class Correction(Part):
    """Something that differed between the sessions, and what it does to what was measured."""

    of: Literal[
        "displacement",
        "fuel_burned",
        "water_density",
        "water_temperature",
        "air_temperature",
        "air_pressure",
        "air_density",
        "wind_speed",
    ] = Field(
        description="What differed. `fuel_burned` is the mass burned since a session's first run, "
        "reckoned from the fuel flow; `air_density` follows from temperature and pressure of the "
        "air; the others are noted of each session."
    )
    to: AnyQuantity | None = Field(
        default=None, description="The value corrected to; the mean of the sessions if not given."
    )
    per: AnyQuantity = Field(
        description="An increase of it, for which the changes are given.", examples=["100 kg"]
    )
    changes: dict[Snake, Annotated[Quantity | str, Sensitivity()]] = Field(
        min_length=1,
        description="What that increase changes each measured quantity by, with its standard "
        "uncertainty; or `estimated`, from the sessions themselves.",
        examples=[{"speed": "-0.4 ± 0.1 %", "fuel_flow": "0.3 ± 0.1 %"}],
    )
    source: Text = Field(description="Where the changes come from.")

    @model_validator(mode="after")
    def _one_way(self) -> Correction:
        estimated = [value == "estimated" for value in self.changes.values()]
        if any(estimated) and not all(estimated):
            raise refuse(
                "unfit-value",
                "some changes are declared and some are estimated; a correction is one or the other",
                "declare them all, or write 'estimated' for each",
            )
        return self
