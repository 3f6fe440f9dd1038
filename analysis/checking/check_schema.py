"""The JSON of `check` described: the record of conformity of each file, and the findings of all."""

from __future__ import annotations

from slackwater.analysis.wording.json_schema import (
    COUNT,
    FINDING,
    SEAL,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_input,
    an_object,
    counts_of,
    described,
    one_of,
    or_null,
    with_optional,
)
from slackwater.protocol.findings import Severity
from slackwater.protocol.rules._outcome import Outcome
from slackwater.protocol.rules._sources import Kind


def check_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `check --format json` writes."""
    return an_answer(
        "Record of conformity",
        "What `slackwater check --format json` writes. The same files give the same record: no clock "
        "is read.",
        files=a_list(_file(), "a record for each file given"),
        findings=a_list(FINDING, "of all files, each once, by file and line; without the waived"),
        not_looked_at=a_list(
            an_object(rules=TEXTS, why=TEXT, lets=described(TEXT, "what would let them look")),
            "what rules could not look at, told once",
        ),
        waivers=a_list(
            an_object(
                file=TEXT,
                rule=TEXT,
                reason=TEXT,
                silenced=described(COUNT, "how many findings it silences"),
            )
        ),
        waived=a_list(with_optional(FINDING, reason=TEXT), "findings silenced"),
    )


def _file() -> Schema:
    return an_object(
        file=described(TEXT, "as it was given"),
        of=or_null(_identity(), "null where the file could not be used"),
        counts=counts_of(Outcome),
        rules=a_list(_row(), "every rule, with what came of it"),
        reading=a_list(FINDING, "found while reading, by no rule"),
    )


def _identity() -> Schema:
    return an_object(
        kind=one_of(["protocol", "trial"]),
        id=TEXT,
        title=TEXT_OR_NULL,
        protocol=an_object(id=TEXT, version=TEXT_OR_NULL),
        inputs=a_list(an_input("trial", "protocol", "runs", "log")),
        seal=SEAL,
    )


def _row() -> Schema:
    return an_object(
        rule=described(TEXT, "id, kebab case"),
        subject=one_of(["protocol", "trial", "runs"]),
        severity=one_of(Severity),
        title=described(TEXT, "the fault that the rule looks for"),
        outcome=one_of(Outcome),
        why=described(TEXT_OR_NULL, "why it was waived or does not apply"),
        clauses=a_list(
            an_object(
                work=TEXT,
                kind=one_of(Kind),
                clause=TEXT_OR_NULL,
                says=described(TEXT_OR_NULL, "what is taken from it"),
            ),
            "what the rule rests on",
        ),
        found=a_list(FINDING, "what it found, waived or not"),
        could_not_look=a_list(
            an_object(why=TEXT, lets=described(TEXT, "what would let it look")),
            "what it could not look at, in whole or in part",
        ),
    )
