"""What people scored, as the result's tables have it: agreement, scores, ranks, blinding."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from slackwater.analysis.ratings.rated import BY_RANKS
from slackwater.analysis.result.result import InputFile
from slackwater.analysis.wording.words import count_of
from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.analysis.ratings.rated import Rated, RatedFigure
    from slackwater.analysis.result.analysed import Analysed

Row = dict[str, Any]


def rating_rows(analysed: Analysed) -> list[Row]:
    """An item each: its scale, its raters, how far they agree, whether they were blind."""
    rated = analysed.rated
    return [] if rated is None else [_item(each, rated) for each in rated.figures]


def _item(figure: RatedFigure, rated: Rated) -> Row:
    item, agreed = figure.item, figure.agreement
    return {
        "quantity": figure.name,
        "title": item.title or figure.name.replace("_", " "),
        "asks": item.asks,
        "scale": item.scale,
        "lowest": item.lowest,
        "highest": item.highest,
        "lowest_means": item.anchors[item.lowest],
        "highest_means": item.anchors[item.highest],
        "blinding": str(rated.blinding.word),
        "blinding_why": rated.blinding.why,
        "raters": agreed.raters,
        "whole_raters": agreed.whole_raters,
        "scores": int(figure.table.double_runs.sum()),
        "icc": _known(agreed.single.value),
        "icc_low": _known(agreed.single.low),
        "icc_high": _known(agreed.single.high),
        "icc_mean": _known(agreed.mean.value),
        "icc_mean_low": _known(agreed.mean.low),
        "icc_mean_high": _known(agreed.mean.high),
        "kendall_w": _known(agreed.w),
        "kendall_p": _known(agreed.w_p),
        "alpha": _known(agreed.alpha),
        "agreement_p": _known(agreed.p),
        "agrees": not figure.table.untestable,
        "at_lowest": figure.lowest_part,
        "at_highest": figure.highest_part,
        "reason": figure.table.untestable,
    }


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None


def score_rows(analysed: Analysed) -> list[Row]:
    """Every score that was read, those set aside as well."""
    if analysed.rated is None:
        return []
    return [
        {
            "row": each.row,
            "session": each.session,
            "configuration": each.configuration,
            "quantity": each.item,
            "rater": each.rater,
            "score": _known(each.score),
            "guess": each.guess or None,
            "set_aside": each.set_aside,
            "note": each.note,
        }
        for each in analysed.rated.read.ratings
    ]


def rank_rows(analysed: Analysed) -> list[Row]:
    """The comparisons by ranks within each rater, beside the verdicts that they hold up."""
    verdicts = {(each.table.quantity, each.pair): each.rows[0] for each in analysed.judged}
    rows = []
    for each in analysed.by_ranks:
        name = each.table.quantity.removesuffix(BY_RANKS)
        own, row = verdicts.get((name, each.pair)), each.rows[0]
        if own is None:
            continue
        rows.append(
            {
                "baseline": row.baseline,
                "modified": row.modified,
                "quantity": name,
                "at": row.at,
                "change": row.change,
                "low": None if row.low is None else max(row.low, -1.0),
                "high": None if row.high is None else min(row.high, 1.0),
                "p_value": row.p_value,
                "verdict": str(row.verdict),
                "same": row.verdict.established == own.verdict.established,
                "raters_up": _raters(analysed, name, each.pair, 1),
                "raters_down": _raters(analysed, name, each.pair, -1),
            }
        )
    return rows


def _raters(analysed: Analysed, name: str, pair: tuple[str, str], sign: int) -> int:
    """Raters whose own mean is higher, or lower, with the modified."""
    import numpy as np

    rated = analysed.rated
    assert rated is not None
    scores = next(each.scores for each in rated.figures if each.name == name)
    fitted = np.array(analysed.configurations)
    count = 0
    for own in scores.T:
        sides = [own[(fitted == side) & np.isfinite(own)] for side in pair]
        if all(side.size for side in sides):
            count += bool(sign * (sides[1].mean() - sides[0].mean()) > 1e-9)
    return count


def blinding_rows(analysed: Analysed) -> list[Row]:
    """What raters guessed: Bang's index of each configuration, and James's of all."""
    if analysed.rated is None:
        return []
    blinding = analysed.rated.blinding
    rows: list[Row] = [
        {
            "index": "Bang",
            "configuration": each.configuration,
            "value": _known(each.bang.value),
            "low": _known(each.bang.low),
            "high": _known(each.bang.high),
            "right": each.right,
            "wrong": each.wrong,
            "unsure": each.unsure,
        }
        for each in blinding.guesses
    ]
    if rows:
        rows.append(
            {
                "index": "James",
                "configuration": None,
                "value": _known(blinding.james.value),
                "low": _known(blinding.james.low),
                "high": _known(blinding.james.high),
                **{key: sum(row[key] for row in rows) for key in ("right", "wrong", "unsure")},
            }
        )
    return rows


def rating_inputs(analysed: Analysed) -> list[InputFile]:
    """The table of ratings, as a file that went in."""
    if analysed.rated is None:
        return []
    read = analysed.rated.read
    name = read.file.replace("\\", "/").rsplit("/", 1)[-1]
    return [InputFile(name, read.sha256, "ratings")]


def rating_findings(analysed: Analysed) -> Iterator[Finding]:
    """What is to be said of the ratings as a whole."""
    rated = analysed.rated
    if rated is None:
        return
    yield from rated.read.findings
    run = {session for session, _ in analysed.reduction.cells}
    unrun = [each.session for each in rated.read.used if each.session not in run]
    if run and unrun:  # that there is no run at all is told by itself
        yield Finding(
            "ratings-without-runs",
            Severity.WARNING,
            f"{count_of(len(unrun), 'rating')} of {', '.join(dict.fromkeys(unrun))}: no run of the "
            "session is used, so nothing tells at which speed it was felt",
            "add the runs of the session, or set its ratings aside",
        )


def rating_method(analysed: Analysed) -> Iterator[str]:
    """How scores became verdicts, in a paragraph."""
    rated = analysed.rated
    if rated is None or not rated.figures:
        return
    yield (
        "Ratings: each rater's own level is taken out by least squares (sessions and raters, no "
        "interaction), and what is left for a session is one session value, whatever the number of "
        "raters; their scatter about it is its run noise. The values go the way of every quantity. "
        "Differences are in the scale's own points. A verdict holds for these raters: others may feel "
        "otherwise. An item on whose sessions the raters do not agree (F of sessions over residuals, "
        "of the ranks for an ordinal item, at the declared confidence) is untestable. Agreement: ICC "
        "two-way, absolute (Shrout and Fleiss 1979; McGraw and Wong 1996), Kendall's W with ties, "
        "Krippendorff's alpha, ordinal."
    )
    if any(each.item.scale == "ordinal" for each in rated.figures):
        yield (
            "Ordinal items: the verdict is on points, since a worthwhile difference and a claim are, and "
            "a mean of several raters is steadier than their ranks. What it takes for granted, that "
            "steps are alike, is looked at by ranks within each rater through the same comparison; "
            "where these point the other way no verdict is given. Ranks, and no proportional-odds "
            "model: such a model takes the scores of one session for independent of each other, and "
            "its p for exact with few sessions; neither holds here."
        )
    yield f"Blinding: {rated.blinding.word}; {rated.blinding.why}."
