"""What ratings have to agree on with the rest of a protocol, and a trial's with its protocol."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document
from slackwater.protocol.findings import Finding


def rated_names(data: dict[str, Any]) -> tuple[str, ...]:
    """The items that a protocol's text has raters score."""
    ratings = data.get("ratings")
    items = ratings.get("items") if isinstance(ratings, dict) else None
    return tuple(str(name) for name in items) if isinstance(items, dict) else ()


def rating_findings(document: Document, measures: Collection[str]) -> Iterator[Finding]:
    """An item is no measure under another name, nor a word of the catalogue."""
    for name in rated_names(document.data):
        if name not in MEASURES and name not in measures:
            continue
        where = "the catalogue" if name in MEASURES else "'measures:'"
        yield at(
            document,
            ("ratings", "items", name),
            f"'{name}' is a quantity of {where} already, and people do not score what is measured",
            f"give the item a name of its own, such as '{name}_felt'",
            key=True,
        )


def trial_rating_findings(document: Document, *, rated: bool) -> Iterator[Finding]:
    """A trial has ratings where its protocol asks for them."""
    if rated:
        return
    for key in ("ratings", "raters_aware"):
        if key in document.data:
            yield at(
                document,
                (key,),
                "the protocol has nobody rate anything",
                "declare what is scored under 'ratings:' in the protocol, or take this away",
                rule="unknown-key",
                key=True,
            )
