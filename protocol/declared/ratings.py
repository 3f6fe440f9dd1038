"""Ratings: what people are asked to score of each session, on scales that are anchored beforehand."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from slackwater.protocol.catalogue.measures import Measure
from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.scalars import Flag, Name, OptionalText, Snake, Text, WholeIn, refuse

#: Unit of a score, and of a difference between two.
POINTS = "points"

Place = Annotated[int, WholeIn(0, 100)]


class RatedItem(Part):
    """One thing that raters score."""

    title: Name | None = Field(default=None, description="As people read it.")
    asks: OptionalText = Field(default="", description="The question as it is put to the raters.")
    lowest: Annotated[int, WholeIn(0, 1)] = Field(
        default=1, description="The score at the low end of the scale: 0 or 1."
    )
    points: Annotated[int, WholeIn(2, 101)] = Field(
        description="How many scores the scale has; 7 stands for 1 to 7, where the lowest is 1.",
        examples=["7"],
    )
    anchors: dict[Place, Name] = Field(
        max_length=101,
        description="What scores stand for, in words; those at both ends have to be there.",
        examples=[{"1": "slams", "4": "firm", "7": "soft"}],
    )
    better: Literal["more", "less"] | None = Field(
        default=None, description="Which end is better; without it neither is."
    )
    scale: Literal["ordinal", "interval"] = Field(
        default="ordinal",
        description="`interval` where a step is as large anywhere on the scale; `ordinal` where that "
        "is not known. Ordinal items are compared by ranks as well, and a verdict that ranks point "
        "against is not given.",
    )

    @property
    def highest(self) -> int:
        """The score at the high end."""
        return self.lowest + self.points - 1

    @model_validator(mode="after")
    def _anchored(self) -> RatedItem:
        beyond = [place for place in self.anchors if not self.lowest <= place <= self.highest]
        lacking = [place for place in (self.lowest, self.highest) if place not in self.anchors]
        span = f"the scale runs from {self.lowest} to {self.highest}"
        if beyond:
            raise _at(
                "anchors", f"an anchor stands at {beyond[0]}; {span}", "move it, or mend points"
            )
        if lacking:
            raise _at(
                "anchors",
                f"no anchor says what {lacking[0]} stands for; {span}",
                "anchor both ends in words that any rater understands alike",
            )
        return self


class Ratings(Part):
    """Who scores what, and what the raters know."""

    items: dict[Snake, RatedItem] = Field(
        min_length=1, max_length=40, description="What is scored in each session, by name."
    )
    raters: Annotated[int, WholeIn(1, 50)] = Field(
        default=4, description="How many raters score every session."
    )
    blind: Flag = Field(
        default=False,
        description="The raters do not know which configuration is fitted. Without it every output "
        "says that they did.",
    )
    kept_blind: Text = Field(
        default="", description="How that is arranged: who fits what, and who keeps it from whom."
    )
    guess: Flag = Field(
        default=False,
        description="After each session every rater guesses which configuration was fitted, so that "
        "blinding can be tested.",
    )

    @cached_property
    def measures(self) -> dict[str, Measure]:
        """The items as quantities."""
        return {name: measure_of(name, item) for name, item in self.items.items()}


def measure_of(name: str, item: RatedItem) -> Measure:
    """An item as a quantity: a difference, on the scale's own points."""
    title = item.title or name.replace("_", " ").capitalize()
    return Measure(name, title, POINTS, item.better, "difference", "measured", table="whole sweep")


def _at(key: str, message: str, fix: str) -> ValidationError:
    return ValidationError.from_exception_data(
        "item",
        [InitErrorDetails(type=refuse("unfit-value", message, fix), loc=(key,), input=message)],
    )
