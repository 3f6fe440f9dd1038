"""The JSON Schema of what is told of tries found in logs."""

from __future__ import annotations

from slackwater.analysis.intake.provenance_schema import provenance_schema
from slackwater.analysis.wording.json_schema import (
    COUNT,
    NUMBER,
    NUMBER_OR_NULL,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_object,
    described,
    or_null,
)


def tries_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `logs --trial --tries --format json` writes."""
    cut = provenance_schema(table=True)["properties"]
    return an_answer(
        "Tries found in logs",
        "What `slackwater logs --trial TRIAL --tries --format json` writes, and TRIES.provenance.json holds: "
        "where every try comes from, and what is no try.",
        trial=TEXT,
        protocol=TEXT,
        logs=cut["logs"],
        sources=cut["sources"],
        criteria=cut["criteria"],
        ahead_of_utc=described(NUMBER, "of the clock of the tries [s]"),
        sessions=a_list(_session()),
        notes=TEXTS,
        table=cut["table"],
    )


def _session() -> Schema:
    stretch = an_object(**{"from": TEXT, "to": TEXT}, reason=TEXT)
    counted = an_object(manoeuvre=TEXT, direction=TEXT, found=COUNT, planned=COUNT)
    return an_object(
        session=TEXT,
        tries=a_list(_try()),
        left_out=a_list(stretch, "what might be taken for a try and is none"),
        counts=a_list(counted, "tries found that are not set aside, beside those planned"),
        notes=TEXTS,
    )


def _try() -> Schema:
    value = an_object(
        value=NUMBER_OR_NULL,
        unit=TEXT,
        standard_uncertainty=described(NUMBER_OR_NULL, "from the noise of the log [unit]"),
        why_not=TEXT_OR_NULL,
    )
    drift = an_object(
        speed=NUMBER,
        unit=TEXT,
        towards=described(NUMBER, "[deg]"),
        standard_uncertainty=described(NUMBER_OR_NULL, "of either component [kn]"),
        by=described(TEXT, "what told it"),
    )
    lines = an_object(**{"file": TEXT, "from": COUNT, "to": COUNT})
    reading = an_object(quantity=TEXT, source=TEXT, samples=COUNT, lines=a_list(lines))
    return an_object(
        **{"try": described(COUNT, "from 1 within manoeuvre and direction")},
        row=described(COUNT, "of the table of tries, the headings being row 1"),
        manoeuvre=TEXT,
        direction=described(TEXT, "empty where nothing tells it"),
        start=described(TEXT, "ISO 8601, on the clock of the tries"),
        seconds=a_list(NUMBER, "from order to end, since 1970-01-01 UTC"),
        course=described(NUMBER_OR_NULL, "that it began on [deg]"),
        turned=described(NUMBER_OR_NULL, "[deg]"),
        drift=or_null(drift, "taken out of a turn"),
        values={"type": "object", "additionalProperties": value},
        set_aside=described(TEXT_OR_NULL, "why; null for one that is used"),
        notes=TEXTS,
        readings=a_list(reading, "samples during the try, by source"),
    )
