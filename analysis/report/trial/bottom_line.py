"""The bottom line of a trial: what was asked, what was found, how sure, what it leans on; then a line a figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from slackwater.analysis.report.trial import ranking, whole_sweep
from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.blocks import Block, blocks
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import NBSP, fixed
from slackwater.analysis.wording.words import count_of

NOTHING = "No configurations were compared: there is no verdict."


@dataclass(frozen=True, slots=True)
class Line:
    """One further figure in a line.

    Attributes
    ----------
    block : Block
    title : str
        The figure, with the pair where several are compared.
    texts : tuple of str
        What was found, from the fullest to the shortest.
    """

    block: Block
    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BottomLine:
    """What a trial comes to.

    Attributes
    ----------
    leading : tuple of Block
        The figure that answers, one block for each pair of configurations.
    subject : str
        What was compared, and by which figure.
    found : tuple of str
        What was found, in sentences.
    sure : tuple of str
        How sure that is, and what it leans on, in sentences.
    further : str
        What to know of the figures below.
    lines : tuple of Line
        The further figures.
    """

    leading: tuple[Block, ...]
    subject: str
    found: tuple[str, ...]
    sure: tuple[str, ...]
    further: str
    lines: tuple[Line, ...]


def bottom_line(result: Result) -> BottomLine | None:
    """The bottom line; None where nothing was compared."""
    found = blocks(result)
    if not found:
        return None
    leading = leading_of(found)
    several = len({(each.baseline, each.modified) for each in found}) > 1
    rest = [each for each in whole_sweep.headlined(found) if each not in leading]
    lines = [_line(each, each.title, several) for each in rest]
    if several:
        lines = [*(_line(each, "", several) for each in leading), *lines]
        told = ranking.sentences(result, leading)
    else:
        told = wording.found_sentences(leading[0])
    return BottomLine(
        leading=leading,
        subject=_subject(result, leading, several),
        found=told,
        sure=(*_how_sure(result, leading), *_leans_on(result, leading)),
        further=_further(result, several),
        lines=tuple(lines),
    )


def leading_of(found: Sequence[Block]) -> tuple[Block, ...]:
    """The figure that answers: the one declared to decide, else one at equal speed, else the first.

    At equal speed only what has a better side answers anything; the engine speed has none.
    """
    kept = whole_sweep.headlined(found)
    first = next((each for each in kept if each.rows[0].deciding), None)
    fair = (each for each in kept if each.at_equal_speed and each.rows[0].better)
    first = first or next(fair, kept[0])
    return tuple(each for each in kept if (each.quantity, each.title) == _name(first))


def _name(block: Block) -> tuple[str, str]:
    return block.quantity, block.title


def _subject(result: Result, leading: Sequence[Block], several: bool) -> str:
    first = leading[0]
    notes = ["declared to decide"] * bool(first.rows[0].deciding)
    notes += ["found afterwards"] * any(sealing.all_afterwards(block) for block in leading)
    decides = f" ({', '.join(notes)})" if notes else ""
    if several:
        named = {name for each in leading for name in (each.baseline, each.modified)}
        return f"{_capital(first.title)}{decides}, {count_of(len(named), 'configuration')}"
    return f"{wording.subject(result, first.baseline, first.modified)}, {first.title}{decides}"


def _how_sure(result: Result, leading: Sequence[Block]) -> tuple[str, ...]:
    row = next((row for block in leading for row in block.rows if row.low is not None), None)
    if row is None:
        return ()
    parts = []
    if result.deciding is not None and result.deciding.told:
        error = f"{100 * result.deciding.error:.3g}{NBSP}%"
        parts.append(f"at most {error} of such trials name a difference that is not there")
    else:
        parts.append(wording.interval_note(leading[0]))
    counts = {(row.sessions_baseline, row.sessions_modified) for b in leading for row in b.rows}
    if len(counts) == 1 and None not in (pair := counts.pop()):
        parts.append(f"{count_of(pair[0] or 0, 'session')} against {pair[1]}")
    if floor := wording.floor_span(leading):
        parts.append(f"noise floor {floor}")
    return (f"How sure: {'; '.join(parts)}.",)


def _leans_on(result: Result, leading: Sequence[Block]) -> tuple[str, ...]:
    """What the verdict leans on, in a few words; the sentences stand further down."""
    rows = result.records("leanings")
    if not rows or all(row.verdict == "untestable" for block in leading for row in block.rows):
        return ()
    told = list(dict.fromkeys(text for row in rows if (text := _leaning(row, leading[0]))))
    if not told:
        return ("Nothing that was looked at beside it stands out.",)
    return (f"{_capital('; '.join(told))}.",)


def _leaning(row: dict[str, Any], block: Block) -> str:
    """One thing that a verdict leans on, where it stands out."""
    check, session, value = row["check"], row["session"], row["value"]
    if check == "one session left out":
        return row["message"].partition(",")[0] if value else ""
    if not row["remark"]:
        return ""
    size = f"{fixed(block.change.of(value), 1, signed=True)}{block.change_unit}"
    return {
        "outlying session": f"session {session} stands {size} apart",
        "trend": f"a drift of {size} over the trial counts as noise",
        "even noise": "the noise is not even, which was allowed for",
        "earlier trials": "the noise of earlier trials does not fit, or cannot be checked",
    }.get(check, "")


def _further(result: Result, several: bool) -> str:
    """The heading of the lines, with how often any of the figures there is wrong."""
    heading = "Pair by pair, then further figures" if several else "Further figures"
    found = result.deciding
    if found is None:
        return heading
    if found.further_error >= 1:
        return f"{heading} (a false difference in one of {found.further} is to be expected)"
    rate = f"{fixed(100 * found.further_error, 0)}{NBSP}%"
    return f"{heading} (up to {rate} of trials name a false difference in one of {found.further})"


def _line(block: Block, title: str, several: bool) -> Line:
    """A block in a line; with several pairs it names its own, by their short names."""
    pair = f"{block.modified} against {block.baseline}" if several else ""
    title = ", ".join(part for part in (title, pair) if part)
    if sealing.all_afterwards(block):
        title = f"{title}, found afterwards"
    return Line(block, title, wording.short_forms(block))


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
