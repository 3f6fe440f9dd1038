"""The cross-check as a table of text, for the terminal and for the page."""

from __future__ import annotations

from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import change_scale, decimals_for, fixed, range_text
from slackwater.analysis.wording.words import quantity_title

TITLE = "Cross-check by other libraries"
NOTE = (
    "The same session values in statsmodels' mixed model (all set points at once) and in Welch's "
    "t-test by pingouin and scipy (each set point by itself, and for no family). The mixed model "
    "does not know that few sessions tell little of their own scatter, so its errors are no "
    "intervals; no verdict rests on either."
)
HEADINGS = (
    "quantity",
    "at",
    "change",
    "error",
    "mixed model",
    "its error",
    "t-test",
    "p",
)


def rows(result: Result) -> list[tuple[str, ...]]:
    """Cells of the table, a row a comparison; no rows where no cross-check was asked for."""
    scales = {(row["quantity"]): row for row in result.records("comparisons")}
    made: list[tuple[str, ...]] = []
    last = ""
    for row in result.records("cross_check"):
        like = scales[row["quantity"]]
        scale = change_scale(like["scale"], like["unit"])
        decimals = decimals_for(scale.of(row["standard_error"]), lean=True)
        title = f"{quantity_title(row['quantity'])} [{scale.unit}]"
        p = row["t_test_p"]
        made.append(
            (
                title if title != last else "",
                row["at"],
                fixed(scale.of(row["change"]), decimals, signed=True),
                fixed(scale.of(row["standard_error"]), decimals),
                fixed(scale.of(row["mixed_model_change"]), decimals, signed=True),
                fixed(scale.of(row["mixed_model_error"]), decimals),
                range_text(scale.of(row["t_test_low"]), scale.of(row["t_test_high"]), decimals),
                "< 0.001" if p is not None and p < 0.001 else fixed(p, 3),
            )
        )
        last = title
    return made
