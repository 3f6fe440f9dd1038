"""The protocol: how a trial has to be run."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Annotated

from pydantic import Field, PrivateAttr, ValidationError

from slackwater.protocol.catalogue.measures import MEASURES, Better, Measure, Scale, nearest
from slackwater.protocol.catalogue.recipes import OF_A_RUN, SPEEDS, given
from slackwater.protocol.declared.limits import CONDITION_LIMITS, LOADING_LIMITS, Limit
from slackwater.protocol.declared.manoeuvres import Manoeuvre
from slackwater.protocol.declared.protocol_agreement import protocol_findings
from slackwater.protocol.declared.protocol_parts import (
    Analysis,
    DeclaredMeasure,
    Part,
    PriorNoise,
    Runs,
    Sessions,
    Waiver,
)
from slackwater.protocol.declared.ratings import Ratings
from slackwater.protocol.files.kinds import read_as
from slackwater.protocol.files.model_faults import findings_of, in_order, shortened
from slackwater.protocol.files.reading import is_file, is_there
from slackwater.protocol.files.scalars import AnyQuantity, Kebab, Name, Snake, Text
from slackwater.protocol.files.source import Document, document_of
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.library import shipped


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
    ratings: Ratings | None = Field(
        default=None,
        description="What people score of each session, beside what is measured on its runs.",
    )
    manoeuvres: dict[Snake, Manoeuvre] = Field(
        default_factory=dict,
        max_length=20,
        description="What is timed or measured of manoeuvres in each session, beside its steady runs.",
    )
    expected: dict[Snake, Annotated[tuple[AnyQuantity, ...], Field(max_length=200)]] = Field(
        default_factory=dict,
        description="What the boat is expected to do at the set points, in their order: speed, and "
        "flows or powers where they are known. Nothing is judged by it; it lets depth, fuel and the "
        "size of differences be checked before the trial.",
        examples=[
            {"speed": ["8 kn", "14 kn", "19 kn"], "fuel_flow": ["12 L/h", "30 L/h", "55 L/h"]}
        ],
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

    @cached_property
    def set_point_values(self) -> tuple[float, ...]:
        """The set points. [set_point_unit]"""
        return tuple(v.to(self.set_point_unit).value for v in self.runs.set_points.values)

    def expected_values(self, name: str, unit: str) -> tuple[float, ...] | None:
        """What is expected at the set points [unit]; None where nothing is declared.

        A speed that is held is expected as it is held; speed over ground stands for the speed through
        the water, and the other way round.
        """
        names = ("speed", *SPEEDS) if name in ("speed", *SPEEDS) else (name,)
        declared = next((self.expected[each] for each in names if each in self.expected), None)
        if declared is None and self.set_point_measure in names:
            declared = self.runs.set_points.values
        return None if declared is None else tuple(each.to(unit).value for each in declared)

    @property
    def told(self) -> tuple[str, ...]:
        """The measures of a run: those declared, and those that a run's own figures give."""
        return (*self.measures, *(each for each in OF_A_RUN if each in self._computed))

    @property
    def rated(self) -> dict[str, Measure]:
        """What people score, as quantities; empty where nothing is."""
        return {} if self.ratings is None else self.ratings.measures

    @cached_property
    def tried(self) -> dict[str, Measure]:
        """What is read of manoeuvres, as quantities; empty where there are none."""
        return {
            name: one for each in self.manoeuvres.values() for name, one in each.measures.items()
        }

    @property
    def beside(self) -> dict[str, Measure]:
        """What is told once for a session and not by its runs: scored, or read of manoeuvres."""
        return {**self.rated, **self.tried}

    def manoeuvre_of(self, value: str) -> Manoeuvre | None:
        """The manoeuvre that a value is read of; None for any other quantity."""
        return next((each for each in self.manoeuvres.values() if value in each.values), None)

    def repeats_of(self, quantity: str) -> int:
        """What a session value of the quantity is the mean of: double runs, raters, or pairs of tries."""
        manoeuvre = self.manoeuvre_of(quantity)
        if manoeuvre is not None:
            return manoeuvre.tries
        if self.ratings is not None and quantity in self.ratings.items:
            return self.ratings.raters
        return self.runs.double_runs

    @property
    def _computed(self) -> set[str]:
        return given(self.measures) - set(self.measures)

    def measure(self, name: str) -> Measure:
        """A measure of the catalogue or of this protocol, with what the protocol declares of it.

        What people rate is one too, and what is read of manoeuvres.

        Raises
        ------
        KeyError
            When neither knows it.
        """
        declared, listed = self.measures.get(name), MEASURES.get(name)
        if declared is None:
            return self.beside.get(name) or MEASURES[name]
        better: Better | None = declared.better or (listed.better if listed else None)
        scale: Scale = declared.scale or (listed.scale if listed else "ratio")
        title = declared.title or (listed.title if listed else name.replace("_", " ").capitalize())
        unit = declared.unit or (listed.unit if listed else "1")
        combine = declared.combine or (listed.combine if listed else "mean")
        symbol = listed.symbol if listed else ""
        return Measure(name, title, unit, better, scale, "measured", symbol, combine=combine)


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
        raise InputError(shortened(findings))
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
        if looks_like_id and not is_file(path):
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
        if place is not None and not is_there(path):
            return None, [
                Finding(
                    "missing-file",
                    Severity.ERROR,
                    f"there is no protocol file '{path}'",
                    "check the name; it is looked for from this file's folder",
                    place,
                )
            ]
    return read_as(path, "protocol", build_protocol)


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
