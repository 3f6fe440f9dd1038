"""The JSON Schema of what is told of logs."""

from __future__ import annotations

from slackwater.analysis.wording.json_schema import (
    COUNT,
    NUMBER,
    NUMBER_OR_NULL,
    SHA256,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_object,
    described,
    one_of,
)

_MOMENT = described(
    TEXT_OR_NULL, "ISO 8601 in UTC; a time of day or seconds where the log has no date"
)


def logs_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `logs --format json` writes."""
    channel = an_object(
        quantity=TEXT,
        source=described(TEXT, "what wrote it"),
        unit=TEXT,
        samples=COUNT,
        first=_MOMENT,
        last=_MOMENT,
        rate=described(NUMBER_OR_NULL, "by the usual step [Hz]"),
        gaps=described(COUNT, "pauses longer than five usual steps and than 3 s"),
        longest_gap=described(NUMBER_OR_NULL, "[s]"),
        repeats=described(NUMBER_OR_NULL, "samples that repeat the one before [1]"),
        low=NUMBER,
        median=NUMBER,
        high=NUMBER,
        repaired=described(TEXT, "what was done to its clock; empty for nothing"),
    )
    log = an_object(
        file=TEXT,
        sha256=described(SHA256, "of the file as it lies on the disk"),
        form=TEXT,
        clock=one_of(["utc", "time of day", "since start", "none"]),
        first=_MOMENT,
        last=_MOMENT,
        seconds=NUMBER_OR_NULL,
        lines=described(COUNT, "lines, frames, points or records of the file"),
        faults=a_list(an_object(reason=TEXT, count=COUNT), "what gave no value, by reason"),
        notes=TEXTS,
        channels=a_list(channel),
    )
    return an_answer(
        "What is in logs",
        "What `slackwater logs --format json` writes: files, sources, rates, gaps, what was not read.",
        logs=a_list(log),
    )
