"""The trial: what was run, on which boat, in which configurations and sessions."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr, ValidationError
from pydantic_core import core_schema

from slackwater.protocol.declared.asked import Correction, Duty, Price
from slackwater.protocol.declared.cutting import Cutting, LogFile
from slackwater.protocol.declared.protocol import Protocol, build_protocol, find_protocol
from slackwater.protocol.declared.protocol_parts import Part, Waiver
from slackwater.protocol.declared.speeds import Cruise, Speeds
from slackwater.protocol.declared.trial_agreement import trial_findings
from slackwater.protocol.files.dates import Day, Moment
from slackwater.protocol.files.kinds import load_as
from slackwater.protocol.files.model_faults import at, findings_of, in_order
from slackwater.protocol.files.scalars import (
    AnyQuantity,
    Count,
    File,
    Flag,
    Kebab,
    Name,
    NumberIn,
    OptionalText,
    QuantityIn,
    Snake,
    Text,
    Unit,
)
from slackwater.protocol.files.source import Document, document_of
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import Quantity


def _in(of: str, sign: str, example: str, *likes: str) -> QuantityIn:
    """A quantity of the boat or the day; what is possible stands in its row of `possible.POSSIBLE`."""
    return QuantityIn(likes, sign, example, of)


Mass = Annotated[Quantity, _in("displacement", "positive", "6200 ± 40 kg", "kg")]
Density = Annotated[Quantity, _in("fuel_density", "positive", "0.84 kg/L", "kg/m^3")]
Inclination = Annotated[Quantity, _in("trim", "", "2 deg", "deg")]
LengthOverall = Annotated[Quantity, _in("length_overall", "positive", "10.5 m", "m")]
WaterlineLength = Annotated[Quantity, _in("waterline_length", "positive", "9.1 m", "m")]
Beam = Annotated[Quantity, _in("beam", "positive", "3.2 m", "m")]
Draught = Annotated[Quantity, _in("draught", "positive", "0.8 m", "m")]
PropellerPitch = Annotated[Quantity, _in("propeller_pitch", "positive", "24 in", "m")]
PropellerDiameter = Annotated[Quantity, _in("propeller_diameter", "positive", "22 in", "m")]
WaterDepth = Annotated[Quantity, _in("water_depth", "positive", "14 m", "m")]
FuelCapacity = Annotated[Quantity, _in("fuel_capacity", "positive", "700 L", "L")]
Reserve = Annotated[Quantity, _in("fuel_reserve", "not negative", "10 %", "%", "L")]
Fuel = Annotated[Quantity, _in("fuel", "not negative", "80 %", "%", "L", "kg")]
BallastAboard = Annotated[Quantity, _in("ballast", "not negative", "120 kg", "kg", "L")]
WindSpeed = Annotated[Quantity, _in("wind_speed", "not negative", "5 kn", "kn")]
WaveHeight = Annotated[Quantity, _in("wave_height", "not negative", "0.2 m", "m")]
SwellHeight = Annotated[Quantity, _in("swell_height", "not negative", "0.2 m", "m")]
WavePeriod = Annotated[Quantity, _in("wave_period", "positive", "3 s", "s")]
Current = Annotated[Quantity, _in("current", "", "0.8 kn", "kn")]
WaterTemperature = Annotated[Quantity, _in("water_temperature", "", "11 degC", "degC")]
AirTemperature = Annotated[Quantity, _in("air_temperature", "", "11 degC", "degC")]
WaterDensity = Annotated[Quantity, _in("water_density", "positive", "1025 kg/m^3", "kg/m^3")]
AirPressure = Annotated[Quantity, _in("air_pressure", "positive", "1013 hPa", "hPa")]
Gearing = Annotated[float, NumberIn("gear_ratio")]
Engines = Annotated[tuple[Name, ...], Field(min_length=1, max_length=12)]
Dates = Literal["year first", "day first", "month first", "of the session"]


class ProtocolReference:
    """Marks the key under which a trial names its protocol, or carries it inline."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        # Resolved before the trial is validated, so that both files' errors are told at once.
        return core_schema.any_schema()

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"type": ["string", "object"]}  # the object's own schema is put in by schema.py


class Boat(Part):
    """The boat under trial."""

    title: Text = Field(default="", description="What she is called here.")
    length_overall: LengthOverall | None = Field(default=None, description="Length over all.")
    waterline_length: WaterlineLength | None = Field(
        default=None, description="Length of the waterline at rest."
    )
    beam: Beam | None = Field(default=None, description="Largest beam.")
    draught: Draught | None = Field(
        default=None, description="Draught at rest, loaded for the trial."
    )
    displacement: Mass | None = Field(
        default=None, description="Displacement loaded for the trial."
    )
    fuel_capacity: FuelCapacity | None = Field(
        default=None, description="Usable volume of the fuel tanks."
    )
    fuel_reserve: Reserve | None = Field(
        default=None,
        description="Fuel kept back when a range is reckoned; a volume or part of capacity.",
    )
    fuel_density: Density | None = Field(default=None, description="Density of the fuel.")
    note: OptionalText = Field(default="", description="Anything else.")


class Configuration(Part):
    """The boat as fitted: the baseline, or with the change under test."""

    title: Text = Field(default="", description="As people read it.")
    propeller: Text = Field(
        default="",
        description="Which propeller is fitted, by any name: another name is another propeller.",
    )
    propeller_pitch: PropellerPitch | None = Field(
        default=None, description="Pitch of the propeller."
    )
    propeller_diameter: PropellerDiameter | None = Field(
        default=None, description="Diameter of the propeller."
    )
    gear_ratio: Gearing | None = Field(
        default=None, description="Turns of the engine for one turn of the propeller."
    )
    note: OptionalText = Field(default="", description="What else is fitted, or was changed.")


class ComparisonPair(Part):
    """Two configurations to be compared."""

    baseline: Name = Field(description="The configuration compared with.")
    modified: Name = Field(description="The configuration under test.")


class Session(Part):
    """One stretch on the water with one configuration fitted."""

    id: Name = Field(description="The name that the run table knows the session by.")
    configuration: Name = Field(description="The configuration that was fitted.")
    date: Day | None = Field(default=None, description="The day, year-month-day.")
    start: Moment | None = Field(default=None, description="When the session began.")
    end: Moment | None = Field(default=None, description="When it ended.")
    displacement: Mass | None = Field(default=None, description="Displacement as loaded.")
    fuel: Fuel | None = Field(
        default=None, description="Fuel aboard: part of capacity, volume or mass."
    )
    ballast: BallastAboard | None = Field(default=None, description="Ballast aboard.")
    crew: Count | None = Field(default=None, description="Persons aboard.")
    sailed_by: OptionalText = Field(
        default="",
        description="Which crew took her out, where that is not the trial's: a word for the crew, not for "
        "its persons.",
    )
    trim: Inclination | None = Field(
        default=None, description="Trim at rest, positive by the stern."
    )
    heel: Inclination | None = Field(
        default=None, description="Heel at rest, positive to starboard."
    )
    draught: Draught | None = Field(default=None, description="Draught at rest.")
    wind_speed: WindSpeed | None = Field(
        default=None, description="True wind speed, the session's highest mean."
    )
    wave_height: WaveHeight | None = Field(default=None, description="Significant wave height.")
    wave_period: WavePeriod | None = Field(default=None, description="Wave period.")
    swell_height: SwellHeight | None = Field(default=None, description="Swell height.")
    water_depth: WaterDepth | None = Field(
        default=None, description="Least depth of water under way."
    )
    current: Current | None = Field(default=None, description="Strongest current along the course.")
    water_temperature: WaterTemperature | None = Field(
        default=None, description="Temperature of the water."
    )
    air_temperature: AirTemperature | None = Field(
        default=None, description="Temperature of the air."
    )
    water_density: WaterDensity | None = Field(default=None, description="Density of the water.")
    air_pressure: AirPressure | None = Field(default=None, description="Pressure of the air.")
    further: dict[Snake, AnyQuantity] = Field(
        default_factory=dict,
        description="Further conditions that the protocol limits under names of its own.",
    )
    note: OptionalText = Field(default="", description="Anything that happened.")

    @property
    def day(self) -> str:
        """The day as the block it belongs to, `2026-05-04`; empty when it is not given."""
        if self.date is not None:
            return self.date.isoformat()
        return self.start.date().isoformat() if isinstance(self.start, datetime) else ""

    def value(self, name: str) -> Quantity | None:
        """What was noted of a condition or of the loading; None when it was not."""
        found = getattr(self, name, None) if name in type(self).model_fields else None
        return found if isinstance(found, Quantity) else self.further.get(name)


class Trial(Part):
    """What was run."""

    trial: Kebab = Field(description="Id of the trial, small letters and hyphens.")
    protocol: Annotated[Protocol, ProtocolReference()] = Field(
        description="The id of a shipped protocol, the path of one from this file's folder, "
        "or a protocol written out here."
    )
    title: Text = Field(default="", description="What was tried, in one sentence.")
    invented: Flag = Field(
        default=False,
        description="Nothing was measured: the figures are made up, for practice. Every report says so.",
    )
    sailed_by: OptionalText = Field(
        default="",
        description="Which crew took her out: a word for the crew, not for its persons. Trials of one boat "
        "by several crews tell what crews differ by.",
        examples=["north"],
    )
    boat: Boat = Field(default_factory=Boat, description="The boat under trial.")
    configurations: dict[Name, Configuration] = Field(
        min_length=1,
        description="The boat as fitted, by name; the baseline first.",
    )
    comparisons: tuple[ComparisonPair, ...] = Field(
        default=(),
        description="Which configurations are compared; the first with the second where there are "
        "two and none is named.",
    )
    sessions: tuple[Session, ...] = Field(
        default=(), max_length=1000, description="The sessions, in order."
    )
    runs: File = Field(
        default=Path("runs.csv"), description="The table of runs, from this file's folder."
    )
    logs: tuple[LogFile, ...] = Field(
        default_factory=tuple,
        min_length=1,
        max_length=200,
        description="What the instruments wrote, in place of a table of runs, from this file's folder.",
    )
    cut: Cutting = Field(
        default_factory=Cutting,
        description="How runs are cut from logs, where that has to be said.",
    )
    ratings: File | None = Field(
        default=None,
        description="The table of what raters scored, from this file's folder: a row for each session, "
        "item and rater.",
    )
    manoeuvres: File | None = Field(
        default=None,
        description="The table of tries of manoeuvres, from this file's folder: a row for each try, with session, "
        "manoeuvre, direction, try and a column for each value, its unit in the heading; helmsman, set_aside and note "
        "where they are wanted.",
    )
    raters_aware: tuple[Name, ...] = Field(
        default=(),
        max_length=50,
        description="Raters who knew which configuration was fitted, though the protocol has them blind.",
    )
    speeds: Speeds = ()
    cruise: Cruise | None = None
    duty: Duty | None = Field(
        default=None, description="What the boat is used for, so that a saving has a size."
    )
    price: Price | None = Field(
        default=None, description="What the change and the fuel cost, for the pay-back time."
    )
    corrections: tuple[Correction, ...] = Field(
        default=(),
        max_length=20,
        description="What differed between the sessions and is to be allowed for.",
    )
    units: dict[Snake, Unit] = Field(
        default_factory=dict, description="Units of columns whose heading carries none."
    )
    columns: dict[Snake, Name | Engines] = Field(
        default_factory=dict,
        description="The file's own headings, by measure; a list where each engine has a column, "
        "and for a start whose date and time stand apart.",
        examples=[{"speed_over_ground": "GPS speed", "fuel_flow": ["Port [L/h]", "Stbd [L/h]"]}],
    )
    directions: dict[Name, Literal["out", "back"]] = Field(
        default_factory=dict,
        max_length=40,
        description="The file's own words for the two directions along the course.",
        examples=[{"N": "out", "S": "back"}],
    )
    dates: Dates = Field(
        default="year first",
        description="How the file writes the starts of runs that are not year-month-day: the day or "
        "the month first, or as times of day of the session's date.",
    )
    waive: tuple[Waiver, ...] = Field(
        default=(), description="Rules not to be applied to this trial, with the reason."
    )
    note: OptionalText = Field(default="", description="Anything else.")

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))

    @property
    def document(self) -> Document:
        """The file it was read from, with the place of everything."""
        return self._document

    @property
    def waivers(self) -> tuple[Waiver, ...]:
        """The protocol's waivers and the trial's own."""
        return (*self.protocol.waive, *self.waive)

    @property
    def folder(self) -> Path:
        """The folder of the file; `runs` is looked for from here."""
        return self._document.folder

    @property
    def beside(self) -> dict[str, Path]:
        """The tables that it names beside that of its runs, by what each tells of."""
        tables = {"manoeuvres": self.manoeuvres, "ratings": self.ratings}
        return {told: table for told, table in tables.items() if table is not None}

    def crew_of(self, session: Session) -> str:
        """Which crew took the boat out in a session; empty where nothing says."""
        return " ".join((session.sailed_by or self.sailed_by).split())

    def blocks(self, sessions: Iterable[str]) -> list[str] | None:
        """The day of each of the sessions, where they are compared within days; else None."""
        days = [self.session(each).day for each in sessions]
        return days if self.protocol.sessions.block == "day" and all(days) else None

    def session(self, id: str) -> Session:
        """A session by its id; KeyError when there is none."""
        for session in self.sessions:
            if session.id == id:
                return session
        raise KeyError(id)


def load_trial(path: str | Path) -> Trial:
    """Read a trial and the protocol it names.

    Raises
    ------
    InputError
        With everything that is wrong with either.
    """
    return load_as(path, "trial", build_trial)


def build_trial(document: Document) -> tuple[Trial | None, list[Finding]]:
    """Make a trial of a document's data, and tell everything that is wrong with it."""
    data = dict(document.data)
    protocol, findings = _protocol_of(document)
    data["protocol"] = protocol
    names = list(data["configurations"]) if isinstance(data.get("configurations"), dict) else []
    if len(names) == 2 and "comparisons" not in data:
        data["comparisons"] = [{"baseline": names[0], "modified": names[1]}]
    trial: Trial | None = None
    own: list[Finding] = []
    try:
        trial = Trial.model_validate(data)
        trial._document = document
    except ValidationError as error:
        own = findings_of(error, document, Trial)
    told = {(f.place.line, f.place.column) for f in own if f.place and f.place.line}
    for finding in trial_findings(document, protocol):
        place = (finding.place.line, finding.place.column) if finding.place else None
        if place not in told:
            own.append(finding)
    findings += own
    return (None if findings else trial), in_order(findings)


def _protocol_of(document: Document) -> tuple[Protocol | None, list[Finding]]:
    reference = document.data.get("protocol")
    if isinstance(reference, Protocol):
        return reference, []
    if isinstance(reference, dict):
        return build_protocol(document.part("protocol"))
    if "protocol" not in document.data:
        return None, [
            at(
                document,
                (),
                "the key 'protocol' is missing at the top level",
                "add 'protocol:' with the id of a shipped protocol, or a path",
                rule="missing-key",
            )
        ]
    if not isinstance(reference, str) or not reference.strip():
        return None, [
            at(
                document,
                ("protocol",),
                "no protocol is named here",
                "write the id of a shipped protocol, or the path of a file",
            )
        ]
    return find_protocol(reference.strip(), document.folder, document.place(("protocol",)))
