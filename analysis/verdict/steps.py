"""Ordinal ratings: a verdict on their points has to survive that the points be mere ranks.

The verdict is on the scale's own points, as a worthwhile difference and a claim are. A mean of points
takes every step for as large as the next, which nobody knows of an ordinal scale. So the same session
values are made from ranks within each rater, which need no steps, and go through the same
comparison. They give no verdict: they can only take one away.
"""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.verdict.verdicts import Word

AGAINST = (
    "by ranks within each rater the difference points the other way: the means rest on how "
    "large the steps of the scale are, and that is not known of an ordinal scale"
)


def held_by_ranks(judged: Judged, ranks: Judged) -> Judged:
    """An ordinal item's comparison, without its verdict where ranks point the other way."""
    rows = []
    for row, other in zip(judged.rows, ranks.rows, strict=True):
        against = (row.change or 0.0) * (other.change or 0.0) <= 0
        if row.verdict.established and against:
            row = replace(
                row,
                verdict=Word.UNTESTABLE,
                reason=AGAINST,
                low=None,
                high=None,
                p_value=None,
                noise_floor=None,
                worth=None,
                equivalence_p=None,
                equivalence_low=None,
                equivalence_high=None,
                no_loss_p=None,
                no_loss_bound=None,
            )
        rows.append(row)
    return replace(judged, rows=tuple(rows))
