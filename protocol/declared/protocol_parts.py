"""The parts that a protocol is made of."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from slackwater.protocol.declared.loading import Loading
from slackwater.protocol.declared.speeds import Cruise, Speeds
from slackwater.protocol.declared.worthwhile import Worthwhile
from slackwater.protocol.files.scalars import (
    AnyQuantity,
    Flag,
    Kebab,
    Name,
    NotNegative,
    QuantityIn,
    Snake,
    Text,
    TextIn,
    Unit,
    WholeIn,
    refuse,
)
from slackwater.protocol.units.quantity import Quantity

Duration = Annotated[Quantity, QuantityIn(("s",), "not negative", "60 s", "duration")]
Angle = Annotated[Quantity, QuantityIn(("deg",), "positive", "15 deg", "reciprocal_within")]
Scatter = Annotated[Quantity, QuantityIn(sign="not negative", example="0.6 %", of="noise")]
Uncertainty = Annotated[
    Quantity, QuantityIn(sign="not negative", example="1 %", of="standard_uncertainty")
]
Percentage = Annotated[Quantity, QuantityIn(("%",), "positive", "95 %")]
Order = Annotated[
    str,
    TextIn(longest=400, one_line=True, pattern="[A-Z]+", noun="a row of capital letters (ABBA)"),
]
Letter = Annotated[str, TextIn(longest=1, one_line=True, pattern="[A-Z]", noun="a capital letter")]


class Part(BaseModel):
    """What every part of a file has in common: frozen, and no unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class SetPoints(Part):
    """The values held during runs."""

    of: Snake = Field(description="What is held during a run: engine_speed, throttle, shaft_power…")
    values: tuple[AnyQuantity, ...] = Field(
        min_length=1,
        max_length=200,
        description="The values to be held, each with its unit.",
        examples=[["1000 rpm", "1500 rpm"]],
    )
    hold: NotNegative = Field(
        default=Quantity(1.0, "%"),
        description="How far the value may stray from the set point; absolute or a percentage.",
    )


class Steady(Part):
    """How long a run lasts."""

    settle: Duration = Field(
        default=Quantity(20.0, "s"), description="Time at the set point before recording starts."
    )
    record: Duration = Field(
        default=Quantity(60.0, "s"),
        description="Time recorded; the run's values are means over it.",
    )


class Runs(Part):
    """Which runs are made in a session, and how."""

    set_points: SetPoints = Field(description="The values held during runs.")
    directions: Literal["reciprocal", "one_way"] = Field(
        default="reciprocal",
        description="Runs in both directions, or in one. One-way runs cannot be cleared of current.",
    )
    reciprocal_within: Angle = Field(
        default=Quantity(15.0, "deg"),
        description="How far the headings of a double run may be from opposite.",
    )
    double_runs: Annotated[int, WholeIn(1, 100)] = Field(
        default=3, description="Double runs at each set point in a session."
    )
    first_direction: Literal["alternate", "fixed"] = Field(
        default="alternate",
        description="Whether successive double runs start in turn out and back.",
    )
    set_point_order: Literal["shuffled", "ascending", "descending"] = Field(
        default="shuffled", description="The order in which a session takes the set points."
    )
    steady: Steady = Field(default_factory=Steady, description="How long a run lasts.")


class Sessions(Part):
    """How many sessions, and in which order."""

    per_configuration: Annotated[int, WholeIn(1, 200)] = Field(
        default=3,
        description="Sessions with each configuration; counted from `order` where that is given.",
    )
    order: Order = Field(
        default="ABBAAB",
        description="The order of configurations: A the baseline, B the modified; "
        "AB and BA in turn where it is not given.",
    )
    fitted: dict[Letter, Name] = Field(
        default_factory=dict,
        max_length=26,
        description="What the letters of `order` stand for: a name of the configuration for each.",
        examples=[{"A": "old-propeller", "B": "new-propeller"}],
    )
    change: Duration | None = Field(
        default=None,
        description="How long it takes to change the configuration; an hour is taken where it is not "
        "given. Plans and sheets count with it.",
        examples=["5 min"],
    )
    afloat: Flag = Field(
        default=False,
        description="The change is made on the water, before every session: the sessions of a day are "
        "one outing.",
    )
    block: Literal["none", "day"] = Field(
        default="none", description="`day`: sessions of one day are compared with each other."
    )

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, data: Any) -> Any:
        """Derive the one of `order` and `per_configuration` that is not given from the other."""
        if not isinstance(data, dict):
            return data
        order, count = data.get("order"), data.get("per_configuration")
        if isinstance(order, str) and order.strip() and count is None:
            first = order.strip()[0]
            return {**data, "per_configuration": max(1, order.count(first))}
        if order is None and count is not None and str(count).strip().isdecimal():
            number = min(int(str(count)[:4]), 200)
            return {**data, "order": ("ABBA" * number)[: 2 * number] or "AB"}
        return data

    @model_validator(mode="after")
    def _counts(self) -> Sessions:
        counts = {letter: self.order.count(letter) for letter in sorted(set(self.order))}
        if any(count != self.per_configuration for count in counts.values()):
            told = ", ".join(f"{letter} {count} times" for letter, count in counts.items())
            raise ValidationError.from_exception_data(
                "sessions",
                [
                    InitErrorDetails(
                        type=refuse(
                            "unfit-value",
                            f"the order has {told}; {self.per_configuration} times each is needed "
                            "(per_configuration)",
                            "change one of the two",
                        ),
                        loc=("order",),
                        input=self.order,
                    )
                ],
            )
        return self


class DeclaredMeasure(Part):
    """A quantity read on every run."""

    unit: Unit | None = Field(
        default=None, description="Working unit. Needed for a measure that is not in the catalogue."
    )
    standard_uncertainty: Uncertainty | None = Field(
        default=None,
        description="Standard uncertainty of the instrument's calibration; absolute or a percentage.",
    )
    shared: Flag = Field(
        default=False,
        description="One instrument served all configurations, so that its calibration error "
        "cancels in a ratio.",
    )
    errors: Literal["by_set_point", "common"] = Field(
        default="by_set_point",
        description="How an error of calibration that does not cancel shows: at each set point "
        "another one, or common to all of them. The first is the more cautious where nobody knows.",
    )
    better: Literal["more", "less"] | None = Field(
        default=None, description="Which side counts as a gain, where the catalogue does not say."
    )
    scale: Literal["ratio", "difference"] | None = Field(
        default=None, description="Compared as a ratio or as a difference; ratio unless declared."
    )
    combine: Literal["sum", "mean"] | None = Field(
        default=None,
        description="How the columns of several engines become one value; the sum for flows, powers "
        "and forces, the mean for all else, unless declared.",
    )
    title: Name | None = Field(default=None, description="As people read it.")


class Looks(Part):
    """Looks at the data part-way, declared beforehand, so that together they keep the error rate."""

    at_sessions: tuple[Annotated[int, WholeIn(1, 200)], ...] = Field(
        min_length=1,
        max_length=20,
        description="Sessions with each configuration at each look, rising; the last look is the "
        "end of the trial.",
        examples=[["2", "4"]],
    )
    boundary: Literal["obrien_fleming", "pocock"] = Field(
        default="obrien_fleming",
        description="How much is asked of each look: obrien_fleming asks much of the early ones "
        "and hardly more than usual at the end; pocock asks the same of all.",
    )

    @property
    def fractions(self) -> tuple[float, ...]:
        """Part of all the sessions that each look has. [1]"""
        return tuple(count / self.at_sessions[-1] for count in self.at_sessions)


class Analysis(Part):
    """How the runs are to be analysed, declared beforehand."""

    decides: Name | None = Field(
        default=None,
        description="The one figure that answers the protocol's question: a quantity, or one `at "
        "equal speed`. It keeps the error rate by itself; all others are further figures.",
        examples=["economy at equal speed"],
    )
    current: Literal["tide_fit", "mean_of_means", "double_run", "none"] = Field(
        default="tide_fit", description="How the current is taken out."
    )
    trend: Literal["none", "linear"] = Field(
        default="none",
        description="`linear`: a steady drift of the boat over the trial is allowed for, as the "
        "sessions themselves show it. It takes six sessions or more.",
    )
    confidence: Percentage = Field(
        default=Quantity(95.0, "%"), description="Confidence of the intervals, from 50 to 99.9 %."
    )
    family: Literal["set_points", "all", "single"] = Field(
        default="set_points", description="What the simultaneous intervals cover."
    )
    worthwhile: dict[Snake, Worthwhile] = Field(
        default_factory=dict,
        description="The smallest difference that would matter, for each quantity: on both sides, "
        "or `{no_loss: 1 %}` where only a loss would.",
        examples=[{"speed": "1 %", "economy": "3 %"}],
    )
    loading: dict[Snake, Loading] = Field(
        default_factory=dict,
        description="How strongly what disturbs a whole session shows along the sweep, for each "
        "quantity: `even` (as many per cent everywhere), `constant` (as much in the unit), `slope` "
        "(as the curve over the set points is steep), or a number for each set point.",
        examples=[{"speed": "constant"}],
    )
    speeds: Speeds = ()
    cruise: Cruise | None = None
    looks: Looks | None = Field(
        default=None,
        description="When the data are looked at before the end; without it, only at the end.",
    )
    limits_broken: Literal["untestable", "report"] = Field(
        default="untestable",
        description="What becomes of a comparison whose sessions broke a limit: no verdict, or a "
        "verdict that names the broken limit.",
    )

    @model_validator(mode="after")
    def _confidence(self) -> Analysis:
        if not 50 <= self.confidence.to("%").value <= 99.9:
            raise ValidationError.from_exception_data(
                "analysis",
                [
                    InitErrorDetails(
                        type=refuse(
                            "unfit-value",
                            f"a confidence of {self.confidence}; 50 to 99.9 % is needed",
                            "95 % is usual",
                        ),
                        loc=("confidence",),
                        input=str(self.confidence),
                    )
                ],
            )
        return self


class PriorNoise(Part):
    """What earlier trials showed of the scatter of one quantity."""

    between_sessions: Scatter = Field(
        description="Standard deviation between sessions of one configuration."
    )
    sessions: Annotated[int, WholeIn(2, 10_000)] = Field(
        description="The number of sessions it was estimated from."
    )
    within_session: Scatter | None = Field(
        default=None,
        description="Standard deviation between double runs of one session; of a rating, of a score about its "
        "session and rater; of a manoeuvre, between pairs of tries, one each way.",
    )
    session_by_set_point: Scatter | None = Field(
        default=None,
        description="Standard deviation of sessions that differs from set point to set point.",
    )


class Waiver(Part):
    """A rule that is not to be applied, and why."""

    rule: Kebab = Field(description="The id of the rule.")
    reason: Text = Field(description="Why it is not to be applied.")
