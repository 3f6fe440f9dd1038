"""Where the rows of a run table come from, as the cutting of logs wrote it down beside the table."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from slackwater.protocol.files.reading import NotRegular, TooLong, read_bytes

MOST = 1 << 26  # [bytes]; far more than the runs of any trial take

Count = Annotated[int, Field(ge=0)]
Sha = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


M = TypeVar("M", bound=BaseModel)


class Unreadable(ValueError):
    """A file that tells of no runs cut from logs; says why."""


class Part(BaseModel):
    """What a file of provenance has; further keys are allowed."""

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True, allow_inf_nan=False)


class Counted(Part):
    """What gave no value, and how often."""

    reason: str
    count: Count


class CutLog(Part):
    """A log that runs were cut from."""

    file: str = Field(description="as it was given")
    sha256: Sha = Field(description="of its bytes; of the archive that it stands in")
    form: str
    lines: Count = Field(description="lines, frames, points or records of the file")
    faults: tuple[Counted, ...]
    notes: tuple[str, ...]


class Offered(Part):
    """A source that a quantity might have been taken from, with what it was judged by."""

    source: str
    sessions: Count = Field(description="in which it has values")
    seconds: Count = Field(description="in which it has a value")
    repeats: float = Field(description="values that repeat the one before [1]")
    noise: float | None = Field(
        description="what values stray from their mean over 9 s, standard deviation [unit of the quantity]"
    )
    against: tuple[str, ...] = Field(description="what speaks against it beside the others")


class Source(Part):
    """The source that a quantity was taken from, in all sessions alike."""

    quantity: str
    source: str
    others: tuple[str, ...] = Field(description="sources not taken")
    sessions: Count = Field(description="in which it has values")
    seconds: Count = Field(description="in which it has a value")
    repeats: float = Field(description="values that repeat the one before [1]")
    by_user: bool = Field(description="whether it was asked for")
    why: str = Field(description="why it was taken")
    offered: tuple[Offered, ...] = Field(description="all that have values, the best first")


class SetPoint(Part):
    """A set point, and from where to where it counts as held."""

    value: float
    low: float
    high: float


class Parameters(Part):
    """What runs were cut by."""

    held: str
    unit: str = Field(description="of the set points")
    set_points: tuple[SetPoint, ...]
    settle: float = Field(description="[s]")
    record: float = Field(description="[s]")
    reciprocal_within: float = Field(description="[deg]")
    ahead_of_utc: float = Field(description="of the clock of the runs [s]")


class Lines(Part):
    """The lines of a log that a reading comes from."""

    file: str
    first: Count = Field(alias="from")
    last: Count = Field(alias="to")


class CutReading(Part):
    """What a mean over a run is made of."""

    unit: str
    sources: tuple[str, ...]
    used: Count = Field(description="samples in it")
    missing: Count = Field(description="samples that the usual rate would have given besides")
    lines: tuple[Lines, ...]


class Run(Part):
    """A run that was cut."""

    row: Count = Field(description="of the run table, the headings being row 1")
    set_point: float
    double_run: Count | None
    direction: str
    course: float = Field(description="made good [deg]")
    start: str = Field(description="ISO 8601, on the clock of the runs")
    seconds: tuple[float, float] = Field(description="since 1970-01-01 UTC")
    water_shared: float = Field(description="with its partner [1]")
    paired_by: Literal["water", "order"] | None = Field(
        default=None,
        description="what made it a double run: the water that both cover, or that the partner is the run next to it; "
        "null without a partner",
    )
    set_aside: str | None = Field(description="why; null for a run that is used")
    readings: dict[str, CutReading]


class Stretch(Part):
    """A steady stretch that is no run."""

    start: str = Field(alias="from")
    end: str = Field(alias="to")
    speed_over_ground: float = Field(description="[kn]")
    near: float | None = Field(description="the set point that was meant, where it is known")
    reason: str


class Missing(Part):
    """Runs that were planned and not found."""

    set_point: float
    direction: str
    runs: Count
    reason: str


class CutLag(Part):
    """By how much one channel comes after another that shows the same of the boat."""

    of: tuple[str, ...]
    after: tuple[str, ...]
    seconds: float = Field(description="[s]")
    likeness: float = Field(description="correlation of their changes at that lag [1]")
    common: float = Field(description="for how long both were recorded [s]")


class CutSession(Part):
    """What was cut of one session."""

    session: str
    placed_by: str = Field(description="what told the set points")
    why_none: str | None = Field(description="why there is no run")
    runs: tuple[Run, ...]
    left_out: tuple[Stretch, ...]
    missing: tuple[Missing, ...]
    lags: tuple[CutLag, ...]
    notes: tuple[str, ...]


class CutTable(Part):
    """The run table as it was cut."""

    sha256: Sha
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Provenance(Part):
    """Everything that is known of where runs come from."""

    trial: str
    protocol: str
    logs: tuple[CutLog, ...]
    sources: tuple[Source, ...]
    criteria: str = Field(description="by which sources were chosen")
    parameters: Parameters
    sessions: tuple[CutSession, ...]
    notes: tuple[str, ...]
    table: CutTable

    @property
    def runs(self) -> list[tuple[str, Run]]:
        """Every run with the id of its session."""
        return [(each.session, run) for each in self.sessions for run in each.runs]

    def to_dict(self) -> dict[str, Any]:
        """The same as data, without the table, which stands elsewhere."""
        return self.model_dump(mode="json", by_alias=True, exclude={"table"})


def read_provenance(path: Path) -> Provenance:
    """Read such a file.

    Raises
    ------
    Unreadable
        When it cannot be read, or tells of something else.
    """
    return provenance_of(bytes_of(path))


def bytes_of(path: Path) -> bytes:
    """The bytes of such a file.

    Raises
    ------
    Unreadable
    """
    try:
        return read_bytes(path, MOST)
    except NotRegular:
        raise Unreadable("it is no regular file") from None
    except TooLong:
        raise Unreadable(f"it has more than {MOST >> 20} MiB") from None
    except (OSError, ValueError) as error:
        raise Unreadable(str(getattr(error, "strerror", None) or error)) from None


def provenance_of(data: str | bytes) -> Provenance:
    """Provenance from its JSON.

    Raises
    ------
    Unreadable
        When it tells of something else.
    """
    return told_by(Provenance, data)


def told_by(model: type[M], data: str | bytes) -> M:
    """One of these models from its JSON.

    Raises
    ------
    Unreadable
        When it tells of something else.
    """
    try:
        return model.model_validate_json(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        at = ".".join(str(part) for part in first["loc"]) or "the top"
        raise Unreadable(f"at {at}: {first['msg']}") from None
    except ValueError as error:  # more digits or levels than any number or list has
        raise Unreadable(str(error)) from None
