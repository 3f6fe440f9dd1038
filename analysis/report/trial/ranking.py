"""Three or more configurations in one figure: which stands where, and which are apart."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slackwater.analysis.report.trial.blocks import Block, places
from slackwater.analysis.report.trial.tables import title_of
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.words import listed


def sentences(result: Result, leading: Sequence[Block]) -> tuple[str, ...]:
    """The order by the means, which pairs are apart, and which were not compared.

    Parameters
    ----------
    result : Result
    leading : sequence of Block
        One figure, a block for each pair of configurations.
    """
    order = ranked(leading)
    names = [title_of(result, name) for name in order]
    better = leading[0].rows[0].better
    words = "from the best" if better else "from the highest"
    told = [f"By their means, {words}: {', '.join(names)}."] if names else []
    apart = [text for block in leading if (text := _apart(result, block, order))]
    same = [_pair(result, block, order) for block in leading if not _established(block)]
    told.append(f"Apart: {'; '.join(apart)}." if apart else "No two are told apart.")
    if apart and same:
        told.append(f"Not told apart: {'; '.join(same)}.")
    if missing := _not_compared(leading, order):
        pairs = listed([f"{title_of(result, a)} and {title_of(result, b)}" for a, b in missing])
        told.append(f"Not compared with each other, as 'comparisons' declares: {pairs}.")
    return tuple(told)


def ranked(leading: Sequence[Block]) -> list[str]:
    """The configurations by their mean over the places that all of them have, the best first.

    Where neither side is better, the highest first. Empty where there is no such place.
    """
    means: dict[str, dict[str, float]] = {}
    for block in leading:
        for row in block.rows:
            for name, mean in (
                (block.baseline, row.baseline_mean),
                (block.modified, row.modified_mean),
            ):
                if mean is not None:
                    means.setdefault(name, {})[row.at or ""] = mean
    common = set.intersection(*(set(found) for found in means.values())) if means else set()
    if not common:
        return []
    ratio = leading[0].rows[0].scale == "ratio"
    level = {
        name: sum(math.log(found[at]) if ratio and found[at] > 0 else found[at] for at in common)
        for name, found in means.items()
    }
    down = leading[0].rows[0].better != "less"
    return sorted(level, key=lambda name: -level[name] if down else level[name])


def _established(block: Block) -> list[Word]:
    return [row.verdict for row in block.rows if row.verdict.established]


def _sorted_pair(block: Block, order: Sequence[str]) -> tuple[str, str]:
    """The pair with the one that ranks better first."""
    pair = (block.modified, block.baseline)
    if not order:
        return pair
    first, second = sorted(pair, key=order.index)
    return first, second


def _pair(result: Result, block: Block, order: Sequence[str]) -> str:
    return " and ".join(title_of(result, name) for name in _sorted_pair(block, order))


def _apart(result: Result, block: Block, order: Sequence[str]) -> str:
    """Where a pair is apart, and which of the two is ahead there."""
    parts = []
    for word in (Word.GAIN, Word.LOSS, Word.HIGHER, Word.LOWER):
        rows = [row for row in block.rows if row.verdict is word]
        if not rows:
            continue
        pair = (block.modified, block.baseline)
        if word in (Word.LOSS, Word.LOWER):
            pair = (block.baseline, block.modified)
        ahead, behind = (title_of(result, name) for name in pair)
        where = "everywhere" if len(rows) == len(block.rows) else f"at {places(block, rows)}"
        what = "above" if word in (Word.HIGHER, Word.LOWER) else "ahead of"
        parts.append(
            f"{ahead} {what} {behind} {where}"
            if not block.is_figure
            else f"{ahead} {what} {behind}"
        )
    return ", ".join(parts)


def _not_compared(leading: Sequence[Block], order: Sequence[str]) -> list[tuple[str, str]]:
    compared = {frozenset((block.baseline, block.modified)) for block in leading}
    return [
        (one, other)
        for i, one in enumerate(order)
        for other in order[i + 1 :]
        if frozenset((one, other)) not in compared
    ]
