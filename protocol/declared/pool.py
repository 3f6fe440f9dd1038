"""The pool: trials of the same change on several boats, to be put together as one statement."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationError

from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.declared.worthwhile import Worthwhile
from slackwater.protocol.files.kinds import load_as
from slackwater.protocol.files.model_faults import at, findings_of, in_order
from slackwater.protocol.files.scalars import (
    AnyQuantity,
    File,
    Kebab,
    Name,
    Number,
    OptionalText,
    Snake,
    Text,
)
from slackwater.protocol.files.source import Document, document_of
from slackwater.protocol.findings import Finding

Align = Literal["set points", "froude", "top speed", "declared"]
Heterogeneity = Literal["paule-mandel", "reml"]


def _by_path(value: object) -> object:
    """A trial named by its path alone."""
    return {"trial": value} if isinstance(value, str | Path) else value


class PooledTrial(Part):
    """One trial of a pool."""

    trial: File = Field(description="The trial's file, from this file's folder.")
    boat: Name | None = Field(
        default=None, description="Which boat it is; by default what the trial calls her."
    )
    baseline: Name | None = Field(
        default=None, description="The configuration compared with, where a trial compares several."
    )
    modified: Name | None = Field(
        default=None, description="The one with the change, where a trial compares several."
    )


OneTrial = Annotated[PooledTrial, BeforeValidator(_by_path)]


class Pool(Part):
    """Which trials are put together, and what is alike in them."""

    pool: Kebab = Field(description="Id of the pool, small letters and hyphens.")
    title: Text = Field(default="", description="What was tried, in one sentence.")
    trials: tuple[OneTrial, ...] = Field(
        min_length=1, max_length=500, description="The trials, a path or an entry each."
    )
    align: Align = Field(
        default="set points",
        description="What makes places on different boats the same: the set point or speed itself, "
        "the Froude number of the waterline, the part of the baseline's top speed, or 'positions'.",
    )
    at: tuple[Number, ...] = Field(
        default=(),
        max_length=30,
        description="Froude numbers, or parts of the top speed, to compare at; round ones that the "
        "boats share by default.",
    )
    positions: dict[Name, dict[Kebab, AnyQuantity]] = Field(
        default_factory=dict,
        max_length=30,
        description="For 'align: declared': each place by a name, and where it is in each trial.",
        examples=[{"cruise": {"first-launch": "2400 rpm", "second-launch": "2600 rpm"}}],
    )
    heterogeneity: Heterogeneity = Field(
        default="paule-mandel", description="How the variance between boats is estimated."
    )
    decides: Text | None = Field(
        default=None, description="The figure that answers the question; that of the trials if one."
    )
    worthwhile: dict[Snake, Worthwhile] = Field(
        default_factory=dict,
        description="Smallest differences that matter; those of the trials where they agree.",
    )
    note: OptionalText = Field(default="", description="Anything else.")

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))

    @property
    def document(self) -> Document:
        """The file it was read from, with the place of everything."""
        return self._document

    def path_of(self, trial: PooledTrial) -> Path:
        """Where a trial's file is."""
        return self._document.folder / trial.trial


def load_pool(path: str | Path) -> Pool:
    """Read a pool.

    Raises
    ------
    InputError
        With everything that is wrong with it. The trials themselves are not looked at.
    """
    return load_as(path, "pool", build_pool)


def build_pool(document: Document) -> tuple[Pool | None, list[Finding]]:
    """Make a pool of a document's data, and tell everything that is wrong with it."""
    try:
        pool = Pool.model_validate(document.data)
    except ValidationError as error:
        return None, in_order(findings_of(error, document, Pool))
    pool._document = document
    findings = _disagreeing(pool)
    return (None if findings else pool), findings


def _disagreeing(pool: Pool) -> list[Finding]:
    """What the keys of a pool have to agree on."""
    found: list[Finding] = []

    def wrong(key: str, message: str, fix: str) -> None:
        found.append(at(pool.document, (key,), message, fix))

    if pool.align == "declared" and not pool.positions:
        wrong("align", "no positions are declared", "add 'positions', or align by 'froude'")
    if pool.positions and pool.align != "declared":
        wrong("positions", f"they go with 'align: declared', not '{pool.align}'", "leave one out")
    if pool.at and pool.align not in ("froude", "top speed"):
        wrong(
            "at", f"it goes with 'align: froude' or 'top speed', not '{pool.align}'", "leave it out"
        )
    if any(value <= 0 for value in pool.at):
        wrong("at", "a value is not above zero", "give values such as 0.35, 0.5")
    elif pool.align == "top speed" and any(value > 1 for value in pool.at):
        wrong("at", "a part of the top speed is above 1", "write 0.8 for four fifths of it")
    return found


def pool_of(data: dict[str, Any]) -> Pool:
    """A pool made in Python or on the command line, from the keys of its file."""
    return Pool.model_validate(data)
