"""The author's reply to a letter about claims: what the form was filled in with, and the claims with it.

A reply adds to what the published text says; where it says another thing than that, it counts, and
that is told. What was left as it was, a question mark, is as if it were not there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr, ValidationError

from slackwater.protocol.claims.claim import Behind, Claims, PublishedBoat, Selection, Stated
from slackwater.protocol.claims.claims_file import build_readable
from slackwater.protocol.claims.place import Place, PlaceIn
from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.dates import Day
from slackwater.protocol.files.kinds import load_as
from slackwater.protocol.files.model_faults import findings_of, in_order
from slackwater.protocol.files.scalars import File, Name, NotNegative, OptionalText, Snake, TextIn
from slackwater.protocol.files.source import Document, document_of
from slackwater.protocol.findings import Finding, InputError, Severity

#: What stands in the form where an answer is wanted.
BLANK = "?"

Sha256 = Annotated[
    str, TextIn(pattern="[0-9a-f]{64}", one_line=True, noun="a SHA-256 of 64 hexadecimal digits")
]


class Answered(Part):
    """A question that takes words, with the answer."""

    question: OptionalText = Field(default="", description="As the letter asks it.")
    answer: OptionalText = Field(default="", description="In words.")


class OfOneClaim(Part):
    """What the author says of one claim."""

    place: Annotated[Place, PlaceIn()] | None = Field(
        default=None, alias="at", description="The set point or the speed it holds at."
    )
    stated: Stated | None = Field(
        default=None, description="The figures as they should have been printed."
    )
    chosen: Literal["beforehand", "afterwards"] | None = Field(
        default=None, description="Whether the claim was fixed before the data were seen."
    )
    behind: Behind | None = Field(
        default=None, description="How these figures were got, where it differs."
    )


class SessionRun(Part):
    """A session of the table of runs, where the table does not tell of it itself."""

    configuration: Name = Field(description="What was fitted, by the name that the claims give it.")
    date: Day | None = Field(default=None, description="The day.")


class Reply(Part):
    """A reply as it is read from its file."""

    reply: Literal["1"] = Field(description="Version of this form.")
    to: OptionalText = Field(default="", description="What was published, as the letter names it.")
    by: OptionalText = Field(default="", description="Who replies.")
    claims_sha256: Sha256 | None = Field(
        default=None, description="Of the file of claims that the letter is about."
    )
    behind_each_figure: Behind | None = Field(default=None, description="How each figure was got.")
    selection: Selection | None = Field(
        default=None, description="How the published figures were chosen."
    )
    boat: PublishedBoat | None = Field(default=None, description="The boat.")
    instruments: dict[Snake, NotNegative] = Field(
        default_factory=dict, description="Standard uncertainty of the instruments."
    )
    trial: File | None = Field(
        default=None, description="A trial's file with the table of runs, sent along."
    )
    runs: File | None = Field(
        default=None, description="The table of single runs, sent along; or `trial`."
    )
    sessions: dict[Name, SessionRun] = Field(
        default_factory=dict,
        description="What each session of the table had fitted, where it does not say so itself.",
    )
    claims: dict[Name, OfOneClaim] = Field(
        default_factory=dict, description="What there is to say of single claims, by their ids."
    )
    answers: tuple[Answered, ...] = Field(
        default=(), max_length=200, description="Answers in words."
    )

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))

    @property
    def document(self) -> Document:
        """The file it was read from, without what was left blank."""
        return self._document


def load_reply(path: str | Path) -> Reply:
    """Read a reply.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    return load_as(path, "reply", build_reply)


def build_reply(document: Document) -> tuple[Reply | None, list[Finding]]:
    """Make a reply of a document's data, what was left blank taken out."""
    filled = replace(document, data=_without_blanks(document.data))
    try:
        reply = Reply.model_validate(filled.data)
    except ValidationError as error:
        return None, in_order(findings_of(error, filled, Reply))
    reply._document = filled
    return reply, []


def _without_blanks(data: Any) -> Any:
    """The data without question marks, and without what holds nothing else."""
    if isinstance(data, dict):
        kept = {key: _without_blanks(value) for key, value in data.items() if value != BLANK}
        return {key: value for key, value in kept.items() if value not in ({}, [])}
    if isinstance(data, list):
        return [_without_blanks(value) for value in data if value != BLANK]
    return data


def with_reply(claims: Claims, reply: Reply) -> tuple[Claims, tuple[Finding, ...]]:
    """The claims with what the author replied, and what a reader has to know of that.

    Raises
    ------
    InputError
        When the reply speaks of a claim that is not there, or makes the claims unfit.
    """
    if not isinstance(claims.document.data.get("claims"), list):
        raise InputError([_no_file(reply)])
    known = _by_id(claims.document.data)
    wrong = [_unknown(known, reply, id) for id in reply.claims if id not in known]
    if wrong:
        raise InputError(wrong)
    document = replace(claims.document, data=_joined(claims.document.data, reply))
    made, findings = build_readable(document)
    if made is None:
        raise InputError(findings)
    if len(made.unread) > len(claims.unread):
        raise InputError([one for each in made.unread for one in each.findings])
    return made, tuple(_told(claims, reply))


def _no_file(reply: Reply) -> Finding:
    return Finding(
        "option-unfit",
        Severity.ERROR,
        "a reply goes with a file of claims, and these claims come from a table",
        "write them to a file with --to-claims, and audit that with the reply",
        reply.document.place(),
    )


def _by_id(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The entries of a file of claims by their ids, those that could not be read among them."""
    entries = [one for one in data.get("claims", ()) if isinstance(one, dict)]
    return {one["id"]: one for one in entries if isinstance(one.get("id"), str)}


def _unknown(known: Iterable[str], reply: Reply, id: str) -> Finding:
    return Finding(
        "unknown-name",
        Severity.ERROR,
        f"there is no claim '{id}' to reply to",
        f"the claims are {', '.join([*known][:20])}",
        reply.document.place(("claims", id), key=True),
    )


def _joined(data: dict[str, Any], reply: Reply) -> dict[str, Any]:
    said = reply.document.data
    made = dict(data)
    for key in ("behind_each_figure", "selection", "boat", "instruments"):
        if key in said:
            own = data.get(key)
            made[key] = {**(own if isinstance(own, dict) else {}), **said[key]}
    if reply.trial is not None:
        made["trial"] = str((reply.document.folder / reply.trial).resolve())
    made["claims"] = [_answered(entry, said.get("claims", {})) for entry in data["claims"]]
    return made


def _answered(entry: Any, said: dict[str, Any]) -> Any:
    """An entry of the claims with what the reply says of it."""
    name = entry.get("id") if isinstance(entry, dict) else None
    return {**entry, **said[name]} if isinstance(name, str) and name in said else entry


def _told(claims: Claims, reply: Reply) -> Iterator[Finding]:
    if reply.claims_sha256 and reply.claims_sha256 != claims.document.sha256:
        yield Finding(
            "reply-to-others",
            Severity.WARNING,
            "the reply is to a letter about other claims: the file of claims has changed since",
            "look through what has changed, and write again where it matters",
            reply.document.place(("claims_sha256",)),
        )
    for path, before, after in _changed(claims.document.data, reply.document.data):
        yield Finding(
            "reply-differs",
            Severity.ADVICE,
            f"the reply says '{after}' for {'.'.join(path)}, the claims had '{before}'; the reply counts",
            "",
            reply.document.place(path),
        )


def _changed(
    data: dict[str, Any], said: dict[str, Any]
) -> Iterator[tuple[tuple[str, ...], str, str]]:
    """What the reply says otherwise than the claims: where, and both."""
    entries = _by_id(data)
    for key in _SHARED:
        yield from _differing((key,), data.get(key), said.get(key))
    for id, own in said.get("claims", {}).items():
        yield from _differing(("claims", id), entries.get(id), own)


_SHARED = ("behind_each_figure", "selection", "boat", "instruments", "trial")


def _differing(
    path: tuple[str, ...], before: Any, after: Any
) -> Iterator[tuple[tuple[str, ...], str, str]]:
    if isinstance(before, dict) and isinstance(after, dict):
        for key in after:
            yield from _differing((*path, key), before.get(key), after[key])
    elif isinstance(before, str) and isinstance(after, str) and before != after:
        yield path, before, after
