"""Where the rows of a table of tries come from, as the finding of tries in logs wrote it down beside the table."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from slackwater.analysis.intake.provenance import (
    Count,
    CutLog,
    CutTable,
    Lines,
    Part,
    Source,
    bytes_of,
    told_by,
)

Point = tuple[float, float]


class TurnTrack(Part):
    """The track of a turn about the place where the helm was put over, the approach upwards. [m]"""

    side: Literal["port", "starboard"]
    over_ground: tuple[Point, ...] = Field(description="across and along, as recorded [m]")
    freed: tuple[Point, ...] | None = Field(
        description="with the drift taken out; null where it is not known [m]"
    )
    marks: tuple[Point, ...] = Field(
        description="where she had turned by 90, 180 and 360 degrees, as far as she did [m]"
    )


class TakenOut(Part):
    """The drift that a turn was freed of."""

    speed: float
    unit: str
    towards: float = Field(description="[deg]")
    standard_uncertainty: float | None = Field(description="of either component [kn]")
    by: str = Field(description="what told it")


class Value(Part):
    """What was read of a try, or why it was not."""

    value: float | None
    unit: str
    standard_uncertainty: float | None = Field(description="from the noise of the log [unit]")
    why_not: str | None


class SourceRead(Part):
    """Samples of a source during a try, and the lines that they stand in."""

    quantity: str
    source: str
    samples: Count
    lines: tuple[Lines, ...]


class FoundTry(Part):
    """A try that was found."""

    row: Count = Field(description="of the table of tries, the headings being row 1")
    manoeuvre: str
    direction: str = Field(description="empty where nothing tells it")
    number: Count = Field(alias="try", description="from 1 within manoeuvre and direction")
    start: str = Field(description="ISO 8601, on the clock of the tries")
    seconds: tuple[float, float] = Field(description="from order to end, since 1970-01-01 UTC")
    course: float | None = Field(description="that it began on [deg]")
    turned: float | None = Field(description="[deg]")
    drift: TakenOut | None = Field(description="taken out of a turn")
    values: dict[str, Value]
    set_aside: str | None = Field(description="why; null for one that is used")
    notes: tuple[str, ...]
    track: TurnTrack | None = Field(description="of a turn")
    readings: tuple[SourceRead, ...]


class NoTry(Part):
    """A stretch that might be taken for a try and is none."""

    start: str = Field(alias="from")
    end: str = Field(alias="to")
    reason: str


class Counted(Part):
    """Tries found that are not set aside, beside those planned."""

    manoeuvre: str
    direction: str
    found: Count
    planned: Count


class TriedSession(Part):
    """What was found of one session."""

    session: str
    tries: tuple[FoundTry, ...]
    left_out: tuple[NoTry, ...]
    counts: tuple[Counted, ...]
    notes: tuple[str, ...]


class TryProvenance(Part):
    """Everything that is known of where tries come from."""

    trial: str
    protocol: str
    logs: tuple[CutLog, ...]
    sources: tuple[Source, ...]
    criteria: str = Field(description="by which sources were chosen")
    read_by: dict[str, str] = Field(
        default_factory=dict,
        description="how values are read that the protocol itself says how to read, by name",
    )
    ahead_of_utc: float = Field(description="of the clock of the tries [s]")
    sessions: tuple[TriedSession, ...]
    notes: tuple[str, ...]
    table: CutTable

    @property
    def tries(self) -> list[tuple[str, FoundTry]]:
        """Every try with the id of its session."""
        return [(each.session, one) for each in self.sessions for one in each.tries]

    def to_dict(self) -> dict[str, Any]:
        """The same as data, without the table, which stands elsewhere."""
        return self.model_dump(mode="json", by_alias=True, exclude={"table"})


def read_try_provenance(path: Path) -> TryProvenance:
    """Read such a file.

    Raises
    ------
    Unreadable
        When it cannot be read, or tells of something else.
    """
    return told_by(TryProvenance, bytes_of(path))
