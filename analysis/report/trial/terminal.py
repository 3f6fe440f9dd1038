"""The report on a terminal: the answer first, then what it stands on."""

from __future__ import annotations

from typing import TextIO

from slackwater import __version__
from slackwater.analysis.report.logs import provenance_words, tries_words
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial import (
    cross_check,
    manoeuvre_words,
    rating_words,
    whole_sweep,
)
from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.blocks import Block, Row, blocks, sweeps
from slackwater.analysis.report.trial.bottom_line import leading_of
from slackwater.analysis.report.trial.terminal_answer import write_answer
from slackwater.analysis.report.trial.terminal_page import (
    NARROWEST,
    PLAIN_WIDTH,
    WIDEST,
    Grid,
    Page,
)
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.gathering import gathered
from slackwater.analysis.wording.numbers import (
    MISSING,
    common_decimals,
    decimals_for,
    fixed,
    range_text,
    value_scale,
)
from slackwater.analysis.wording.words import quantity_title, severities

MORE = (
    "With --full: every figure, the noise, the current, the runs and the method. With --output "
    "report.html: the same as a page, with pictures."
)
_LIST_AT_MOST = 12
_LONGEST_PLACE = 10

STYLES = {
    "gain": "bold green",
    "loss": "bold red",
    "higher": "bold",
    "lower": "bold",
    "equivalent": "cyan",
    "untestable": "yellow",
}


def _comparison(page: Page, result: Result, block: Block) -> None:
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
    table = Grid(columns, narrow=[name for name, _ in columns[shortest:]])
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
        table.add(cells[: len(columns)], STYLES.get(row.verdict or "", ""))
    page.table(table)
    notes = [sealing.note(block), wording.interval_note(block), wording.sessions_note(block)]
    page.text("; ".join(note for note in notes if note) + ".", indent=2)
    if along := whole_sweep.along(result, block):
        page.text(along, indent=2)


def _not_compared(page: Page, result: Result, rows: list[Row]) -> None:
    scale = value_scale(rows[0]["unit"])
    unit = f" [{printable(scale.unit)}]" if scale.unit else ""
    title = quantity_title(rows[0]["quantity"])
    page.heading(f"{title[:1].upper()}{title[1:]}: measured, not compared")
    names = (("at", "right"), ("configuration", "left"), (f"mean{unit}", "right"))
    table = Grid([*names, ("interval", "right"), ("sessions", "right")])
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
        table.add(cells)
    page.table(table)


def _leanings(page: Page, result: Result, all_of_them: bool = True) -> None:
    found = wording.leanings(result, all_of_them)
    if not found:
        return
    page.heading(wording.LEANINGS)
    for title, rows in found.items():
        page.text(f"{title}:", indent=2)
        for row in rows:
            page.text(f"{'!' if row['remark'] else '-'} {row['message']}.", indent=2)


def _ratings(page: Page, result: Result) -> None:
    """What people scored: blinding, agreement, who felt what."""
    sheet = rating_words.agreement(result)
    if sheet is None:
        return
    page.heading(rating_words.TITLE)
    for sentence in rating_words.sentences(result):
        page.text(f"- {sentence}", indent=2)
    for row in sheet.rows:
        name, *rest = zip(sheet.headings, row, strict=True)
        told = ", ".join(f"{head} {cell}" for head, cell in rest)
        page.text(f"- {name[1]}: {told}", indent=2)
    page.text(sheet.note, indent=2)


def _manoeuvres(page: Page, result: Result) -> None:
    """What was tried: how, how tries scatter, how directions differ."""
    sheet = manoeuvre_words.values(result)
    if sheet is None:
        return
    page.heading(manoeuvre_words.TITLE)
    found = result.tries_provenance
    told = [] if found is None else list(tries_words.sentences(found))
    for sentence in (*manoeuvre_words.sentences(result), *told):
        page.text(f"- {sentence}", indent=2)
    kept = [i for i in range(len(sheet.headings)) if sheet.headings[i] != "manoeuvre"]
    names = [(sheet.headings[i], "right" if i in sheet.figures else "left") for i in kept]
    table = Grid(names, narrow=["value", "directions"])
    for row in sheet.rows:
        table.add([row[i] for i in kept], "")
    page.table(table)
    page.text(sheet.note, indent=2)


def _whole_sweep(page: Page, result: Result, found: tuple[Block, ...]) -> None:
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
        table = Grid(columns, narrow=["change", "verdict"])
        for block in figures:
            if (block.baseline, block.modified) == pair:
                table.add(whole_sweep.cells(block), STYLES.get(block.rows[0].verdict, ""))
        page.table(table)
    for sentence in (*whole_sweep.reasons(found), *result.remarks, *facts):
        page.text(f"- {sentence}", indent=2)


def _current(page: Page, result: Result) -> None:
    page.heading("Current along the course")
    rows = [row for row in result.records("current") if row["value"] is not None]
    if not rows:
        page.text("No current was estimated.", indent=2)
        return
    left = [(name, "left") for name in ("sessions", "from", "to")]
    table = Grid([("outing", "right"), *left, ("current", "right"), ("half-width", "right")])
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
        table.add(cells)
    page.table(table)


def _noise(page: Page, result: Result) -> None:
    rows = result.records("noise")
    page.heading("Noise, as a standard deviation")
    if not rows:
        page.text("No noise could be estimated.", indent=2)
        return
    names = (("quantity", "left"), ("component", "left"), ("value", "right"))
    table = Grid([*names, ("interval", "right"), ("sessions", "right")])
    last = ""
    for row in rows:
        value, ends, unit = wording.noise_texts(row)
        title = quantity_title(row["quantity"])
        sessions = MISSING if row["sessions"] is None else str(row["sessions"])
        shown = f"{value} {unit}" if value != MISSING else value
        table.add([title if title != last else "", row["component"], shown, ends, sessions])
        last = title
    page.table(table)


def _cross_check(page: Page, result: Result) -> None:
    rows = cross_check.rows(result)
    if not rows:
        return
    page.heading(cross_check.TITLE)
    page.text(cross_check.NOTE, indent=2)
    table = Grid(
        (name, "left" if number < 2 else "right")
        for number, name in enumerate(cross_check.HEADINGS)
    )
    for cells in rows:
        table.add(cells)
    page.table(table)


def _shortened(lines: list[str], page: Page) -> None:
    for line in lines[:_LIST_AT_MOST]:
        page.text(f"- {line}", indent=2)
    if len(lines) > _LIST_AT_MOST:
        left = len(lines) - _LIST_AT_MOST
        page.text(f"and {left} more; the HTML and JSON reports hold them all", indent=2)


def _runs(page: Page, result: Result) -> None:
    aside = [
        f"row {row['row']}, session {row['session']}, {row['set_point']}, double run "
        f"{row['double_run']} {row['direction']}: {row['reason']}"
        for row in result.records("set_aside")
    ]
    page.heading("Runs")
    page.text(wording.runs_sentence(result), indent=2)
    _shortened(aside, page)


def _from_logs(page: Page, result: Result, *, full: bool) -> None:
    """Where the runs come from; in full run by run."""
    if result.provenance is None:
        return
    page.heading(provenance_words.TITLE)
    for sentence in provenance_words.sentences(result.provenance):
        page.text(sentence, indent=2)
    if not full:
        return
    for remark in provenance_words.remarks(result.provenance):
        page.text(f"- {remark}", indent=2)
    sheets = (
        provenance_words.log_sheet(result.provenance),
        provenance_words.run_sheet(result.provenance),
        provenance_words.left_out_sheet(result.provenance),
    )
    for sheet in sheets:
        if sheet is not None:
            page.text("")
            page.table(_grid(sheet))


def _grid(sheet: Sheet) -> Grid:
    grid = Grid(
        (name, "right" if number in sheet.figures else "left")
        for number, name in enumerate(sheet.headings)
    )
    for cells in sheet.rows:
        grid.add(cells)
    return grid


def _found_wanting(page: Page, result: Result) -> None:
    for title, found in (("Deviations", result.deviations), ("Findings", result.findings)):
        if found:
            told = gathered(found)
            page.heading(f"{title} ({severities(told)})")
            lines = [f"{each.severity.value}: {each.message} [{each.rule}]" for each in told]
            _shortened(lines, page)
    if result.waivers:
        page.heading("Waived")
        _shortened(list(result.waivers), page)


def _foot(page: Page, result: Result) -> None:
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


def _title(result: Result) -> str:
    names = (result.title or result.trial, result.boat)
    return " · ".join(dict.fromkeys(name for name in names if name))


def render(
    result: Result, *, width: int = PLAIN_WIDTH, color: bool = False, full: bool = False
) -> str:
    """The report as text: the answer, the figure that decides, and what was found wanting.

    Parameters
    ----------
    width : int
        Columns to fill, at least 40.
    color : bool
        Whether escape sequences for colour and weight may be used.
    full : bool
        Every figure, and all that they stand on.
    """
    page = Page(max(NARROWEST, min(width, WIDEST)), color)
    write_answer(page, result)
    page.text("")
    page.text(_title(result))
    found = blocks(result)
    if full:
        _everything(page, result, found)
    else:
        _what_decides(page, result, found)
    page.text("")
    page.text(wording.LIMITS)
    if not full:
        page.text(MORE)
    return str(page)


def _what_decides(page: Page, result: Result, found: tuple[Block, ...]) -> None:
    """What the answer stands on at once: the figure that leads, and what was found wanting."""
    for block in leading_of(found) if found else ():
        _comparison(page, result, block)
    _ratings(page, result)
    _manoeuvres(page, result)
    _leanings(page, result, all_of_them=False)
    for remark in result.remarks:
        page.text("")
        page.text(remark)
    _from_logs(page, result, full=False)
    _found_wanting(page, result)


def _everything(page: Page, result: Result, found: tuple[Block, ...]) -> None:
    _ratings(page, result)
    _manoeuvres(page, result)
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
    _runs(page, result)
    _from_logs(page, result, full=True)
    _found_wanting(page, result)
    _foot(page, result)


def render_answer(result: Result) -> str:
    """Only what the report opens with."""
    page = Page(PLAIN_WIDTH, color=False)
    write_answer(page, result)
    return str(page)


def render_for(result: Result, stream: TextIO, *, full: bool = False) -> str:
    """The report for a stream: wide and coloured on a terminal, plain and 80 columns elsewhere."""
    import os
    import shutil

    if not stream.isatty():
        return render(result, full=full)
    color = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return render(result, width=shutil.get_terminal_size().columns, color=color, full=full)
