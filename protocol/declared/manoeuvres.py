"""Manoeuvres: what is timed or measured beside steady runs, as it is declared beforehand."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from slackwater.protocol.catalogue.manoeuvre_kinds import KINDS, ManoeuvreKind
from slackwater.protocol.catalogue.measures import Measure, nearest
from slackwater.protocol.declared.from_log import FromLog, fault_of
from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.scalars import Name, QuantityIn, Snake, Text, Unit, WholeIn, refuse
from slackwater.protocol.units.quantity import Quantity, fitting, same_dimension

Speed = Annotated[Quantity, QuantityIn(("kn",), "not negative", "20 kn", "speed_over_ground")]

Directions = Literal["reciprocal", "port_and_starboard", "with_and_against_wind", "one_way"]

#: The two directions of each way to balance them, as tables write them.
WAYS: dict[str, tuple[str, ...]] = {
    "reciprocal": ("out", "back"),
    "port_and_starboard": ("port", "starboard"),
    "with_and_against_wind": ("with", "against"),
    "one_way": ("",),
}
#: The same in words, as an output calls the mean of both.
WAY_WORDS = {
    "reciprocal": "out and back",
    "port_and_starboard": "port and starboard",
    "with_and_against_wind": "with and against the wind",
    "one_way": "one way",
}
#: What is said beside it: opposite directions along one line take a steady current out by themselves.
CURRENT_WORDS = {"averaged": "", "drift_taken_out": ", drift out", "none": ", current in"}


class ManoeuvreValue(Part):
    """One value that is read of each try."""

    kind: Name | None = Field(
        default=None,
        description=f"What it is: {', '.join(KINDS)}. Without it, the name says it; a name that is none of "
        "these is a value of the protocol's own and needs a unit.",
    )
    title: Name | None = Field(default=None, description="As people read it.")
    unit: Unit | None = Field(
        default=None, description="Working unit. Needed for a value of the protocol's own."
    )
    from_speed: Speed | None = Field(
        default=None, description="The speed that the clock or the tape starts at."
    )
    to_speed: Speed | None = Field(default=None, description="The speed that it stops at.")
    from_log: FromLog | None = Field(
        default=None,
        description="How it is read from logs, for a value of the protocol's own and for the slowest planing "
        "speed; without it, it is written in by hand.",
        examples=[{"channel": "heel", "take": "furthest"}],
    )
    better: Literal["more", "less"] | None = Field(
        default=None, description="Which side is a gain, where the kind does not say."
    )
    scale: Literal["ratio", "difference"] | None = Field(
        default=None,
        description="Compared as a ratio or as a difference; where it is not given, as the kind is, and "
        "a value of the protocol's own as a ratio.",
    )


class Manoeuvre(Part):
    """One manoeuvre: how it starts and ends, which ways it goes, what is read of it."""

    title: Name | None = Field(default=None, description="As people read it.")
    start: Text = Field(
        description="The state that every try starts from, in words.",
        examples=["at rest, engine idling in neutral, trim tabs up"],
    )
    end: Text = Field(
        description="What ends a try, in words that two people with two watches read alike.",
        examples=["20 kn over ground first shown"],
    )
    directions: Directions = Field(
        default="reciprocal",
        description="Which two directions balance each other: `reciprocal` (out, back), "
        "`port_and_starboard`, `with_and_against_wind`; or `one_way`.",
    )
    tries: Annotated[int, WholeIn(1, 50)] = Field(
        default=3, description="Tries in each direction, in every session."
    )
    current: Literal["averaged", "drift_taken_out", "none"] = Field(
        default="none",
        description="What is done with the current: `averaged` (opposite directions make one mean), "
        "`drift_taken_out` (the values in the table are cleared of the drift of the water already), "
        "`none`.",
    )
    values: dict[Snake, ManoeuvreValue] = Field(
        min_length=1,
        max_length=20,
        description="What is read of each try, by name.",
        examples=[
            {"time_to_plane": {}, "time_to_20_kn": {"kind": "time_to_speed", "to_speed": "20 kn"}}
        ],
    )

    @property
    def ways(self) -> tuple[str, ...]:
        """Its directions, as a table writes them."""
        return WAYS[self.directions]

    @property
    def label(self) -> str:
        """Where its values are told: the mean of which directions, and what of the current."""
        return f"{WAY_WORDS[self.directions]}{CURRENT_WORDS[self.current]}"

    def label_of(self, name: str) -> str:
        """The same for one value, with the speeds that it is between, so that no two mean different things."""
        value = self.values[name]
        ends = [
            f"{word} {speed}"
            for word, speed in (("from", value.from_speed), ("to", value.to_speed))
            if speed is not None
        ]
        return ", ".join([*([" ".join(ends)] if ends else []), self.label])

    @property
    def repeated(self) -> str:
        """What a session repeats of it, as a noun: a pair of tries, one each way, or a try."""
        return "pair of tries" if len(self.ways) > 1 else "try"

    @cached_property
    def measures(self) -> dict[str, Measure]:
        """Its values as quantities."""
        return {name: measure_of(name, value) for name, value in self.values.items()}

    @model_validator(mode="after")
    def _sound(self) -> Manoeuvre:
        if self.current == "averaged" and self.directions in ("one_way", "port_and_starboard"):
            raise _at(
                ("current",),
                f"the current is to be averaged out of a manoeuvre that goes {WAY_WORDS[self.directions]}",
                "let it go both ways along one line ('directions: reciprocal' or "
                "'with_and_against_wind'); or declare drift_taken_out, or none",
            )
        for name, value in self.values.items():
            _check_value(name, value)
        return self


def kind_of(name: str, value: ManoeuvreValue) -> ManoeuvreKind | None:
    """The kind of a value; None for one of the protocol's own."""
    return KINDS.get(value.kind or name)


def measure_of(name: str, value: ManoeuvreValue) -> Measure:
    """A value of a manoeuvre as a quantity, told once for a session."""
    kind = kind_of(name, value)
    plain = name.replace("_", " ").capitalize()
    title = value.title or (kind.title if kind is not None and name == kind.name else plain)
    unit = value.unit or (kind.unit if kind else "1")
    better = value.better or (kind.better if kind else None)
    scale = value.scale or (kind.scale if kind else "ratio")
    return Measure(name, title, unit, better, scale, "measured", table="whole sweep")


def _check_value(name: str, value: ManoeuvreValue) -> None:
    loc = ("values", name)
    if value.kind is not None and value.kind not in KINDS:
        near = nearest(value.kind, KINDS)
        raise _at(
            (*loc, "kind"),
            f"'{value.kind}' is no kind of value known here",
            f"did you mean '{near}'?" if near else "leave it out, and give the value a unit",
        )
    kind = kind_of(name, value)
    if kind is None:
        if value.unit is None:
            near = nearest(name, KINDS, 0.8)
            raise _at(
                loc,
                f"'{name}' is none of the values known here, and has no unit",
                f"did you mean '{near}'?"
                if near
                else "add 'unit:', or 'kind:' with one that is known",
            )
        _check_from_log(loc, value, None, value.unit)
        return
    _check_from_log(loc, value, kind.name, value.unit or kind.unit)
    for key in kind.needs:
        if getattr(value, key) is None:
            raise _at(loc, f"{kind.title.lower()} has no {key}", f"add '{key}:', such as 20 kn")
    for key in ("from_speed", "to_speed"):
        if getattr(value, key) is not None and key not in (*kind.needs, *kind.takes):
            raise _at((*loc, key), f"{kind.title.lower()} takes no {key}", "take it away")
    if value.from_speed is not None and value.from_speed == value.to_speed:
        raise _at((*loc, "to_speed"), "it starts and ends at one speed", "give two speeds")
    if value.unit is not None and not same_dimension(value.unit, kind.unit):
        noun, fit = fitting(kind.unit)
        raise _at(
            (*loc, "unit"),
            f"'{value.unit}' does not fit {kind.name}; {noun} is needed",
            f"use one of {', '.join(fit)}",
        )


def _check_from_log(
    loc: tuple[str, ...], value: ManoeuvreValue, kind: str | None, unit: str
) -> None:
    fault = None if value.from_log is None else fault_of(value.from_log, kind, unit)
    if fault is not None:
        where, error = fault
        raise ValidationError.from_exception_data(
            "manoeuvre",
            [InitErrorDetails(type=error, loc=(*loc, "from_log", *where), input=value.from_log)],
        )


def _at(loc: tuple[str, ...], message: str, fix: str) -> ValidationError:
    return ValidationError.from_exception_data(
        "manoeuvre",
        [InitErrorDetails(type=refuse("unfit-value", message, fix), loc=loc, input=message)],
    )
