"""The JSON Schema of what is told of logs."""

from __future__ import annotations

from slackwater.analysis.wording.json_schema import (
    COUNT,
    FLAG,
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
    offered = an_object(
        source=TEXT,
        sessions=described(COUNT, "in which it has values; all logs are one here"),
        seconds=described(COUNT, "in which it has a value"),
        repeats=described(NUMBER, "values that repeat the one before [1]"),
        noise=described(
            NUMBER_OR_NULL, "what values stray from their mean over 9 s [unit of the quantity]"
        ),
        against=TEXTS,
    )
    source = an_object(
        quantity=TEXT,
        source=described(TEXT, "the one that a trial would take by itself"),
        why=TEXT,
        offered=a_list(offered, "all that have values, the best first"),
    )
    latency = an_object(
        of=described(TEXTS, "quantity and source"),
        after=described(TEXTS, "quantity and source"),
        seconds=described(NUMBER_OR_NULL, "by which the one comes after the other [s]"),
        likeness=described(NUMBER_OR_NULL, "correlation of their changes at that lag [1]"),
        common=described(NUMBER_OR_NULL, "for how long both were recorded [s]"),
        answer=described(FLAG, "whether the boat's own answer to her engine is in it"),
        why_not=described(TEXT_OR_NULL, "why the lag cannot be told"),
    )
    return an_answer(
        "What is in logs",
        "What `slackwater logs --format json` writes: files, sources, rates, gaps, what was not read.",
        logs=a_list(log),
        sources=a_list(source),
        criteria=described(TEXT, "by which sources are chosen"),
        latencies=a_list(latency),
    )
