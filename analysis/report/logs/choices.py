"""Which source a trial would take of each quantity, by what, and how late channels are, as tables."""

from __future__ import annotations

from slackwater.analysis.logs.lags import Lag, NoLag
from slackwater.analysis.logs.logs_result import LogsResult
from slackwater.analysis.logs.sources import CRITERIA, Choice, Judged
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import quantity_title

ABOUT_SOURCES = (
    "Of several sources a trial takes one of each quantity for all its configurations: they differ in offset, noise "
    f"and lag. Taken by itself is: {CRITERIA}. --source takes another. Noise is what values stray from their mean "
    "over 9 s, waves and all."
)
ABOUT_LATENCIES = (
    "A lag is where the changes of both are most alike; 'alike' is their correlation there, 'in common' for how long "
    "both were recorded. What is late by more than a run's time to settle carries the change before into the run."
)


def sources_sheet(result: LogsResult) -> Sheet | None:
    """All sources of the quantities that have several; None where none has."""
    rows = tuple(
        _source(choice, each)
        for choice in result.choices
        if len(choice.offered) > 1
        for each in choice.offered
    )
    headings = ("Quantity", "source", "seconds", "repeats [%]", "noise", "")
    return Sheet("sources", headings, rows, frozenset({2, 3, 4})) if rows else None


def _source(choice: Choice, each: Judged) -> tuple[str, ...]:
    noise = MISSING if each.noise is None else f"{each.noise:.2g}"
    if each.source == choice.source:
        told = f"taken: {choice.why}"
    else:
        told = " and ".join(each.against) or "as good"
    title = quantity_title(choice.quantity)
    return title, each.source, str(each.seconds), fixed(100 * each.repeats, 0), noise, told


def latencies_sheet(result: LogsResult) -> Sheet | None:
    """Every pair of channels that can be held against each other; None without any."""
    rows = tuple(_latency(each) for each in result.latencies)
    headings = ("This", "comes after", "by [s]", "alike", "in common [s]", "")
    return Sheet("latencies", headings, rows, frozenset({2, 3, 4})) if rows else None


def _latency(each: Lag | NoLag) -> tuple[str, ...]:
    names = tuple(f"{quantity_title(q)} ({source})" for q, source in (each.second, each.first))
    if isinstance(each, NoLag):
        return (*names, MISSING, MISSING, MISSING, each.why)
    note = "the boat's own answer is in it" if each.answer else ""
    figures = fixed(each.seconds, 1), fixed(each.likeness, 2), fixed(each.common, 0)
    return (*names, *figures, note)
