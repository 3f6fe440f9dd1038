"""The protocol: how a trial has to be run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from slackwater.protocol.agreement import protocol_findings
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.library import shipped
from slackwater.protocol.limits import CONDITION_LIMITS, LOADING_LIMITS, Limit
from slackwater.protocol.measures import MEASURES, Better, Measure, Scale, nearest
from slackwater.protocol.quantity import Quantity
from slackwater.protocol.scalars import (
    AnyQuantity,
    Flag,
    Kebab,
    Name,
    NotNegative,
    Positive,
    QuantityIn,
    Snake,
    Text,
    TextIn,
    Unit,
    WholeIn,
    refuse,
)
from slackwater.protocol.source import Document, document_of, scan_document
from slackwater.protocol.wording import findings_of, in_order

Duration = Annotated[Quantity, QuantityIn(("s",), "not negative", "60 s")]
Angle = Annotated[Quantity, QuantityIn(("deg",), "positive", "15 deg")]
Percentage = Annotated[Quantity, QuantityIn(("%",), "positive", "95 %")]
Order = Annotated[
    str,
    TextIn(longest=400, one_line=True, pattern="[A-Z]+", noun="a row of capital letters (ABBA)"),
]


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
    standard_uncertainty: NotNegative | None = Field(
        default=None,
        description="Standard uncertainty of the instrument's calibration; absolute or a percentage.",
    )
    shared: Flag = Field(
        default=False,
        description="One instrument served all configurations, so that its calibration error "
        "cancels in a ratio.",
    )
    better: Literal["more", "less"] | None = Field(
        default=None, description="Which side counts as a gain, where the catalogue does not say."
    )
    scale: Literal["ratio", "difference"] | None = Field(
        default=None, description="Compared as a ratio or as a difference; ratio unless declared."
    )
    title: Name | None = Field(default=None, description="As people read it.")


class Analysis(Part):
    """How the runs are to be analysed, declared beforehand."""

    current: Literal["tide_fit", "mean_of_means", "double_run", "none"] = Field(
        default="tide_fit", description="How the current is taken out."
    )
    confidence: Percentage = Field(
        default=Quantity(95.0, "%"), description="Confidence of the intervals, from 50 to 99.99 %."
    )
    family: Literal["set_points", "all", "single"] = Field(
        default="set_points", description="What the simultaneous intervals cover."
    )
    worthwhile: dict[Snake, Positive] = Field(
        default_factory=dict,
        description="The smallest difference that would matter, for each quantity.",
        examples=[{"speed": "1 %", "economy": "3 %"}],
    )
    limits_broken: Literal["untestable", "report"] = Field(
        default="untestable",
        description="What becomes of a comparison whose sessions broke a limit: no verdict, or a "
        "verdict that names the broken limit.",
    )

    @model_validator(mode="after")
    def _confidence(self) -> Analysis:
        if not 50 <= self.confidence.to("%").value <= 99.99:
            raise ValidationError.from_exception_data(
                "analysis",
                [
                    InitErrorDetails(
                        type=refuse(
                            "unfit-value",
                            f"a confidence of {self.confidence}; 50 to 99.99 % is needed",
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

    between_sessions: NotNegative = Field(
        description="Standard deviation between sessions of one configuration."
    )
    sessions: Annotated[int, WholeIn(2, 10_000)] = Field(
        description="The number of sessions it was estimated from."
    )
    within_session: NotNegative | None = Field(
        default=None, description="Standard deviation between double runs of one session."
    )
    session_by_set_point: NotNegative | None = Field(
        default=None,
        description="Standard deviation of sessions that differs from set point to set point.",
    )


class Waiver(Part):
    """A rule that is not to be applied, and why."""

    rule: Kebab = Field(description="The id of the rule.")
    reason: Text = Field(description="Why it is not to be applied.")


class Protocol(Part):
    """How a trial has to be run."""

    protocol: Kebab = Field(description="Id of the protocol, small letters and hyphens.")
    version: Name = Field(default="1.0", description="Version, in quotes.")
    title: Text = Field(default="", description="What it is for, in one sentence.")
    sources: tuple[Text, ...] = Field(
        default=(), description="The standards and texts it draws on."
    )
    cautions: tuple[Text, ...] = Field(
        default=(), description="What those aboard should keep in mind."
    )
    loading: Annotated[dict[str, Limit], LOADING_LIMITS] = Field(
        default_factory=dict, description="Limits on how the boat is loaded."
    )
    conditions: Annotated[dict[str, Limit], CONDITION_LIMITS] = Field(
        default_factory=dict, description="Limits on sea, weather and water."
    )
    runs: Runs = Field(description="Which runs are made in a session, and how.")
    sessions: Sessions = Field(
        default_factory=Sessions, description="How many sessions, and in which order."
    )
    measures: dict[Snake, DeclaredMeasure] = Field(
        min_length=1,
        description="What is read on every run.",
        examples=[{"speed_over_ground": {"unit": "kn"}}],
    )
    analysis: Analysis = Field(
        default_factory=Analysis, description="How the runs are analysed, declared beforehand."
    )
    noise: dict[Snake, PriorNoise] = Field(
        default_factory=dict, description="What earlier trials showed of the scatter."
    )
    waive: tuple[Waiver, ...] = Field(
        default=(), description="Rules not to be applied, with the reason."
    )

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))

    @property
    def document(self) -> Document:
        """The file it was read from, with the place of everything."""
        return self._document

    @property
    def limits(self) -> dict[str, Limit]:
        """The limits on loading and on conditions together."""
        return {**self.loading, **self.conditions}

    @property
    def set_point_measure(self) -> str:
        """The measure that is held during a run."""
        return self.runs.set_points.of

    @property
    def set_point_unit(self) -> str:
        """The unit of the set points: that of the first value, as written."""
        return self.runs.set_points.values[0].unit

    @property
    def set_point_values(self) -> tuple[float, ...]:
        """The set points. [set_point_unit]"""
        return tuple(v.to(self.set_point_unit).value for v in self.runs.set_points.values)

    def measure(self, name: str) -> Measure:
        """A measure of the catalogue or of this protocol, with what the protocol declares of it.

        Raises
        ------
        KeyError
            When neither knows it.
        """
        declared, listed = self.measures.get(name), MEASURES.get(name)
        if declared is None:
            return MEASURES[name]
        better: Better | None = declared.better or (listed.better if listed else None)
        scale: Scale = declared.scale or (listed.scale if listed else "ratio")
        title = declared.title or (listed.title if listed else name.replace("_", " ").capitalize())
        unit = declared.unit or (listed.unit if listed else "1")
        return Measure(
            name, title, unit, better, scale, "measured", listed.symbol if listed else ""
        )


def load_protocol(reference: str | Path, relative_to: Path | None = None) -> Protocol:
    """Read a protocol.

    Parameters
    ----------
    reference : str or Path
        The id of a shipped protocol, or the path of a file.
    relative_to : Path, optional
        The folder that a relative path starts from.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    protocol, findings = find_protocol(reference, relative_to)
    if protocol is None or findings:
        raise InputError(findings)
    return protocol


def find_protocol(
    reference: str | Path, relative_to: Path | None = None, place: Place | None = None
) -> tuple[Protocol | None, list[Finding]]:
    """Read a protocol by id or path, and everything that is wrong with it.

    `place` is where the reference stands, for a reference that leads nowhere.
    """
    text = str(reference)
    path = shipped().get(text) if isinstance(reference, str) else None
    if path is None:
        path = Path(reference) if relative_to is None else relative_to / Path(reference)
        looks_like_id = "/" not in text and "\\" not in text and "." not in text
        if looks_like_id and not path.is_file():
            near = nearest(text, shipped())
            fix = (
                f"did you mean '{near}'?"
                if near
                else (f"shipped are: {', '.join(shipped())}; the name of a file ends in .yaml")
            )
            return None, [
                Finding(
                    "unknown-protocol", Severity.ERROR, f"there is no protocol '{text}'", fix, place
                )
            ]
        if place is not None and not path.exists():
            return None, [
                Finding(
                    "missing-file",
                    Severity.ERROR,
                    f"there is no protocol file '{path}'",
                    "check the name; it is looked for from this file's folder",
                    place,
                )
            ]
    document, findings = scan_document(path)
    if document is None:
        return None, findings
    protocol, more = build_protocol(document)
    return protocol, in_order([*findings, *more])


def build_protocol(document: Document) -> tuple[Protocol | None, list[Finding]]:
    """Make a protocol of a document's data, and tell everything that is wrong with it."""
    findings: list[Finding] = []
    protocol: Protocol | None = None
    try:
        protocol = Protocol.model_validate(document.data)
        protocol._document = document
    except ValidationError as error:
        findings = findings_of(error, document, Protocol)
    told = {(f.place.line, f.place.column) for f in findings if f.place and f.place.line}
    for finding in protocol_findings(document):
        at = (finding.place.line, finding.place.column) if finding.place else None
        if at not in told:
            findings.append(finding)
    return (None if findings else protocol), in_order(findings)
