"""JSON Schemas of the answers: `python -m slackwater.analysis.report.schemas` writes them anew."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from slackwater.analysis.archive.archive_schema import archive_schema
from slackwater.analysis.audit.audit_schema import audit_schema
from slackwater.analysis.checking.check_schema import check_schema
from slackwater.analysis.handling.tries_schema import tries_schema
from slackwater.analysis.intake.provenance_schema import cut_schema
from slackwater.analysis.logs.logs_schema import logs_schema
from slackwater.analysis.many.method_schema import method_schema
from slackwater.analysis.many.pool_schema import pool_answer_schema
from slackwater.analysis.planning.plan_schema import noise_schema, plan_schema
from slackwater.analysis.result.result_schema import SCHEMA_FILE, result_schema
from slackwater.analysis.sheet.aboard import aboard_schema
from slackwater.analysis.versions.since_schema import since_schema
from slackwater.analysis.wording.json_text import to_json

ANSWERS = {
    SCHEMA_FILE: result_schema,
    "check.schema.json": check_schema,
    "plan.schema.json": plan_schema,
    "noise.schema.json": noise_schema,
    "method.schema.json": method_schema,
    "pooled.schema.json": pool_answer_schema,
    "logs.schema.json": logs_schema,
    "provenance.schema.json": cut_schema,
    "tries.schema.json": tries_schema,
    "audit.schema.json": audit_schema,
    "since.schema.json": since_schema,
    "archive.schema.json": archive_schema,
}
#: What is written by others and read here.
HANDED_BACK = {"aboard.schema.json": aboard_schema}


def render(name: str) -> str:
    """One of the schemas as the text of its file."""
    return to_json({**ANSWERS, **HANDED_BACK}[name]())


def main() -> None:
    """Write the schema files to where the package keeps them."""
    folder = Path(str(files("slackwater.protocol.schemas")))
    for name in (*ANSWERS, *HANDED_BACK):
        (folder / name).write_text(render(name), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
