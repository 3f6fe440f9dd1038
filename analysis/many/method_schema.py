"""The JSON of `noise --by` and `noise --reference` described."""

from __future__ import annotations

from typing import get_args

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
from slackwater.analysis.wording.json_schema import (
    NUMBER_OR_NULL,
    TEXT,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_object,
    described,
    or_null,
)


def method_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `noise --by … --format json` writes."""
    return an_answer(
        "How good a method is",
        "What `slackwater noise` writes with `--by` or `--reference` and `--format json`.",
        trials=TEXTS,
        by={"enum": [*get_args(Kind), None]},
        groups=a_list(an_object(group=TEXT, **COMPONENT, degrees_of_freedom=NUMBER_OR_NULL)),
        ungrouped=described(TEXTS, "trials that do not tell their group"),
        reference=or_null(chart(), "control chart of the reference boat"),
        precision=or_null(
            an_object(**PRECISION, trials=a_list(OCCASION)), "of the reference boat, by ISO 5725-2"
        ),
        crews=CREWS,
        left_out=LEFT_OUT,
        scatter=a_list(SCATTER),
        remarks=TEXTS,
    )
