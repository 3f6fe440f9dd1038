"""The tables of comparisons in a result, described field by field."""

from __future__ import annotations

from slackwater.analysis.result.common_fields import (
    AT,
    BASELINE,
    FRACTION,
    MODIFIED,
    POSITION,
    QUANTITY,
    UNIT,
    VERDICTS,
    WORTH,
)
from slackwater.analysis.result.field import Field

#: What a verdict leans on, as far as it can be looked at.
LEANINGS = (
    "outlying session",
    "one session left out",
    "trend",
    "current",
    "even noise",
    "earlier trials",
    "order drawn",
)

COMPARISON_TABLES: dict[str, tuple[Field, ...]] = {
    "comparisons": (
        BASELINE,
        MODIFIED,
        QUANTITY,
        AT,
        POSITION,
        Field("baseline_mean", "number", "mean of the baseline [unit]"),
        Field("modified_mean", "number", "mean of the modified configuration [unit]"),
        UNIT,
        Field("change", "number", f"modified against baseline {FRACTION}"),
        Field("low", "number", f"lower end of the interval of the change {FRACTION}"),
        Field("high", "number", f"upper end of the interval of the change {FRACTION}"),
        Field("confidence", "number", "confidence of the interval [fraction]"),
        Field("simultaneous", "flag", "whether the interval holds for the whole family at once"),
        Field("family", "integer", "comparisons in that family"),
        Field(
            "p_value",
            "number",
            "two-sided, adjusted over the family by the steps that decide; at most 1 less confidence "
            "exactly where the difference is established",
        ),
        Field("noise_floor", "number", f"smallest difference that could be told {FRACTION}"),
        Field("worthwhile", "number", f"smallest difference that would matter {FRACTION}"),
        Field("verdict", "text", "the verdict in a word", choices=VERDICTS),
        Field(
            "declared",
            "flag",
            "declared beforehand (true) or found afterwards (false); null where no seal tells",
            required=False,
        ),
        Field(
            "deciding",
            "flag",
            "of the figure declared to decide (true), or a further figure; null where none is",
            required=False,
        ),
        Field("final", "flag", "whether the verdict is final; not at a look part-way", False),
        Field(
            "worth",
            "text",
            "how the size of the change, gain or loss, stands to `worthwhile`",
            required=False,
            choices=WORTH,
        ),
        Field(
            "equivalence_p",
            "number",
            "larger p of two one-sided tests, adjusted over the family",
            required=False,
        ),
        Field(
            "equivalence_low",
            "number",
            f"lower bound of the one-sided tests {FRACTION}",
            required=False,
        ),
        Field(
            "equivalence_high",
            "number",
            f"upper bound of the one-sided tests {FRACTION}",
            required=False,
        ),
        Field(
            "no_loss_p",
            "number",
            "one-sided, adjusted over the family, against a loss that would matter",
            required=False,
        ),
        Field(
            "no_loss_bound",
            "number",
            f"largest loss not ruled out, signed as a change {FRACTION}",
            required=False,
        ),
        Field("reason", "text", "why the verdict is what it is, above all why untestable"),
        Field("degrees_of_freedom", "number", "between sessions, those of earlier trials included"),
        Field("scale", "text", "how the change is expressed", choices=("ratio", "difference")),
        Field("better", "text", "which side is better", required=False, choices=("more", "less")),
        Field("sessions_baseline", "integer", "sessions with the baseline fitted"),
        Field("sessions_modified", "integer", "sessions with the modified configuration fitted"),
        Field(
            "vanishes_at",
            "number",
            f"between-session noise that would account for an untestable difference {FRACTION}",
            required=False,
        ),
        Field(
            "shared_uncertainty",
            "number",
            f"standard uncertainty of instruments that does not cancel {FRACTION}",
            required=False,
        ),
        Field(
            "curve_uncertainty",
            "number",
            "standard uncertainty from reading between the set points and from declared "
            f"corrections {FRACTION}",
            required=False,
        ),
    ),
    "cross_check": (
        BASELINE,
        MODIFIED,
        QUANTITY,
        AT,
        Field("change", "number", f"as in `comparisons` {FRACTION}"),
        Field("standard_error", "number", "of the change, on the scale of the analysis"),
        Field("mixed_model_change", "number", f"by statsmodels' mixed model {FRACTION}"),
        Field("mixed_model_error", "number", "its standard error, on the scale of the analysis"),
        Field("t_test_low", "number", f"95 % interval of Welch's t-test by itself {FRACTION}"),
        Field("t_test_high", "number", f"95 % interval of Welch's t-test by itself {FRACTION}"),
        Field("t_test_p", "number", "p of Welch's t-test by itself, by pingouin"),
    ),
    "leanings": (
        BASELINE,
        MODIFIED,
        Field("quantity", "text", "the figure whose verdicts are looked at"),
        Field("check", "text", "which assumption", choices=LEANINGS),
        Field("session", "text", "session that it is about"),
        Field("value", "number", "the figure; a fraction of the baseline, a factor or a count"),
        Field("p_value", "number", "how often chance alone does as much"),
        Field("remark", "flag", "it departs from what is assumed"),
        Field("message", "text", "in a sentence, with what it would change"),
    ),
}
