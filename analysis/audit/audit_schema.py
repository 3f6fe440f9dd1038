"""The JSON of `audit` described."""

from __future__ import annotations

from slackwater.analysis.audit.outcome import VERDICTS
from slackwater.analysis.wording.json_schema import (
    COUNT,
    FINDING,
    NUMBER_OR_NULL,
    SEAL,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_input,
    an_object,
    described,
    one_of,
    or_null,
    with_optional,
)


def audit_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `audit --format json` writes."""
    return an_answer(
        "Audit of published claims",
        "What `slackwater audit --format json` writes. null stands for what cannot be told.",
        title=TEXT,
        trial=described(TEXT_OR_NULL, "id of the trial behind the claims"),
        noise=described(TEXT_OR_NULL, "what noise was reckoned with, in words"),
        confidence=described(NUMBER_OR_NULL, "of the intervals, where there are any [1]"),
        method=described(TEXTS, "how the verdicts were got, a paragraph each"),
        reply=or_null(
            an_object(
                by=TEXT_OR_NULL,
                file=TEXT,
                answers=a_list(an_object(question=TEXT, answer=TEXT)),
            ),
            "what the author replied to a letter",
        ),
        seals=a_list(
            an_object(of=one_of(["claims", "protocol"]), **SEAL["properties"]),
            "what seals say of what the audit rests on",
        ),
        counts={
            "type": "object",
            "additionalProperties": COUNT,
            "propertyNames": one_of(VERDICTS),
            "description": "how many claims have which verdict",
        },
        claims=a_list(_claim()),
        conflicts=a_list(
            an_object(claims=TEXTS, message=TEXT, explanation=TEXT, likely=TEXT),
            "claims that cannot all be true; no smaller set of them is at odds",
        ),
        questions=described(TEXTS, "to ask the author"),
        asked=a_list(
            an_object(
                question=TEXT,
                why=TEXT,
                source=TEXT,
                key=described(TEXT_OR_NULL, "where the reply form takes the answer"),
            ),
            "the same questions, with why each is asked",
        ),
        findings=a_list(FINDING, "on the trial and its files"),
        inputs=a_list(an_input()),
    )


def _claim() -> Schema:
    number = described(NUMBER_OR_NULL, "[`unit`; a fraction of the baseline where that is empty]")
    return an_object(
        id=TEXT,
        quantity=TEXT,
        baseline=TEXT,
        modified=TEXT,
        at=TEXT_OR_NULL,
        verdict=one_of(VERDICTS),
        why=described(TEXT, "the verdict in a sentence"),
        stated={
            "type": "object",
            "additionalProperties": TEXT,
            "description": "the figures as printed",
        },
        stated_low=number,
        stated_high=number,
        stated_over_measured=described(NUMBER_OR_NULL, "[1]"),
        recomputed=number,
        low=number,
        high=number,
        unit=TEXT,
        reasons=a_list(
            with_optional(
                an_object(check=TEXT, outcome=TEXT, message=TEXT),
                explanation=TEXT,
                likely=TEXT,
                settle=described(TEXT, "what would settle it"),
                source=TEXT,
            )
        ),
        questions=TEXTS,
        behind=a_list(
            an_object(caption=TEXT, columns=TEXTS, rows=a_list(TEXTS)),
            "the runs behind the recomputed figure",
        ),
    )
