"""The claims: what was published, figure by figure, and what is known of how it was got."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, PrivateAttr

from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.claims.figure_reading import FigureIn
from slackwater.protocol.claims.place import Place, PlaceIn
from slackwater.protocol.declared.protocol_parts import Part, PriorNoise
from slackwater.protocol.files.scalars import (
    AnyQuantity,
    File,
    Name,
    NotNegative,
    OptionalText,
    QuantityIn,
    Snake,
    Text,
    WholeIn,
)
from slackwater.protocol.files.source import Document, document_of
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import Quantity

AnyFigure = Annotated[Figure, FigureIn()]
Change = Annotated[Figure, FigureIn(example="+5.6 %")]
Volume = Annotated[Figure, FigureIn(("L",), "700 L", "fuel_capacity")]
Reserve = Annotated[Figure, FigureIn(("%", "L"), "10 %")]
Length = Annotated[Figure, FigureIn(("m",), "9.1 m", "waterline_length")]
Pitch = Annotated[Figure, FigureIn(("m",), "24 in", "propeller_pitch")]
Mass = Annotated[Figure, FigureIn(("kg",), "6200 kg", "displacement")]
Power = Annotated[Figure, FigureIn(("kW",), "150 kW", "shaft_power")]
Ratio = Annotated[Figure, FigureIn(("1",), "1.75", "gear_ratio")]
Whole = Annotated[int, WholeIn(1, 10_000)]
Drift = Annotated[Quantity, QuantityIn(("kn",), "not negative", "0.8 kn")]


class Behind(Part):
    """What is known of how a figure was got."""

    sessions: Whole | None = Field(
        default=None, description="Sessions behind each figure, for each configuration."
    )
    double_runs: Whole | None = Field(
        default=None, description="Double runs, or runs one way, behind each figure and session."
    )
    directions: Literal["both", "one_way"] | None = Field(
        default=None, description="Whether the runs went both ways."
    )
    current: Drift | None = Field(default=None, description="Strongest current along the course.")


class Stated(Part):
    """What a claim states; whatever was stated, as it was printed."""

    baseline: AnyFigure | None = Field(default=None, description="The value before the change.")
    modified: AnyFigure | None = Field(default=None, description="The value after the change.")
    difference: AnyFigure | None = Field(default=None, description="Modified less baseline.")
    change: Change | None = Field(default=None, description="The difference as a percentage.")
    change_of: Literal["baseline", "modified"] = Field(
        default="baseline", description="What the percentage is said to be a percentage of."
    )

    @property
    def figures(self) -> dict[str, Figure]:
        """The figures stated, by name."""
        names = ("baseline", "modified", "difference", "change")
        return {name: figure for name in names if (figure := getattr(self, name)) is not None}


class Sides(Part):
    """Further figures that the text gives for the two configurations at the same place."""

    baseline: dict[Snake, AnyFigure] = Field(
        default_factory=dict, description="With the baseline, by quantity."
    )
    modified: dict[Snake, AnyFigure] = Field(
        default_factory=dict, description="With the modified configuration, by quantity."
    )


class Portions(Part):
    """Figures that are said to add up to the ones stated."""

    baseline: tuple[AnyFigure, ...] = Field(
        default=(), max_length=200, description="Those of the baseline."
    )
    modified: tuple[AnyFigure, ...] = Field(
        default=(), max_length=200, description="Those of the modified."
    )


class Counts(Part):
    """Whole counts that a stated mean or share comes from."""

    of: Whole = Field(description="How many whole numbers were averaged, or the share is of.")
    items: Whole = Field(default=1, description="How many whole numbers each of them is a mean of.")


class Selection(Part):
    """How the published figures were chosen among those measured."""

    set_points: Whole | None = Field(
        default=None, description="How many set points were measured, published or not."
    )
    chosen: Literal["beforehand", "afterwards"] | None = Field(
        default=None, description="Whether what is quoted was fixed before the data were seen."
    )


class PublishedBoat(Part):
    """What the text says of the boat; only what is used to check its figures."""

    title: Text = Field(default="", description="What she is called here.")
    fuel_capacity: Volume | None = Field(default=None, description="Usable fuel.")
    fuel_reserve: Reserve | None = Field(default=None, description="Fuel kept back for the range.")
    fuel: Literal["diesel", "petrol"] | None = Field(default=None, description="Kind of fuel.")
    waterline_length: Length | None = Field(default=None, description="Waterline at rest.")
    displacement: Mass | None = Field(default=None, description="Displacement as run.")
    engine_power: Power | None = Field(default=None, description="Rated power of all engines.")
    gear_ratio: Ratio | None = Field(
        default=None, description="Engine turns for one of the propeller."
    )
    propeller_pitch: Pitch | None = Field(default=None, description="Pitch of the propeller.")


class PublishedConfiguration(Part):
    """What the text says of one configuration."""

    title: Text = Field(default="", description="As people read it.")
    gear_ratio: Ratio | None = Field(
        default=None, description="Engine turns for one of the propeller."
    )
    propeller_pitch: Pitch | None = Field(default=None, description="Pitch of the propeller.")


class Claim(Part):
    """One claim."""

    id: Name = Field(description="A short name for the claim, such as C1.")
    quantity: Snake = Field(
        description="A quantity of the catalogue, or a measure of the trial; 'slackwater audit --list' "
        "shows them.",
        examples=["speed", "fuel_flow", "economy"],
    )
    baseline: Name = Field(default="baseline", description="The configuration compared with.")
    modified: Name = Field(default="modified", description="The configuration with the change.")
    place: Annotated[Place, PlaceIn()] | None = Field(
        default=None,
        alias="at",
        description="The set point, or the speed of a comparison at equal speed; a range of "
        "either, which means their average; everywhere, anywhere (where it is best) or average.",
    )
    at_modified: AnyQuantity | None = Field(
        default=None, description="The set point of the modified, where it was another one."
    )
    says: OptionalText = Field(default="", description="The sentence as it was published.")
    stated: Stated = Field(description="The figures as published.")
    beside: Sides = Field(default_factory=Sides, description="Further figures of the same place.")
    parts: Portions = Field(default_factory=Portions, description="What the figures are totals of.")
    counts: Counts | None = Field(default=None, description="Whole counts behind the figures.")
    best_of: Whole | None = Field(
        default=None, description="The figure quoted is the best of so many."
    )
    chosen: Literal["beforehand", "afterwards"] | None = Field(
        default=None, description="Whether the claim was fixed before the data were seen."
    )
    behind: Behind | None = Field(
        default=None, description="What is known of how these figures were got, where it differs."
    )
    note: OptionalText = Field(default="", description="Anything else.")

    @property
    def at(self) -> Quantity | None:
        """The one place that it speaks of; None for a range, and where none is named."""
        return None if self.place is None else self.place.single


@dataclass(frozen=True, slots=True)
class Unread:
    """A claim that cannot be read, and why; the others of its file go on without it.

    Attributes
    ----------
    index : int
        Its place among the claims of the file.
    id, quantity, at, says : str
        As they stand there, as far as they can be told.
    findings : tuple of Finding
    """

    index: int
    id: str
    quantity: str
    at: str
    says: str
    findings: tuple[Finding, ...]


class Claims(Part):
    """What was published, claim by claim."""

    title: Text = Field(default="", description="What was published, and where.")
    trial: File | None = Field(
        default=None,
        description="The trial behind it; without one only the figures are audited.",
        examples=["trial.yaml"],
    )
    rounding: Literal["nearest", "down"] = Field(
        default="nearest", description="How the figures were rounded: to the nearest, or cut off."
    )
    read_to: dict[Snake, AnyQuantity] = Field(
        default_factory=dict,
        description="The step that values were read to, by quantity, where that is coarser than "
        "their last digit: {speed: 0.5 kn}.",
    )
    behind_each_figure: Behind | None = Field(
        default=None, description="What is known of how each figure was got."
    )
    boat: PublishedBoat = Field(
        default_factory=PublishedBoat, description="What the text says of the boat."
    )
    configurations: dict[Name, PublishedConfiguration] = Field(
        default_factory=dict, description="What the text says of the configurations."
    )
    instruments: dict[Snake, NotNegative] = Field(
        default_factory=dict,
        description="Standard uncertainty of the instruments, absolute or a percentage.",
    )
    noise: dict[Snake, PriorNoise] = Field(
        default_factory=dict, description="What such trials are known to scatter by."
    )
    selection: Selection = Field(
        default_factory=Selection, description="How the published figures were chosen."
    )
    claims: tuple[Claim, ...] = Field(
        max_length=2_000,  # what the limits on a YAML file let through
        description="The claims, one entry each.",
        json_schema_extra={"minItems": 1},  # told of in claim_agreement, by its own words
    )

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))
    _unread: tuple[Unread, ...] = PrivateAttr(default=())

    def of(self, document: Document, unread: tuple[Unread, ...] = ()) -> Claims:
        """The same claims with the document they were read from, and what of it could not be read."""
        self._document, self._unread = document, unread
        return self

    @property
    def unread(self) -> tuple[Unread, ...]:
        """The claims of the file that could not be read, where it was read claim by claim."""
        return self._unread

    @property
    def document(self) -> Document:
        """The file it was read from, with the place of everything."""
        return self._document

    @property
    def trial_path(self) -> Path | None:
        """Where the trial is looked for: from the folder of the claims."""
        return None if self.trial is None else self._document.folder / self.trial

    def behind(self, claim: Claim) -> Behind:
        """What is known of how a claim's figures were got: its own word before that for all."""
        general, own = self.behind_each_figure or Behind(), claim.behind
        if own is None:
            return general
        return general.model_copy(
            update={name: getattr(own, name) for name in own.model_fields_set}
        )

    def of_drive(self, configuration: str, name: str) -> Figure | None:
        """Gear ratio or pitch of a configuration: its own, or the boat's."""
        own = self.configurations.get(configuration)
        figure = getattr(own, name) if own is not None else None
        found = figure if figure is not None else getattr(self.boat, name)
        return found if isinstance(found, Figure) else None
