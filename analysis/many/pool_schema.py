"""The JSON of `pool` described."""

from __future__ import annotations

from slackwater.analysis.verdict.verdicts import Word, Worth
from slackwater.analysis.wording.json_schema import (
    COUNT,
    FINDING,
    FLAG,
    NUMBER,
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

_CHANGE = "[fraction; on the scale 'difference' the unit of the row]"
_FLAG_OR_NULL: Schema = {"type": ["boolean", "null"]}


def pool_answer_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `pool --format json` writes."""
    size = described(NUMBER_OR_NULL, _CHANGE)
    return an_answer(
        "Pool of trials",
        "What `slackwater pool --format json` writes. null stands for what cannot be computed.",
        pool=TEXT,
        title=TEXT,
        invented=described(FLAG, "nothing was measured in one of the trials at least"),
        trials=a_list(
            an_object(
                name=described(TEXT, "the file as it was named"),
                trial=TEXT,
                boat=TEXT,
                protocol=TEXT,
                tool=described(TEXT, "version of slackwater that analysed it"),
                runs_sha256=TEXT,
                baseline=TEXT,
                modified=TEXT,
                state=one_of(["pooled", "left out"]),
                reason=described(TEXT, "why it was left out"),
            )
        ),
        boats=described(TEXTS, "what the pool counts"),
        alignment=described(TEXT, "what makes places on different boats the same"),
        heterogeneity=one_of(["paule-mandel", "reml"]),
        confidence=NUMBER,
        decides=TEXT_OR_NULL,
        pooled=a_list(
            an_object(
                quantity=TEXT,
                kind=one_of(["set points", "equal speed", "whole sweep"]),
                deciding=_FLAG_OR_NULL,
                at=TEXT,
                position=NUMBER_OR_NULL,
                unit=TEXT,
                scale=one_of(["ratio", "difference"]),
                better={"enum": ["more", "less", None]},
                worthwhile=size,
                confidence=NUMBER,
                simultaneous=FLAG,
                boats=a_list(
                    an_object(
                        boat=TEXT,
                        trials=described(COUNT, "joined in her"),
                        change=described(NUMBER, _CHANGE),
                        low=described(NUMBER, f"of her own trials' 95 % interval {_CHANGE}"),
                        high=described(NUMBER, _CHANGE),
                        weight=described(NUMBER, "her part of the mean [1]"),
                    )
                ),
                mean=described(_statement(), "the mean over boats like these"),
                next_boat=described(_statement(), "a single further boat like these"),
                heterogeneity=described(
                    NUMBER_OR_NULL, "standard deviation of the boats' own changes [as low]"
                ),
                heterogeneity_low=described(NUMBER_OR_NULL, "of its 95 % interval, profile of Q"),
                heterogeneity_high=NUMBER_OR_NULL,
                q=described(NUMBER_OR_NULL, "Cochran's Q [1]"),
                q_p_value=described(NUMBER_OR_NULL, "were all boats to change alike [1]"),
                inconsistency=described(NUMBER_OR_NULL, "I squared, 0 to 1 [1]"),
                without=a_list(
                    an_object(
                        boat=TEXT,
                        change=NUMBER,
                        low=NUMBER,
                        high=NUMBER,
                        verdict=one_of(Word),
                    ),
                    "the mean without each boat, for the figure that decides",
                ),
            )
        ),
        findings=a_list(FINDING),
    )


def _statement() -> Schema:
    size = described(NUMBER_OR_NULL, _CHANGE)
    return an_object(
        change=size,
        low=size,
        high=size,
        p_value=described(NUMBER_OR_NULL, "two-sided, adjusted over the places [1]"),
        noise_floor=size,
        verdict=one_of(Word),
        worth={"enum": [*(str(worth) for worth in Worth), None]},
        reason=TEXT,
        degrees_of_freedom=described(NUMBER_OR_NULL, "boats less one [1]"),
        family=described(COUNT, "places judged together; 0 where nothing was"),
        equivalence_p=NUMBER_OR_NULL,
        no_loss_p=NUMBER_OR_NULL,
        no_loss_bound=size,
    )
