"""The JSON Schema of where tries come from, made from the model, so that there is one list of keys."""

from __future__ import annotations

from slackwater.analysis.intake.provenance_schema import inlined
from slackwater.analysis.wording.json_schema import Schema, an_answer


def try_provenance_schema(*, table: bool = False) -> Schema:
    """The schema of it as a result carries it, or with the table that was written."""
    from slackwater.analysis.intake.try_provenance import TryProvenance

    whole = TryProvenance.model_json_schema(by_alias=True)
    made: Schema = inlined(whole, whole.pop("$defs"))
    if not table:
        del made["properties"]["table"]
        made["required"].remove("table")
    return made


def tries_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `logs --trial --tries --format json` writes."""
    return an_answer(
        "Tries found in logs",
        "What `slackwater logs --trial TRIAL --tries --format json` writes, and TRIES.provenance.json holds: "
        "where every try comes from, and what is no try.",
        **try_provenance_schema(table=True)["properties"],
    )
