"""What a seal says, in words: what was declared before the trial, and what was found afterwards."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.analysis.report.trial.blocks import Block, blocks, places
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.wording.numbers import NBSP, fixed
from slackwater.analysis.wording.words import quantity_title


def all_afterwards(block: Block) -> bool:
    """Whether none of a block's comparisons was declared before the trial, as far as a seal tells."""
    return {row.declared for row in block.rows} == {False}


def note(block: Block) -> str:
    """To which family the rows of a block belong; empty where no seal tells."""
    after = [row for row in block.rows if row.declared is False]
    if not after:
        return "declared beforehand" if all(row.declared for row in block.rows) else ""
    if len(after) == len(block.rows):
        return "found afterwards, and one family with all else that was"
    with_level = [row.confidence for row in after if row.confidence is not None]
    level = f" ({_percent(with_level[0])} intervals)" if with_level else ""
    return f"declared beforehand but for {places(block, after)}, found afterwards{level}"


def sentences(result: Result) -> tuple[str, ...]:
    """What the seal says of the trial: nothing, why it does not hold, or what was declared."""
    message = result.seal.message
    text = f"{message[:1].upper()}{message[1:]}."
    if result.seal.state != "kept":
        return (text,)
    found = blocks(result)
    told = [text]
    for declared, words in ((True, "Declared beforehand"), (False, "Found afterwards")):
        named, count = _named(found, declared)
        if count:
            told.append(
                f"{words}: {named} ({count} {'comparison' if count == 1 else 'comparisons'})."
            )
    return tuple(told)


def heading(result: Result) -> tuple[str, ...]:
    """What stands above all else: that a seal does not hold; nothing where it does, or is none."""
    return () if result.seal.state in ("none", "kept") else (sentences(result)[0],)


def caution(result: Result) -> str:
    """The line on a seal that holds, for the end of the answer; empty otherwise."""
    if result.seal.state != "kept":
        return ""
    rows = [row for block in blocks(result) for row in block.rows]
    before = sum(row.declared is True for row in rows)
    return (
        f"Sealed before the first run, by the maker's clock: {before} of {len(rows)} comparisons were "
        "declared beforehand."
    )


def short(result: Result) -> str:
    """A word or two, to stand behind the protocol."""
    return {
        "none": "not sealed",
        "kept": "as sealed",
        "late": "sealed too late",
        "changed": "not as sealed",
        "unreadable": "seal unreadable",
    }[result.seal.state]


def _named(found: Sequence[Block], declared: bool) -> tuple[str, int]:
    """The quantities that have comparisons of one family, and how many comparisons these are."""
    names: list[str] = []
    count = 0
    for block in found:
        rows: list[Compared] = [row for row in block.rows if row.declared is declared]
        count += len(rows)
        if not rows:
            continue
        partly = len(rows) < len(block.rows)
        where = f" at {places(block, rows)}" if partly else " at equal speed" * _by_speed(block)
        names.append(quantity_title(block.quantity) + where)
    return ", ".join(dict.fromkeys(names)), count


def _by_speed(block: Block) -> bool:
    return block.noun == "speeds" and len(block.rows) > 1


def _percent(fraction: float) -> str:
    return f"{fixed(fraction * 100, 2).rstrip('0').rstrip('.')}{NBSP}%"
