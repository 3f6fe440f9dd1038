"""What a tablet hands back: read strictly, whether as JSON or as the lines of its codes."""

from __future__ import annotations

import base64
import json
import re
import zlib
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from slackwater.analysis.wording.characters import printable
from slackwater.protocol.files.reading import NotRegular, TooLong, read_bytes
from slackwater.protocol.findings import Finding, InputError, Place, Severity

MOST_BYTES = 20_000_000
MOST_ROWS = 50_000
_LINE = re.compile(r"SLACKWATER ([0-9a-f]{4}) ([0-9]{1,4})/([0-9]{1,4}) ([A-Za-z0-9+/=]+)")
_FIX = "save it on the tablet once more, with its history as JSON, and give that file"

Text = Annotated[str, Field(max_length=1000)]
Short = Annotated[str, Field(max_length=200)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Entry(_Part):
    """One entry, in the order in which it was made; none is ever changed or erased."""

    n: int = Field(ge=1, description="Its number, from 1.")
    at: Short = Field(description="When it was made, in UTC, by the clock of the device.")
    zone: int = Field(description="By how much local time was ahead of UTC. [min]")
    by: Short = Field(description="Who noted, as given; empty where nobody said.")
    run: Short = Field(
        description="What it is about: a run, such as s0r3a1 (session from 0, number in it, attempt), a try, such "
        "as s0t3a1, or what a rater scores, such as s0p3a1; else empty."
    )
    name: Short = Field(
        description="A column of its table, an item that is scored, or: by, ready, device, settle, done, repeat, undo "
        "(of the entry whose number is the value), clock (it was set, by seconds), noted …"
    )
    value: Text = Field(description="What was entered.")
    from_: Literal["typed", "clock", "receiver", "before", "invented"] = Field(
        alias="from",
        description="Where it came from; `before` is what held in the try before.",
    )
    more: dict[Short, float | None] = Field(
        default_factory=dict,
        description="Of the receiver: fixes, their scatter in the unit of the column, and the "
        "poorest accuracy [m].",
    )


class Rows(_Part):
    """Rows of a table, as they stand in it."""

    head: dict[Short, Short] = Field(description="Columns: names and headings.")
    rows: Annotated[list[dict[Short, Text]], Field(max_length=MOST_ROWS)] = Field(
        description="The rows of everything begun, in order; cells as text, as in the table."
    )


class NotedSession(_Part):
    """What was noted once of a session."""

    id: Short = Field(description="Of the session.")
    configuration: Short = Field(description="What was fitted.")
    noted: dict[Short, Text] = Field(description="Conditions and loading, with their units.")
    remark: Text = Field(description="Anything else.")


class Tool(_Part):
    """What made the page."""

    name: Literal["slackwater"]
    version: Short


class ProtocolNamed(_Part):
    """The protocol that the page was made from."""

    id: Short
    version: Short


class Aboard(_Part):
    """What one device hands back of one sheet."""

    schema_: Literal[1] = Field(alias="schema", description="Version of this description.")
    tool: Tool
    kind: Literal["aboard"]
    sheet: Annotated[str, Field(pattern="^[0-9a-f]{16}$")] = Field(
        description="Name of the plan: pages made from the same plan have the same."
    )
    trial: Short = Field(description="Id of the trial; empty for a page made from a protocol.")
    protocol: ProtocolNamed
    rehearsal: bool = Field(description="Every reading is invented.")
    device: Annotated[str, Field(pattern="^[0-9a-f]{0,16}$")] = Field(
        description="A name of the device and browser, drawn when the page was first opened."
    )
    written: Short = Field(description="When it was handed back.")
    head: dict[Short, Short] = Field(description="Columns of the run table: names and headings.")
    rows: Annotated[list[dict[Short, Text]], Field(max_length=MOST_ROWS)] = Field(
        description="The rows of every session begun, in order; cells as text, as in the table."
    )
    tries: Rows | None = Field(
        default=None, description="The table of tries, where the protocol has manoeuvres."
    )
    ratings: Rows | None = Field(
        default=None, description="The table of what raters scored, of the page that is theirs."
    )
    sessions: Annotated[list[NotedSession], Field(max_length=1000)] = Field(
        description="What was noted of the sessions."
    )
    journal: Annotated[list[Entry], Field(max_length=1_000_000)] = Field(
        description="Every entry, in order."
    )

    def table(self, name: str) -> Rows | None:
        """What it hands back of a table: "runs", "tries" or "ratings"; None where its page has none of it."""
        if name == "runs":
            return Rows.model_construct(head=self.head, rows=self.rows) if self.head else None
        return {"tries": self.tries, "ratings": self.ratings}[name]


def aboard_schema() -> dict[str, Any]:
    """The JSON Schema of the file."""
    found = Aboard.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def read_aboard(path: str) -> Aboard:
    """Read a file that a tablet handed back.

    Raises
    ------
    InputError
        When it is not such a file, or not whole, with where and what to do.
    """
    try:
        data = read_bytes(path, MOST_BYTES)
    except (NotRegular, TooLong) as error:
        raise _unfit(
            path, f"it cannot be read: {error}", "give the file saved on the tablet"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unfit(path, f"it cannot be read: {reason}", "check the name") from error
    return parse_aboard(data, path)


def parse_aboard(data: bytes, path: str) -> Aboard:
    """Make sense of the bytes of such a file; `path` is what findings call it.

    Raises
    ------
    InputError
    """
    try:
        text = data.decode("utf-8-sig").strip()
    except UnicodeDecodeError as error:
        raise _unfit(path, f"byte {error.start} is no text in UTF-8", _FIX) from error
    if not text.startswith("{"):
        text = _from_codes(text, path)
    try:
        found = json.loads(text, parse_constant=_refuse_constant)
        return Aboard.model_validate(found)
    except (json.JSONDecodeError, RecursionError) as error:
        where = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "somewhere"
        raise _unfit(path, f"it is cut short or changed: {where} is no JSON", _FIX) from error
    except ValidationError as error:
        raise _unfit(path, *_first_fault(error)) from error
    except ValueError as error:
        raise _unfit(path, str(error), _FIX) from error


def _refuse_constant(name: str) -> float:
    raise ValueError(f"it holds {name}, which is no number")


def _first_fault(error: ValidationError) -> tuple[str, str]:
    first = error.errors()[0]
    where = printable(".".join(str(each) for each in first["loc"]) or "the file")[:80]
    more = f" (and {error.error_count() - 1} more)" if error.error_count() > 1 else ""
    return (
        f"it is not what a tablet hands back: {where}: {printable(first['msg'])[:120]}{more}",
        _FIX,
    )


def _from_codes(text: str, path: str) -> str:
    """The text behind the lines that were read from codes, in any order and any number of times."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    parts = [_LINE.fullmatch(line) for line in lines]
    if not parts or not any(parts):
        raise _unfit(path, "it is neither JSON from a tablet nor lines of its codes", _FIX)
    strange = next((n for n, part in enumerate(parts, 1) if part is None), 0)
    if strange:
        fix = "read that code again; every line begins with SLACKWATER"
        raise _unfit(path, f"line {strange} is no line of a code", fix)
    found = [part for part in parts if part is not None]
    sets = {(part[1], int(part[3])) for part in found}
    if len(sets) > 1:
        raise _unfit(path, f"its lines are of {len(sets)} sets of codes", "give a file for each")
    all_ = int(found[0][3])
    pieces = {int(part[2]): part[4] for part in found}
    lacking = [n for n in range(1, all_ + 1) if n not in pieces]
    if lacking:
        shown = ", ".join(map(str, lacking[:12])) + (", …" if len(lacking) > 12 else "")
        raise _unfit(path, f"of {all_} codes {shown} are missing", "read them, and add their lines")
    return _unpacked("".join(pieces[n] for n in range(1, all_ + 1)), path)


def _unpacked(message: str, path: str) -> str:
    fix = "read the codes again"
    try:
        unpacker = zlib.decompressobj(-15)
        data = unpacker.decompress(base64.b64decode(message, validate=True), MOST_BYTES)
        if unpacker.unconsumed_tail or not unpacker.eof:
            raise ValueError("more than a sheet holds")
        return data.decode("utf-8")
    except (ValueError, zlib.error) as error:
        raise _unfit(path, f"its codes do not come to a whole: {error}", fix) from error


def _unfit(path: str, message: str, fix: str) -> InputError:
    return InputError([Finding("aboard-unfit", Severity.ERROR, message, fix, Place(path))])
