"""What noise by group and the reference boat's figures look like as JSON, wherever they are told."""

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
    an_object,
    described,
    one_of,
    or_null,
)

SIZE: Schema = described(NUMBER_OR_NULL, "[fraction, or the unit]")

#: Fields of a component of noise; which group it is of is told in front.
COMPONENT: dict[str, Schema] = {
    "quantity": TEXT,
    "component": TEXT,
    "value": SIZE,
    "low": SIZE,
    "high": SIZE,
    "trials": COUNT,
    "sessions": COUNT,
    "unit": TEXT,
}

CREWS: Schema = a_list(
    an_object(
        quantity=TEXT,
        unit=TEXT,
        scale=one_of(["ratio", "difference"]),
        value=SIZE,
        low=SIZE,
        high=SIZE,
        degrees_of_freedom=NUMBER,
        trials_differ_by=described(SIZE, "what trials of one crew with one boat differ by"),
        p_value=described(NUMBER_OR_NULL, "how often crews alike differ as much [1]"),
        crews=TEXTS,
        boats=described(TEXTS, "that crews share"),
        trials=COUNT,
    ),
    "standard deviation between crews, on the boats that they share",
)

LEFT_OUT: Schema = a_list(an_object(trial=TEXT, why=TEXT), "trials that the noise is not made of")

SCATTER: Schema = an_object(
    trial=TEXT,
    quantity=TEXT,
    value=SIZE,
    times=described(NUMBER, "over that of all other trials [1]"),
    df=NUMBER,
    p_value=NUMBER,
    stands_out=FLAG,
)

#: Fields of repeatability and reproducibility after ISO 5725-2, those of single trials left out.
PRECISION: dict[str, Schema] = {
    "repeatability": SIZE,
    "reproducibility": SIZE,
    "repeatability_limit": SIZE,
    "reproducibility_limit": SIZE,
    "cochran": described(NUMBER_OR_NULL, "of the trial that scatters most [1]"),
    "cochran_p": NUMBER,
    "scatters_most": TEXT,
    "grubbs": described(NUMBER, "of the trial whose mean lies furthest off [1]"),
    "grubbs_p": NUMBER,
    "furthest": TEXT,
    "grubbs_two": described(NUMBER_OR_NULL, "of the two furthest off on one side [1]"),
    "grubbs_two_p": NUMBER,
    "furthest_two": described(TEXTS, "empty with fewer than four trials"),
}

OCCASION: Schema = an_object(
    trial=TEXT,
    sessions=COUNT,
    mean=SIZE,
    h=NUMBER,
    k=NUMBER_OR_NULL,
    h_remark=FLAG,
    k_remark=FLAG,
)


def chart() -> Schema:
    """The control chart of the reference boat."""
    indices = described(a_list(COUNT), "sessions by their place among the points, from 0")
    shift = an_object(
        told=described(TEXT, "day of the session at which it was told"),
        begins=described(TEXT, "day of the first session that belongs to it"),
        size=SIZE,
        low=SIZE,
        high=SIZE,
    )
    return an_object(
        boat=TEXT,
        configuration=TEXT,
        quantity=TEXT,
        unit=TEXT,
        scale=one_of(["ratio", "difference"]),
        at=TEXTS,
        points=a_list(
            an_object(trial=TEXT, session=TEXT, day=TEXT, level=SIZE), "sessions in order of time"
        ),
        left_out=a_list(TEXTS, "session and why"),
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
        shift=or_null(shift, "the first lasting one that the cumulative sums tell"),
    )
