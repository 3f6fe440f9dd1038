"""The words of an archive's summary: the answer first, then what to look at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from slackwater.analysis.archive.answer import ArchiveResult, Differing, OneTrial
from slackwater.analysis.archive.asking import DECIDING
from slackwater.analysis.report.archive import method_words
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, NBSP, decimals_for, fixed
from slackwater.analysis.wording.words import count_of, listed, quantity_title

MOST = 200  # rows of a table; the store holds them all
_FIRST = 3  # names told before "and N more"


def answer(result: ArchiveResult) -> str:
    """How many trials there are, and what this pass did."""
    counts, trials = result.counts, len(result.trials)
    if not trials:
        return f"There is no trial below {result.folder}."
    did = [
        f"{number} {word}"
        for number, word in (
            (counts.new, "new"),
            (counts.changed, "analysed again"),
            (counts.unchanged, "unchanged"),
        )
        if number
    ]
    under = f", with {result.setting}" if result.setting else ""
    good = trials - len(result.broken)
    broken = f"; {len(result.broken)} cannot be analysed" if result.broken else ""
    return (
        f"{count_of(trials, 'trial')} below {result.folder}{under}: {listed(did)}. "
        f"{good} {'is' if good == 1 else 'are'} analysed{broken}."
    )


def verdicts(result: ArchiveResult) -> str:
    """The verdicts of the deciding figures, or of all comparisons where none is declared."""
    found = result.verdicts.get(DECIDING)
    if found:
        return f"Deciding figures, at all positions: {_counts(found)}."
    whole: dict[str, int] = {}
    for each in result.verdicts.values():
        for word, number in each.items():
            whole[word] = whole.get(word, 0) + number
    return f"All comparisons: {_counts(whole)}." if whole else "Nothing was compared."


def to_look_at(result: ArchiveResult) -> list[str]:
    """What wants looking at, the heaviest first."""
    out = []
    if result.broken:
        out.append(
            f"{count_of(len(result.broken), 'trial')} cannot be analysed: "
            f"{_some(each.path for each in result.broken)}."
        )
    if result.differing:
        paths = list(dict.fromkeys(each.path for each in result.differing))
        out.append(
            f"{count_of(len(result.differing), 'verdict')} in {count_of(len(paths), 'trial')} "
            f"{'differs' if len(result.differing) == 1 else 'differ'} from what "
            f"{'is declared' if result.setting else 'was kept'}: {_some(paths)}."
        )
    out += method_words.shifts(result.method)
    for each in result.entered_twice:
        out.append(
            f"The same runs stand under {len(each.paths)} names, and count once: "
            f"{_some(each.paths)}."
        )
    changed = [each.path for each in result.trials if each.seal in ("changed", "unreadable")]
    if changed:
        out.append(f"The seal does not hold of {_some(changed)}.")
    if result.counts.gone:
        out.append(
            f"{count_of(result.counts.gone, 'trial')} of the last pass "
            f"{'is' if result.counts.gone == 1 else 'are'} no longer there; what was found is kept "
            "in the store and counted nowhere."
        )
    if result.closed:
        told = _some(f"{name} ({why})" for name, why in result.closed.items())
        out.append(f"Not looked into: {told}.")
    if result.links:
        out.append(f"Links to folders, which are not followed: {_some(result.links)}.")
    return out


def _some(items: Iterable[str]) -> str:
    found = list(items)
    more = len(found) - _FIRST
    return ", ".join(found) if more <= 1 else f"{', '.join(found[:_FIRST])} and {more} more"


def _counts(found: Mapping[str, int]) -> str:
    return ", ".join(f"{number} {word}" for word, number in found.items())


def verdict_sheet(result: ArchiveResult) -> Sheet:
    """Verdicts by quantity."""
    words = [w for w in _all_words(result) if any(w in found for found in result.verdicts.values())]
    rows = tuple(
        (quantity_title(name), *(str(found.get(word, 0)) for word in words))
        for name, found in result.verdicts.items()
    )
    figures = frozenset(range(1, len(words) + 1))
    return Sheet("Verdicts by quantity", ("quantity", *words), rows, figures)


def _all_words(result: ArchiveResult) -> tuple[str, ...]:
    from slackwater.analysis.result.fields import VERDICTS

    return VERDICTS


def trial_sheet(result: ArchiveResult) -> Sheet:
    """A row a trial."""
    rows = tuple(_trial(each) for each in result.trials[:MOST])
    return Sheet(
        "Trials",
        ("trial", "boat", "days", "runs", "verdicts"),
        rows,
        frozenset({3}),
        _more(len(result.trials), "trials"),
    )


def _trial(each: OneTrial) -> tuple[str, ...]:
    days = [day for day in (each.first_day, each.last_day) if day]
    told = _counts(each.verdicts) if each.verdicts else "nothing compared"
    return (
        each.path,
        each.boat or MISSING,
        " to ".join(dict.fromkeys(days)) or MISSING,
        MISSING if each.runs_used is None else str(each.runs_used),
        "cannot be analysed" if each.state == "broken" else told,
    )


def broken_sheet(result: ArchiveResult) -> Sheet:
    """Trials that cannot be analysed."""
    rows = tuple((each.path, each.message) for each in result.broken[:MOST])
    return Sheet(
        "Trials that cannot be analysed",
        ("trial", "why"),
        rows,
        note=_more(len(result.broken), "trials"),
    )


def differing_sheet(result: ArchiveResult) -> Sheet:
    """Verdicts that differ, old and new."""
    rows = tuple(
        (
            each.path,
            f"{quantity_title(each.quantity)}, {each.modified} against {each.baseline}, {each.at}",
            f"{each.old_verdict or MISSING} → {each.new_verdict or MISSING}",
            behind(each),
        )
        for each in result.differing[:MOST]
    )
    headings = ("trial", "figure", "verdict", "what changed")
    return Sheet(
        "Verdicts that differ", headings, rows, note=_more(len(result.differing), "verdicts")
    )


_SHOWN = (
    ("estimate", "change"),
    ("noise floor", "noise_floor"),
    ("p-value", "p_value"),
    ("declared confidence", "confidence"),
    ("declared worthwhile difference", "worthwhile"),
)


def behind(each: Differing) -> str:
    """Which figures behind a verdict changed, from what to what."""
    told = []
    for word, name in _SHOWN:
        if word not in each.reason.split(", "):
            continue
        old, new = getattr(each, f"old_{name}"), getattr(each, f"new_{name}")
        told.append(f"{word} {_figures(name, old, new)}")
    return "; ".join(told) or each.reason


def _figures(name: str, old: float | None, new: float | None) -> str:
    if name == "p_value":
        return f"{_p(old)} → {_p(new)}"
    size = min((abs(v) for v in (old, new) if v), default=None)
    gap = abs(new - old) if old is not None and new is not None and new != old else size
    factor = 100
    decimals = decimals_for(factor * min(size or 1.0, (gap or 1.0)) if size else None)
    signed = name == "change"
    both = [
        MISSING if value is None else f"{fixed(factor * value, decimals, signed=signed)}{NBSP}%"
        for value in (old, new)
    ]
    return " → ".join(both)


def _p(value: float | None) -> str:
    return MISSING if value is None else "below 0.001" if value < 0.001 else fixed(value, 3)


def rule_sheet(result: ArchiveResult) -> Sheet:
    """What was found in the trials, by rule."""
    rows = tuple(
        (each.rule, each.severity, str(each.trials), each.message) for each in result.rules[:40]
    )
    headings = ("rule", "severity", "trials", "the first that is told")
    return Sheet("What the rules found", headings, rows, frozenset({2}))


def _more(whole: int, noun: str) -> str:
    left = whole - MOST
    return f"and {left} more {noun}; the JSON and the store hold them all" if left > 0 else ""
