"""The JSON of `check NEW --since OLD` described."""

from __future__ import annotations

from slackwater.analysis.versions.changes import Sense
from slackwater.analysis.wording.json_schema import (
    FINDING,
    FLAG,
    NUMBER_OR_NULL,
    SEAL,
    SHA256,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_object,
    counts_of,
    described,
    one_of,
)


def since_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `check --since --format json` writes."""
    version = an_object(file=TEXT, id=TEXT, version=TEXT, sha256=SHA256, seal=SEAL)
    return an_answer(
        "Two versions of a protocol",
        "What `slackwater check NEW --since OLD --format json` writes.",
        old=version,
        new=version,
        sense=described(TEXT, "which way the whole goes"),
        counts=counts_of(Sense),
        changes=a_list(
            an_object(
                key=described(TEXT, "dotted path in the file"),
                old=TEXT_OR_NULL,
                new=TEXT_OR_NULL,
                sense=one_of(Sense),
            )
        ),
        smallest_difference=a_list(
            an_object(
                quantity=TEXT,
                noise=one_of(["declared", "sessions", "runs"]),
                old=described(NUMBER_OR_NULL, "[fraction, or `unit`]"),
                new=described(NUMBER_OR_NULL, "[fraction, or `unit`]"),
                ratio=described(NUMBER_OR_NULL, "new over old [1]"),
                unit=TEXT,
            ),
            "seen with 90 % power; of supposed noise the ratio alone",
        ),
        trials=a_list(
            an_object(
                file=TEXT,
                trial=TEXT_OR_NULL,
                run_to_the_old=FLAG,
                satisfies=FLAG,
                broken=a_list(FINDING),
                could_not_look=TEXTS,
            ),
            "held against the newer version",
        ),
    )
