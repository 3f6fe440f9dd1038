"""The result in sentences: the verdicts first, what limits them after."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial.blocks import Block, Row, places
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.numbers import (
    MISSING,
    NBSP,
    decimals_to_match,
    fixed,
    uncertainty_text,
    value_scale,
)
from slackwater.analysis.wording.words import count_of, severities
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
    low, high = block.change_text(ends[0]), block.change_text(ends[-1])
    return (low if low == high else f"{low} to {high}") + block.change_unit


def _worthwhile(block: Block) -> str:
    values = {row.worthwhile for row in block.rows if row.worthwhile is not None}
    if len(values) != 1:
        return ""
    return block.declared_text(values.pop()) + block.change_unit


def _verdict_words(verdict: str) -> str:
    if verdict in ("gain", "loss"):
        return f"established {verdict}"
    return f"established as {verdict}" if verdict in ESTABLISHED else verdict


def _at_how_many(block: Block, count: int, first: bool) -> str:
    total = len(block.rows)
    if count == total:
        return f"at all {total} {block.noun}"
    return f"at {count} of {total} {block.noun}" if first else f"at {count}"


def _group(block: Block, verdict: str, rows: list[Compared], first: bool) -> str:
    text = f"{_verdict_words(verdict)} {_at_how_many(block, len(rows), first)}"
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
    text = f"{_verdict_words(row.verdict)}{where}"
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


def _worth_sentence(block: Block) -> str:
    established = [row for row in block.rows if row.verdict in ESTABLISHED]
    bound = _worthwhile(block)
    parts = []
    for worth, words in (
        ("surely", "surely worthwhile"),
        ("possibly", "possibly worthwhile"),
        ("not", "established yet surely not worthwhile"),
    ):
        rows = [row for row in established if row.worth == worth]
        if rows and len(block.rows) == 1:
            parts.append(words)
        elif rows:
            parts.append(f"{words} at {places(block, rows)}")
    if not parts:
        return ""
    against = f"Against the worthwhile difference of {bound}: " if bound else ""
    text = "; ".join(parts)
    return f"{against}{text if against else text[0].upper() + text[1:]}."


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


def _floor(block: Block) -> str:
    known = sorted(float(row.noise_floor) for row in block.rows if row.noise_floor is not None)
    if not known:
        return ""
    first, last = (uncertainty_text(block.change.of(value)) for value in (known[0], known[-1]))
    return (first if first == last else f"{first} to {last}") + block.change_unit


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


def leanings(result: Result) -> dict[str, list[dict[str, Any]]]:
    """What the verdicts of each comparison lean on, by what is compared."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in result.records("leanings"):
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
    floors: dict[str, list[str]] = {}
    for block in declared if any(_floor(b) for b in declared) else blocks:
        if text := _floor(block):
            floors.setdefault(block.title, []).append(text)
    if not floors:
        return "Noise floor: none could be computed, so no difference can be told from noise."
    parts = "; ".join(f"{title} {' or '.join(dict.fromkeys(t))}" for title, t in floors.items())
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
    return f"{count_of(runs.read, 'run')} read, {runs.used} used, {runs.set_aside} set aside."


def cautions(result: Result) -> tuple[str, ...]:
    """What a reader has to know beside the verdicts: deviations, waivers, findings."""
    lines = []
    if result.deviations:
        serious = severities(result.deviations)
        places_ = count_of(len(result.deviations), "place")
        lines.append(f"The trial departs from its protocol in {places_} ({serious}).")
    if seal := sealing.caution(result):
        lines.append(seal)
    if result.waivers:
        lines.append(f"{count_of(len(result.waivers), 'rule').capitalize()} waived.")
    weighty = [each for each in result.findings if each.severity is not Severity.ADVICE]
    for each in weighty:
        if each.rule in ("declared-look", "undeclared-look"):
            lines.append(_stop(f"{each.message[0].upper()}{each.message[1:]}"))
    if weighty:
        lines.append(f"Found in the files: {severities(weighty)}.")
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
