"""The JSON of `noise --by` and `noise --reference` described."""

from __future__ import annotations

from slackwater.analysis.wording.json_schema import (
    COUNT,
    FLAG,
    NUMBER,
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

_SIZE = "[fraction, or the unit]"


def method_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `noise --by … --format json` writes."""
    size = described(NUMBER_OR_NULL, _SIZE)
    indices = described(a_list(COUNT), "sessions by their place among the points, from 0")
    shift = an_object(
        told=described(TEXT, "day of the session at which it was told"),
        begins=described(TEXT, "day of the first session that belongs to it"),
        size=size,
        low=size,
        high=size,
    )
    point = an_object(trial=TEXT, session=TEXT, day=TEXT, level=described(NUMBER, _SIZE))
    return an_answer(
        "How good a method is",
        "What `slackwater noise` writes with `--by` or `--reference` and `--format json`.",
        trials=TEXTS,
        by={"enum": ["boat", "sea", "season", None]},
        groups=a_list(
            an_object(
                group=TEXT,
                trials=COUNT,
                sessions=COUNT,
                quantity=TEXT,
                unit=TEXT,
                component=TEXT,
                value=size,
                low=size,
                high=size,
                degrees_of_freedom=NUMBER_OR_NULL,
            )
        ),
        ungrouped=described(TEXTS, "trials that do not tell their group"),
        reference=or_null(
            an_object(
                boat=TEXT,
                configuration=TEXT,
                quantity=TEXT,
                unit=TEXT,
                scale=TEXT,
                at=TEXTS,
                points=a_list(point),
                left_out={"type": "array"},
                reference=described(COUNT, "first sessions that tell the state in control"),
                centre=NUMBER,
                deviation=NUMBER,
                low=NUMBER,
                high=NUMBER,
                range_limit=NUMBER,
                beyond=indices,
                wide=indices,
                average=a_list(NUMBER),
                average_beyond=indices,
                shift=or_null(shift),
            ),
            "control chart of the reference boat",
        ),
        precision=or_null(
            an_object(
                repeatability=size,
                reproducibility=size,
                repeatability_limit=size,
                reproducibility_limit=size,
                trials=a_list(
                    an_object(
                        trial=TEXT,
                        sessions=COUNT,
                        mean=NUMBER,
                        h=NUMBER,
                        k=NUMBER_OR_NULL,
                        h_remark=FLAG,
                        k_remark=FLAG,
                    )
                ),
                cochran=NUMBER_OR_NULL,
                cochran_p=NUMBER,
                scatters_most=TEXT,
                grubbs=NUMBER,
                grubbs_p=NUMBER,
                furthest=TEXT,
            ),
            "of the reference boat, by ISO 5725-2",
        ),
        left_out=a_list(an_object(trial=TEXT, why=TEXT), "trials that are no part of the noise"),
        scatter=a_list(
            an_object(
                trial=TEXT,
                quantity=TEXT,
                value=NUMBER,
                times=described(NUMBER, "over that of all other trials [1]"),
                df=NUMBER,
                p_value=NUMBER,
                stands_out=FLAG,
            )
        ),
        remarks=TEXTS,
    )
