"""The JSON of `archive` described."""

from __future__ import annotations

from typing import get_args

from slackwater.analysis.archive.columns import DIFFERING
from slackwater.analysis.many.noise_groups import Kind
from slackwater.analysis.many.reference_schema import (
    COMPONENT,
    CREWS,
    LEFT_OUT,
    OCCASION,
    PRECISION,
    SCATTER,
    chart,
)
from slackwater.analysis.result.fields import VERDICTS
from slackwater.analysis.wording.json_schema import (
    COUNT,
    COUNT_OR_NULL,
    NUMBER_OR_NULL,
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

_NOT_TOLD = ("setting", "passed")


def archive_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `archive --format json` writes."""
    counts = {"type": "object", "propertyNames": one_of(VERDICTS), "additionalProperties": COUNT}
    closed = {"type": "object", "additionalProperties": TEXT}
    return an_answer(
        "An archive of trials",
        "What `slackwater archive FOLDER --format json` writes.",
        folder=described(TEXT, "its name"),
        store=described(TEXT, "name of the file that everything is kept in"),
        setting=described(TEXT, "keys of the protocol set otherwise; empty for trials as declared"),
        counts=an_object(
            trials=COUNT, new=COUNT, changed=COUNT, unchanged=COUNT, gone=COUNT, broken=COUNT
        ),
        verdicts=described(
            {"type": "object", "additionalProperties": counts},
            "by quantity, and of the deciding figures; runs under several names count once",
        ),
        broken=a_list(an_object(path=TEXT, message=TEXT), "trials that cannot be analysed"),
        entered_twice=a_list(TEXTS, "names of the same runs; the first counts"),
        differing=a_list(
            an_object(
                **{
                    each.name: described(
                        NUMBER_OR_NULL if each.kind == "number" else TEXT_OR_NULL, each.about
                    )
                    for each in DIFFERING
                    if each.name not in _NOT_TOLD
                }
            ),
            "verdicts that this pass found to differ; under a setting, from those as declared",
        ),
        rules=a_list(
            an_object(
                rule=TEXT,
                severity=one_of(["error", "warning"]),
                trials=described(COUNT, "in how many trials"),
                message=described(TEXT, "of the first of them"),
            ),
            "what was found in trials that were analysed",
        ),
        closed=described(closed, "what could not be looked into, and why"),
        links=described(TEXTS, "links to folders, which are not followed"),
        method=_method(),
        trials=a_list(
            an_object(
                path=described(TEXT, "from the folder"),
                state=one_of(["analysed", "broken"]),
                trial=TEXT_OR_NULL,
                title=TEXT_OR_NULL,
                boat=TEXT_OR_NULL,
                protocol=TEXT_OR_NULL,
                version=TEXT_OR_NULL,
                first_day=TEXT_OR_NULL,
                last_day=TEXT_OR_NULL,
                runs_used=COUNT_OR_NULL,
                seal=TEXT_OR_NULL,
                verdicts=described(counts, "of the deciding figure, or of all where none is"),
            )
        ),
    )


def _method() -> Schema:
    """What the trials tell of the method; standard deviations as fractions, or in the unit told."""
    return an_object(
        noise=a_list(
            an_object(kind=one_of(["all", *get_args(Kind)]), group=TEXT, **COMPONENT),
            "components, of all trials and of each class",
        ),
        crews=CREWS,
        left_out=LEFT_OUT,
        stand_out=a_list(SCATTER, "trials that scatter otherwise than the rest"),
        reference_boat=TEXT_OR_NULL,
        charts=a_list(chart(), "control charts of the reference boat, one a quantity"),
        precision=a_list(
            an_object(quantity=TEXT, **PRECISION, occasions=a_list(OCCASION)),
            "after ISO 5725-2, trials of the reference boat in the place of laboratories",
        ),
        not_told=described(TEXTS, "what her trials do not tell, and why"),
    )
