"""What is in logs as plain text: of each file what it is, its channels, what was not read."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater import __version__
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.logs_result import LogsResult, moment
from slackwater.analysis.logs.survey import Surveyed
from slackwater.analysis.report.logs import choices
from slackwater.analysis.report.text_table import Sheet, columns, paragraph
from slackwater.analysis.wording.numbers import MISSING, fixed, unit_text, with_unit
from slackwater.analysis.wording.words import count_of, quantity_title

READING = (
    "Low, median and high are single samples, wild ones included. 'Repeats' are samples equal to "
    "the one before: much of it is a dead band or rounding, and hides how noisy a source is. "
    "'Gaps' are pauses longer than five usual steps and than 3 s."
)
_CLOCKS = {
    "utc": "UTC",
    "time of day": "times of day, of a day that the log does not name",
    "since start": "seconds since a start that the log does not name",
    "none": "no time",
}
_HEADINGS = ("Quantity", "source", "samples", "rate [Hz]", "low", "median", "high", "gaps", "longest [s]", "repeats [%]")  # fmt: skip
_POSITIONS = ("latitude", "longitude")


def headline(log: Log) -> str:
    """What one file is, in a sentence."""
    begins = f"{log.path}: {log.form}, {count_of(log.lines, 'line')}"
    span = log.span if log.clock != "none" else None
    if not log.channels:
        return f"{begins}; nothing in it that is read here."
    if span is None:
        return f"{begins}; no time in it, so there is an order of values and no duration."
    first, last = moment(span[0], log), moment(span[1], log)
    return f"{begins}; {first} to {last} ({_duration(span[1] - span[0])}; {_CLOCKS[log.clock]})."


def _duration(seconds: float) -> str:
    if seconds < 120:
        return with_unit(fixed(seconds, 1), "s")
    if seconds < 7200:
        return with_unit(fixed(seconds / 60, 1), "min")
    return with_unit(fixed(seconds / 3600, 2), "h")


def sheet(log: Log, surveyed: list[Surveyed]) -> Sheet:
    """The channels of a log as a table."""
    rows = tuple(_row(each) for each in surveyed)
    return Sheet("channels", _HEADINGS, rows, frozenset(range(2, 10)))


def _row(each: Surveyed) -> tuple[str, ...]:
    decimals = 5 if each.quantity in _POSITIONS else 2
    values = (fixed(value, decimals) for value in (each.low, each.median, each.high))
    unit = unit_text(each.unit)
    title = quantity_title(each.quantity) + (f" [{unit}]" if unit else "")
    rate = MISSING if each.rate is None else fixed(each.rate, 1 if each.rate >= 0.95 else 2)
    repeats = MISSING if each.repeats is None else fixed(100 * each.repeats, 0)
    longest = MISSING if each.longest_gap is None else fixed(each.longest_gap, 1)
    return (title, each.source, str(each.samples), rate, *values, str(each.gaps), longest, repeats)


def remarks(log: Log) -> Iterator[str]:
    """What has to be known of a log before it is used."""
    for note in log.notes:
        yield f"{note[0].upper()}{note[1:]}."
    if log.faults:
        listed = "; ".join(f"{reason}: {count}" for reason, count in log.faults.items())
        yield f"Without a value: {listed}."


def render(result: LogsResult) -> str:
    """The logs as text."""
    parts: list[str] = []
    for log in result.logs:
        parts.append(paragraph(headline(log)))
        if log.channels:
            parts.append(f"\n{columns(sheet(log, result.surveyed(log)))}\n")
        parts += [paragraph(text) for text in remarks(log)]
        parts.append("")
    for table, about in (
        (choices.sources_sheet(result), choices.ABOUT_SOURCES),
        (choices.latencies_sheet(result), choices.ABOUT_LATENCIES),
    ):
        if table is not None:
            parts += [columns(table), "", paragraph(about), ""]
    parts.append(paragraph(READING))
    parts.append(f"\nslackwater {__version__}")
    return "\n".join(parts) + "\n"
