"""The tables of ratings in a result, described field by field."""

from __future__ import annotations

from slackwater.analysis.ratings.guessed import Blindness
from slackwater.analysis.result.common_fields import (
    AT,
    BASELINE,
    CONFIGURATION,
    HIGH,
    LOW,
    MODIFIED,
    NOTE,
    QUANTITY,
    REASON,
    SESSION,
    SET_ASIDE,
    VERDICTS,
)
from slackwater.analysis.result.field import Field

BLINDING = tuple(word.value for word in Blindness)

RATING_TABLES: dict[str, tuple[Field, ...]] = {
    "ratings": (
        QUANTITY,
        Field("title", "text", "the item as people read it"),
        Field("asks", "text", "the question as it was put"),
        Field("scale", "text", "whether steps are alike", choices=("ordinal", "interval")),
        Field("lowest", "integer", "score at the low end [points]"),
        Field("highest", "integer", "score at the high end [points]"),
        Field("lowest_means", "text", "anchor of the low end"),
        Field("highest_means", "text", "anchor of the high end"),
        Field("blinding", "text", "whether the raters were blind", choices=BLINDING),
        Field("blinding_why", "text", "the same in a sentence"),
        Field("raters", "integer", "raters whose scores count"),
        Field("whole_raters", "integer", "those who scored every session; ICC and W rest on them"),
        Field("scores", "integer", "scores behind it"),
        Field("icc", "number", "ICC, two-way, absolute, of one rater [1]"),
        Field("icc_low", "number", "lower limit of it, 95 % [1]"),
        Field("icc_high", "number", "upper limit of it, 95 % [1]"),
        Field("icc_mean", "number", "ICC, two-way, absolute, of the raters' mean [1]"),
        Field("icc_mean_low", "number", "lower limit of it, 95 % [1]"),
        Field("icc_mean_high", "number", "upper limit of it, 95 % [1]"),
        Field("kendall_w", "number", "Kendall's W, ties allowed for [1]"),
        Field("kendall_p", "number", "how often chance alone gives as much"),
        Field("alpha", "number", "Krippendorff's alpha, ordinal [1]"),
        Field("agreement_p", "number", "how often raters who agree on nothing differ as much"),
        Field("agrees", "flag", "the raters agree on how the sessions differ"),
        Field("at_lowest", "number", "part of the scores at the low end [fraction]"),
        Field("at_highest", "number", "part of the scores at the high end [fraction]"),
        REASON,
    ),
    "rating_scores": (
        Field("row", "integer", "row in the file of ratings, the heading being row 1"),
        SESSION,
        CONFIGURATION,
        QUANTITY,
        Field("rater", "text", "who scored"),
        Field("score", "number", "as scored [points]"),
        Field("guess", "text", "configuration that the rater took to be fitted, or 'unsure'"),
        SET_ASIDE,
        NOTE,
    ),
    "rating_ranks": (
        BASELINE,
        MODIFIED,
        QUANTITY,
        AT,
        Field(
            "change",
            "number",
            "how much more often the modified is scored above the baseline than below it, by the "
            "same rater [fraction]",
        ),
        LOW,
        HIGH,
        Field("p_value", "number", "as in `comparisons`, of the ranks"),
        Field("verdict", "text", "what ranks would say; no verdict", choices=VERDICTS),
        Field("same", "flag", "they establish a difference where the points do, and not elsewhere"),
        Field("raters_up", "integer", "raters whose own mean is higher with the modified"),
        Field("raters_down", "integer", "raters whose own mean is lower with the modified"),
    ),
    "blinding": (
        Field("index", "text", "which index", choices=("Bang", "James")),
        Field("configuration", "text", "what was fitted; null for all together"),
        Field("value", "number", "Bang: 0 as by chance, 1 all right; James: 0.5 and 0 [1]"),
        LOW,
        HIGH,
        Field("right", "integer", "guesses that were right"),
        Field("wrong", "integer", "guesses that were wrong"),
        Field("unsure", "integer", "raters who did not want to guess"),
    ),
}
