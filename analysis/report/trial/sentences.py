"""The result in sentences: the verdicts first, what limits them after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial.blocks import Block, Row, places
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word, Worth
from slackwater.analysis.wording.gathering import gathered
from slackwater.analysis.wording.numbers import (
    MISSING,
    NBSP,
    decimals_to_match,
    fixed,
    range_text,
    uncertainty_text,
    value_scale,
)
from slackwater.analysis.wording.words import count_of, listed, severities
from slackwater.protocol.findings import Severity

ESTABLISHED = ("gain", "loss", "higher", "lower")
_ORDER = (*ESTABLISHED, "equivalent", "within noise", "untestable")

LEANINGS = "What this verdict leans on"
LIMITS = (
    "A verdict holds for this boat at the loading and in the conditions of this trial. "
    "It is no advice on loading, on handling or on where to go: local rules, the skipper's judgement "
    "and licensed practice come before it."
)


def subject(result: Result, baseline: str, modified: str) -> str:
    """The pair compared, by title: "Interceptors fitted against As delivered"."""
    names = result.configurations
    return f"{names.get(modified, modified)} against {names.get(baseline, baseline)}"


def _spread(block: Block, rows: list[Compared]) -> str:
    known = [row for row in rows if row.change is not None]
    if not known:
        return ""
    ends = sorted(known, key=lambda row: row.change or 0.0)
    digits = [each for row in (ends[0], ends[-1]) if (each := block.decimals(row)) is not None]
    low, high = (block.change.of(row.change) for row in (ends[0], ends[-1]))
    return range_text(low, high, min(digits, default=None)) + block.change_unit


def _worthwhile(block: Block) -> str:
    values = {row.worthwhile for row in block.rows if row.worthwhile is not None}
    if len(values) != 1:
        return ""
    return block.declared_text(values.pop()) + block.change_unit


def _at_how_many(block: Block, count: int, first: bool) -> str:
    total = len(block.rows)
    if count == total:
        return f"at all {total} {block.noun}"
    return f"at {count} of {total} {block.noun}" if first else f"at {count}"


def _group(block: Block, verdict: str, rows: list[Compared], first: bool) -> str:
    text = f"{verdict} {_at_how_many(block, len(rows), first)}"
    notes: list[str] = []
    if len(rows) < len(block.rows) and verdict in ESTABLISHED:
        notes.append(places(block, rows))
    if verdict in ESTABLISHED and (spread := _spread(block, rows)):
        notes.append(spread)
    if verdict == "equivalent" and (bound := _worthwhile(block)):
        notes.append(f"inside ±{bound}")
    return f"{text} ({', '.join(notes)})" if notes else text


def _single(block: Block) -> str:
    row = block.rows[0]
    where = f" at {row.at}" if row.position is not None else ""
    text = f"{row.verdict}{where}"
    if row.change is None:
        return text
    text += f", {block.change_text(row)}{block.change_unit}"
    interval = block.interval_text(row)
    return text if interval == MISSING else f"{text} ({interval}{block.change_unit})"


def by_verdict(block: Block) -> dict[str, list[Compared]]:
    """The rows of a block by verdict, in the order in which a reader wants them."""
    found = {verdict: [row for row in block.rows if (row.verdict) == verdict] for verdict in _ORDER}
    return {verdict: rows for verdict, rows in found.items() if rows}


def headline(block: Block) -> str:
    """The block's verdicts in one clause: what is established, where, how much; then the rest."""
    lead = "so far, and not final: " if any(_not_final(row) for row in block.rows) else ""
    if len(block.rows) == 1:
        return lead + _single(block)
    groups = by_verdict(block).items()
    return lead + "; ".join(
        _group(block, verdict, rows, number == 0) for number, (verdict, rows) in enumerate(groups)
    )


def _not_final(row: Compared) -> bool:
    return row.final is False and row.verdict is not Word.UNTESTABLE


def worth_words(block: Block) -> str:
    """How the differences stand to the worthwhile one: "exceeds 3 % at 13 to 19 kn"; may be empty."""
    bound = _worthwhile(block) or "the worthwhile difference"
    parts = []
    for worth in Worth:
        rows = [row for row in block.rows if row.worth is worth and row.verdict in ESTABLISHED]
        if rows:
            everywhere = len(rows) == len(block.rows)
            parts.append(f"{worth} {bound}" + ("" if everywhere else f" at {places(block, rows)}"))
    return listed(parts) if parts else ""


def _worth_sentence(block: Block) -> str:
    words = worth_words(block)
    if not words:
        return ""
    verb = words if words.startswith((Worth.EXCEEDS, Worth.MAY_EXCEED)) else f"is {words}"
    return f"The difference {verb}.".replace(f"and {Worth.LESS}", f"and is {Worth.LESS}")


def found_sentences(block: Block) -> tuple[str, ...]:
    """What one block found: its verdicts, what they are worth, and why there is none."""
    told = headline(block)
    told = f"{told[:1].upper()}{told[1:]}."
    untestable = _untestable_sentences(block)
    if len(by_verdict(block)) == 1 and untestable and untestable[0].startswith("Untestable:"):
        told, untestable = (
            f"{told[:-1]}: {untestable[0].removeprefix('Untestable: ')}",
            untestable[1:],
        )
    said = (told, _worth_sentence(block), _no_loss_sentence(block), *untestable)
    return tuple(text for text in said if text)


def _no_loss_sentence(block: Block) -> str:
    """Where a loss that would matter is ruled out; empty where nothing of the kind was declared."""
    judged = [row for row in block.rows if row.no_loss_p is not None]
    bound = _worthwhile(block)
    if not judged or not bound:
        return ""
    ruled_out = [row for row in judged if (row.no_loss_p or 0.0) <= 1 - row.confidence]
    if not ruled_out:
        return f"A loss of {bound} is ruled out nowhere."
    where = _at_how_many(block, len(ruled_out), True)
    if len(ruled_out) < len(block.rows):
        where += f" ({places(block, ruled_out)})"
    return f"A loss of {bound} or more is ruled out{'' if len(block.rows) == 1 else f' {where}'}."


def short_forms(block: Block) -> tuple[str, ...]:
    """The verdicts of a block, from the fullest to the shortest."""
    if len(block.rows) == 1:
        return (headline(block), str(block.rows[0].verdict))
    groups = list(by_verdict(block).items())
    verdict, rows = groups[0]
    others = [f", {other} at {len(found)}" for other, found in groups[1:]]
    kept = [
        text for text, (other, _) in zip(others, groups[1:], strict=True) if other in _ORDER[:5]
    ]
    tails = tuple(dict.fromkeys(("".join(others), "".join(kept))))
    worth = worth_words(block)
    heads = list(_heads(block, verdict, rows))
    if worth and not others:
        heads.insert(0, f"{heads[0]}; {worth}")
    return tuple(dict.fromkeys(head + tail for head in heads for tail in tails))


def _heads(block: Block, verdict: str, rows: list[Compared]) -> Iterator[str]:
    """The first of a block's verdicts with how much and where, with how much, and alone."""
    first = f"{verdict} {_at_how_many(block, len(rows), True)}"
    told = verdict in ESTABLISHED or verdict == Word.UNTESTABLE
    if told and (spread := _spread(block, rows)):
        day = " on the day" if verdict == Word.UNTESTABLE else ""
        if len(rows) < len(block.rows):
            yield f"{first} ({places(block, rows)}), {spread}{day}"
        yield f"{first}, {spread}{day}"
    yield first


def _stop(text: str) -> str:
    text = text.strip()
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _untestable_sentences(block: Block) -> list[str]:
    rows = [row for row in block.rows if (row.verdict) == "untestable"]
    reasons: dict[str, list[Compared]] = {}
    for row in rows:
        reasons.setdefault(row.reason or "no reason was recorded", []).append(row)
    sentences = []
    for reason, held in reasons.items():
        everywhere = len(held) == len(block.rows)
        where = "" if everywhere else f" at {places(block, held)}"
        sentences.append(_stop(f"Untestable{where}: {reason}"))
    seen = _spread(block, rows)
    if seen:
        text = f"On the day the difference was {seen}"
        limits = [row.vanishes_at for row in rows if row.vanishes_at is not None]
        if limits:
            scaled = [uncertainty_text(block.change.of(limit)) for limit in sorted(limits)]
            span = scaled[0] if scaled[0] == scaled[-1] else f"{scaled[0]} to {scaled[-1]}"
            text += f"; scatter between sessions of {span}{block.change_unit} would account for it"
        sentences.append(f"{text}.")
    return sentences


@dataclass(frozen=True, slots=True)
class Answer:
    """What a block says, in words."""

    block: Block
    subject: str
    headline: str
    details: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The answer in one sentence."""
        aside = ", found afterwards" if self.afterwards else ""
        return f"{self.subject}, {self.block.title}{aside}: {self.headline}."

    @property
    def afterwards(self) -> bool:
        """None of it was declared before the trial."""
        return sealing.all_afterwards(self.block)


def answers(result: Result, among: Iterable[Block]) -> tuple[Answer, ...]:
    """The blocks in words; a reason that was already given is not given again."""
    found = []
    given: set[tuple[str, str]] = set()
    for block in among:
        pair = subject(result, block.baseline, block.modified)
        details = []
        for text in (_worth_sentence(block), *_untestable_sentences(block)):
            if text and not (text.startswith("Untestable:") and (pair, text) in given):
                details.append(text)
            given.add((pair, text))
        found.append(Answer(block, pair, headline(block), tuple(details)))
    return tuple(found)


def floor_span(among: Iterable[Block]) -> str:
    """The noise floors of one figure, from the least to the most, over all pairs compared."""
    found = list(among)
    known = sorted(row.noise_floor for b in found for row in b.rows if row.noise_floor is not None)
    if not known:
        return ""
    ends = [uncertainty_text(found[0].change.of(value)) for value in (known[0], known[-1])]
    return (ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}") + found[0].change_unit


def deciding_sentence(result: Result) -> str:
    """Which figure decides, and what the others together may be wrong in; empty without one."""
    found = result.deciding
    if found is None or not found.told:
        return ""
    each = f"{100 * found.error:.3g}{NBSP}%"
    text = (
        f"{found.figure[:1].upper()}{found.figure[1:]} was declared to decide: no more than {each} of "
        "such trials name a difference in it that is not there."
    )
    if found.further:
        rest = f"{fixed(100 * found.further_error, 0)}{NBSP}%"
        text += (
            f" The {count_of(found.further, 'further figure')} may together be wrong somewhere in "
            f"up to {rest}."
        )
    return text.replace("_", " ")


def leanings(result: Result, all_of_them: bool = True) -> dict[str, list[dict[str, Any]]]:
    """What the verdicts of each comparison lean on, by what is compared; or only what stands out."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in result.records("leanings"):
        turns = row["check"] == "one session left out" and row["value"]
        if not (all_of_them or row["remark"] or turns):
            continue
        title = f"{subject(result, row['baseline'], row['modified'])}, {row['quantity']}"
        found.setdefault(title, []).append(row)
    return found


def noise_floor_sentence(among: Iterable[Block]) -> str:
    """One sentence on the smallest differences that the trial could have told from zero.

    Where worthwhile differences were declared, of the quantities they were declared for; the
    tables give them all.
    """
    blocks = list(among)
    declared = [b for b in blocks if any(row.worthwhile is not None for row in b.rows)]
    figures: dict[str, list[Block]] = {}
    for block in declared if floor_span(declared) else blocks:
        figures.setdefault(block.title, []).append(block)
    floors = {title: text for title, same in figures.items() if (text := floor_span(same))}
    if not floors:
        return "Noise floor: none could be computed, so no difference can be told from noise."
    parts = "; ".join(f"{title} {text}" for title, text in floors.items())
    return (
        f"Noise floor, the smallest difference that this trial could have told from zero: {parts}."
    )


def interval_note(block: Block) -> str:
    """What the intervals of the block are."""
    row = next((row for row in block.rows if row.low is not None), None)
    if row is None or row.confidence is None:
        return "No intervals could be computed"
    level = fixed(row.confidence * 100, None if row.confidence * 100 % 1 else 0)
    text = f"{level}{NBSP}% intervals"
    if row.simultaneous and (row.family or 0) > 1:
        return f"{text} that hold for all {row.family} comparisons at once"
    if (row.family or 0) > 1:
        return f"{text}, each for itself"
    return text


def sessions_note(block: Block) -> str:
    """How many sessions stand behind the block."""
    row = block.rows[0]
    counts = (row.sessions_baseline, row.sessions_modified)
    if None in counts:
        return ""
    text = f"{count_of(counts[0], 'session')} with the baseline, {counts[1]} with the modified"
    if row.degrees_of_freedom is not None:
        text += f"; {row.degrees_of_freedom:g} degrees of freedom between sessions"
    return text


def runs_sentence(result: Result) -> str:
    """How many runs were read, used and set aside."""
    runs = result.runs
    if not runs.read:
        return "No runs."
    return f"{count_of(runs.read, 'run')} read, {runs.used} used, {runs.set_aside} set aside."


def heads(result: Result) -> tuple[str, ...]:
    """What stands before the answer: a seal that does not hold, and runs in doubt."""
    return (*sealing.heading(result), *result.doubts)


def cautions(result: Result) -> tuple[str, ...]:
    """What a reader has to know beside the verdicts: deviations, waivers, findings."""
    lines = []
    if departures := gathered(result.deviations):
        serious = severities(departures)
        lines.append(
            f"The trial departs from its protocol in {count_of(len(departures), 'matter')} ({serious})."
        )
    if seal := sealing.caution(result):
        lines.append(seal)
    if result.waivers:
        lines.append(f"{count_of(len(result.waivers), 'rule').capitalize()} waived.")
    weighty = [each for each in result.findings if each.severity is not Severity.ADVICE]
    for each in weighty:
        if each.rule in ("declared-look", "undeclared-look"):
            lines.append(_stop(f"{each.message[0].upper()}{each.message[1:]}"))
    if weighty:
        lines.append(f"Found in the files: {severities(gathered(weighty))}.")
    return tuple(lines)


def noise_texts(row: Row) -> tuple[str, str, str]:
    """A component of the noise: its value, its interval and their unit."""
    scale = value_scale(row["unit"])
    value, low, high = (scale.of(row[key]) for key in ("value", "low", "high"))
    decimals = decimals_to_match(value) if value else None
    if low is None or high is None:
        return uncertainty_text(value), MISSING, scale.unit
    ends = f"{fixed(low, decimals)} to {fixed(high, decimals)}"
    return uncertainty_text(value), ends, scale.unit
