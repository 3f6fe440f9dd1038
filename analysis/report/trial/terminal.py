"""The report on a terminal: the answer first, then what it stands on."""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, TextIO

from slackwater import __version__
from slackwater.analysis.report.trial import cross_check, whole_sweep
from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.blocks import Block, Row, blocks, sweeps
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import (
    MISSING,
    NBSP,
    common_decimals,
    decimals_for,
    fixed,
    range_text,
    value_scale,
)
from slackwater.analysis.wording.words import quantity_title, severities

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

PLAIN_WIDTH = 80
WIDEST = 120
_LIST_AT_MOST = 12
_LONGEST_PLACE = 10
_PER_CENT = re.compile(r"(?<=\d) (?=%)")

_STYLES = {
    "gain": "bold green",
    "loss": "bold red",
    "higher": "bold",
    "lower": "bold",
    "equivalent": "cyan",
    "untestable": "yellow",
}


class _Page:
    """A rich console that writes into a string, with the few shapes a report is made of."""

    def __init__(self, width: int, color: bool) -> None:
        from rich.console import Console

        self._buffer = io.StringIO()
        self.width = width
        self.console: Console = Console(
            file=self._buffer,
            width=width,
            color_system="standard" if color else None,
            force_terminal=color,
            markup=False,
            highlight=False,
            emoji=False,
            legacy_windows=False,
        )

    def text(self, text: str, style: str = "", indent: int = 0) -> None:
        """A paragraph, wrapped; figures stay with their units."""
        lead = " " * indent
        lines = textwrap.wrap(
            _PER_CENT.sub(NBSP, printable(text)),
            self.width,
            initial_indent=lead,
            subsequent_indent=lead + ("  " if text.startswith("- ") else ""),
            break_on_hyphens=False,
        )
        for line in lines or [""]:
            self.console.print(line.replace(NBSP, " "), style=style or None, soft_wrap=True)

    def heading(self, text: str) -> None:
        self.text("")
        self.text(text, style="bold")

    def table(self, table: Table) -> None:
        """A table; its columns move together where they would not fit."""
        unbounded = self.console.options.update(max_width=10_000)
        if self.console.measure(table, options=unbounded).maximum > self.width:
            table.padding = (0, 0)
        self.console.print(table)

    def __str__(self) -> str:
        lines = (line.rstrip() for line in self._buffer.getvalue().splitlines())
        return "\n".join(lines) + "\n"


def _table(columns: Iterable[tuple[str, str]], narrow: Iterable[str] = ()) -> Table:
    from rich import box
    from rich.table import Table

    made = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for name, side in columns:
        made.add_column(
            name,
            justify="right" if side == "right" else "left",
            no_wrap=name in narrow,
            overflow="fold",
        )
    return made


def _add(table: Table, cells: Iterable[str], style: str = "") -> None:
    from rich.text import Text

    table.add_row(*[Text(printable(cell.replace(NBSP, " ")), style=style) for cell in cells])


def _comparison(page: _Page, result: Result, block: Block) -> None:
    title = block.title[:1].upper() + block.title[1:]
    page.heading(f"{title}: {wording.subject(result, block.baseline, block.modified)}")
    unit = f"\n[{printable(block.value.unit)}]" if block.value.unit else ""
    change = printable(block.change.unit.replace("percentage points", "points"))
    columns = [
        ("at", "right"),
        (f"baseline{unit}", "right"),
        (f"modified{unit}", "right"),
        (f"change\n[{change}]", "right"),
        (f"interval\n[{change}]", "right"),
        ("noise\nfloor", "right"),
        ("verdict", "left"),
        ("worth-\nwhile", "left"),
    ]
    if not any(row.worth for row in block.rows):
        columns.pop()
    shortest = 0 if all(len(row.at or "") <= _LONGEST_PLACE for row in block.rows) else 1
    table = _table(columns, narrow=[name for name, _ in columns[shortest:]])
    for row in block.rows:
        cells = [
            row.at or MISSING,
            block.mean_text(row, "baseline_mean"),
            block.mean_text(row, "modified_mean"),
            block.change_text(row),
            block.interval_text(row),
            block.floor_text(row),
            row.verdict,
            row.worth or "",
        ]
        _add(table, cells[: len(columns)], _STYLES.get(row.verdict or "", ""))
    page.table(table)
    notes = [sealing.note(block), wording.interval_note(block), wording.sessions_note(block)]
    page.text("; ".join(note for note in notes if note) + ".", indent=2)


def _not_compared(page: _Page, result: Result, rows: list[Row]) -> None:
    scale = value_scale(rows[0]["unit"])
    unit = f" [{printable(scale.unit)}]" if scale.unit else ""
    title = quantity_title(rows[0]["quantity"])
    page.heading(f"{title[:1].upper()}{title[1:]}: measured, not compared")
    names = (("at", "right"), ("configuration", "left"), (f"mean{unit}", "right"))
    table = _table([*names, ("interval", "right"), ("sessions", "right")])
    for row in rows:
        decimals = decimals_for(scale.width(row["low"], row["high"]))
        low, high = (fixed(scale.of(row[end]), decimals) for end in ("low", "high"))
        configuration = result.configurations.get(row["configuration"]) or row["configuration"]
        cells = [
            row["at"] or MISSING,
            configuration,
            fixed(scale.of(row["mean"]), decimals),
            MISSING if decimals is None else f"{low} to {high}",
            MISSING if row["sessions"] is None else str(row["sessions"]),
        ]
        _add(table, cells)
    page.table(table)


def _answers(page: _Page, result: Result, found: tuple[Block, ...]) -> None:
    if not found:
        page.text("No configurations were compared: there is no verdict.", style="bold")
        return
    for doubt in result.doubts:
        page.text(doubt, style="bold yellow")
    for answer in wording.answers(result, whole_sweep.headlined(found)):
        page.text(answer.sentence, style="bold")
        for detail in answer.details:
            page.text(detail, indent=2)
        if along := whole_sweep.along(result, answer.block):
            page.text(along, indent=2)
    if what_decides := wording.deciding_sentence(result):
        page.text(what_decides)
    page.text(wording.noise_floor_sentence(whole_sweep.headlined(found)))


def _leanings(page: _Page, result: Result) -> None:
    found = wording.leanings(result)
    if not found:
        return
    page.heading(wording.LEANINGS)
    for title, rows in found.items():
        page.text(f"{title}:", indent=2)
        for row in rows:
            page.text(f"{'!' if row['remark'] else '-'} {row['message']}.", indent=2)


def _whole_sweep(page: _Page, result: Result, found: tuple[Block, ...]) -> None:
    """Figures of the whole sweep, what they rest on, and what is to be said of it."""
    figures = whole_sweep.figures_of(found)
    facts = whole_sweep.fact_sentences(result)
    if not figures and not facts and not result.remarks:
        return
    page.heading("The sweep as a whole")
    for pair in dict.fromkeys((block.baseline, block.modified) for block in figures):
        page.text(wording.subject(result, *pair), indent=2)
        names = ("baseline", "modified", "change", "interval", "floor")
        columns = [("figure", "left"), *((name, "right") for name in names), ("verdict", "left")]
        table = _table(columns, narrow=["change", "verdict"])
        for block in figures:
            if (block.baseline, block.modified) == pair:
                _add(table, whole_sweep.cells(block), _STYLES.get(block.rows[0].verdict, ""))
        page.table(table)
    for sentence in (*whole_sweep.reasons(found), *result.remarks, *facts):
        page.text(f"- {sentence}", indent=2)


def _current(page: _Page, result: Result) -> None:
    page.heading("Current along the course")
    rows = [row for row in result.records("current") if row["value"] is not None]
    if not rows:
        page.text("No current was estimated.", indent=2)
        return
    left = [(name, "left") for name in ("sessions", "from", "to")]
    table = _table([("outing", "right"), *left, ("current", "right"), ("half-width", "right")])
    for outing in dict.fromkeys(row["outing"] for row in rows):
        held = [row for row in rows if row["outing"] == outing]
        half = [
            (row["high"] - row["low"]) / 2
            for row in held
            if row["low"] is not None and row["high"] is not None
        ]
        decimals = common_decimals(half, lean=True)
        values = [row["value"] for row in held]
        unit = held[0]["unit"] or ""
        cells = [
            str(outing if outing is not None else MISSING),
            ", ".join(dict.fromkeys(row["session"] or MISSING for row in held)),
            (held[0]["at"] or MISSING)[:16].replace("T", " "),
            (held[-1]["at"] or MISSING)[11:16],
            f"{range_text(min(values), max(values), decimals)} {unit}",
            f"{fixed(max(half), decimals)} {unit}" if half else MISSING,
        ]
        _add(table, cells)
    page.table(table)


def _noise(page: _Page, result: Result) -> None:
    rows = result.records("noise")
    page.heading("Noise, as a standard deviation")
    if not rows:
        page.text("No noise could be estimated.", indent=2)
        return
    names = (("quantity", "left"), ("component", "left"), ("value", "right"))
    table = _table([*names, ("interval", "right"), ("sessions", "right")])
    last = ""
    for row in rows:
        value, ends, unit = wording.noise_texts(row)
        title = quantity_title(row["quantity"])
        sessions = MISSING if row["sessions"] is None else str(row["sessions"])
        shown = f"{value} {unit}" if value != MISSING else value
        _add(table, [title if title != last else "", row["component"], shown, ends, sessions])
        last = title
    page.table(table)


def _cross_check(page: _Page, result: Result) -> None:
    rows = cross_check.rows(result)
    if not rows:
        return
    page.heading(cross_check.TITLE)
    page.text(cross_check.NOTE, indent=2)
    table = _table(
        (name, "left" if number < 2 else "right")
        for number, name in enumerate(cross_check.HEADINGS)
    )
    for cells in rows:
        _add(table, cells)
    page.table(table)


def _shortened(lines: list[str], page: _Page) -> None:
    for line in lines[:_LIST_AT_MOST]:
        page.text(f"- {line}", indent=2)
    if len(lines) > _LIST_AT_MOST:
        left = len(lines) - _LIST_AT_MOST
        page.text(f"and {left} more; the HTML and JSON reports hold them all", indent=2)


def _record(page: _Page, result: Result) -> None:
    aside = [
        f"row {row['row']}, session {row['session']}, {row['set_point']}, double run "
        f"{row['double_run']} {row['direction']}: {row['reason']}"
        for row in result.records("set_aside")
    ]
    page.heading("Runs")
    page.text(wording.runs_sentence(result), indent=2)
    _shortened(aside, page)
    for title, found in (("Deviations", result.deviations), ("Findings", result.findings)):
        if found:
            page.heading(f"{title} ({severities(found)})")
            lines = [f"{each.severity.value}: {each.message} [{each.rule}]" for each in found]
            _shortened(lines, page)
    if result.waivers:
        page.heading("Waived")
        _shortened(list(result.waivers), page)


def _foot(page: _Page, result: Result) -> None:
    if result.seal.state != "none":
        page.heading("Seal")
        page.text(" ".join(sealing.sentences(result)), indent=2)
    if result.method:
        page.heading("Method")
        for paragraph in result.method:
            page.text(paragraph, indent=2)
    page.heading("Inputs")
    stamp = result.protocol
    version = f" {stamp.version}" if stamp.version else ""
    sealed = sealing.short(result)
    page.text(f"protocol {stamp.id}{version}, sha256 {stamp.sha256[:12]}, {sealed}", indent=2)
    for each in result.inputs:
        if each.role != "protocol":
            page.text(f"{each.role} {each.name}, sha256 {each.sha256[:12]}", indent=2)
    page.text(f"slackwater {__version__}", indent=2)
    page.text("")
    page.text(wording.LIMITS)


def _title(result: Result) -> Iterator[str]:
    yield result.title or result.trial
    if result.boat and result.boat != result.title:
        yield result.boat


def render(result: Result, *, width: int = PLAIN_WIDTH, color: bool = False) -> str:
    """The report as text.

    Parameters
    ----------
    width : int
        Columns to fill, at least 60.
    color : bool
        Whether escape sequences for colour and weight may be used.
    """
    page = _Page(max(60, min(width, WIDEST)), color)
    found = blocks(result)
    _answers(page, result, found)
    for caution in wording.cautions(result):
        page.text(caution)
    page.text("")
    page.text(" · ".join(_title(result)))
    _whole_sweep(page, result, found)
    _leanings(page, result)
    for block in whole_sweep.curves_of(found):
        _comparison(page, result, block)
    compared = {block.sweep for block in found}
    for key, rows in sweeps(result).items():
        if key not in compared and rows[0]["position"] is not None:
            _not_compared(page, result, rows)
    _current(page, result)
    _noise(page, result)
    _cross_check(page, result)
    _record(page, result)
    _foot(page, result)
    return str(page)


def render_answer(result: Result) -> str:
    """Only what the report opens with: the verdicts in sentences, and the noise floor."""
    page = _Page(PLAIN_WIDTH, color=False)
    _answers(page, result, blocks(result))
    for caution in wording.cautions(result):
        page.text(caution)
    return str(page)


def render_for(result: Result, stream: TextIO) -> str:
    """The report for a stream: wide and coloured on a terminal, plain and 80 columns elsewhere."""
    import os
    import shutil

    if not stream.isatty():
        return render(result)
    color = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return render(result, width=shutil.get_terminal_size().columns, color=color)
