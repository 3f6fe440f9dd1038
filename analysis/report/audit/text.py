"""The letter as plain text: a summary that anybody reads, then a part for each claim."""

from __future__ import annotations

import textwrap

from slackwater import __version__
from slackwater.analysis.audit.method_words import METHOD
from slackwater.analysis.audit.outcome import AuditResult, ClaimAudit, Sheet
from slackwater.analysis.report.audit import words
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import NBSP

WIDTH = 80
_MOST_ROWS = 12  # of a table of runs; the page holds them all


class _Page:
    """Lines of text, wrapped; whatever comes from a file is made harmless for a terminal."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def text(self, text: str, indent: int = 0, hang: int = 0) -> None:
        lead = " " * indent
        wrapped = textwrap.wrap(
            printable(text),
            WIDTH,
            initial_indent=lead,
            subsequent_indent=lead + " " * hang,
            break_on_hyphens=False,
        )
        self.lines += [line.replace(NBSP, " ") for line in wrapped] or [""]

    def heading(self, text: str, line: str = "-") -> None:
        self.lines.append("")
        start = len(self.lines)
        self.text(text)
        longest = max(len(one) for one in self.lines[start:])
        self.lines.append(line * longest)

    def pair(self, name: str, value: str, width: int) -> None:
        self.text(f"{name:<{width}}{value}", 2, width)

    def sheet(self, sheet: Sheet) -> None:
        self.lines.append("")
        self.text(sheet.caption, 2)
        rows = [sheet.headings, *sheet.rows[:_MOST_ROWS]]
        cells = [[printable(cell).replace(NBSP, " ") for cell in row] for row in rows]
        heads = [_stacked(cell) for cell in cells[0]]
        tall = max(len(head) for head in heads)
        stacked = [[""] * (tall - len(head)) + head for head in heads]
        columns = range(len(cells[0]))
        widths = [
            max(*(len(part) for part in stacked[c]), *(len(row[c]) for row in cells[1:]), 1)
            for c in columns
        ]
        for level in range(tall):
            self.lines.append(_row([stacked[c][level] for c in columns], widths))
        for row in cells[1:]:
            self.lines.append(_row(row, widths))
        left = len(sheet.rows) - _MOST_ROWS
        if left > 0:
            self.text(f"and {left} more; the page and the JSON hold them all", 4)


def _stacked(text: str) -> list[str]:
    return textwrap.wrap(text, 10, break_long_words=False) or [""]


def _row(cells: list[str], widths: list[int]) -> str:
    return ("    " + "  ".join(f"{c:<{w}}" for c, w in zip(cells, widths, strict=True))).rstrip()


def _claim(page: _Page, result: AuditResult, claim: ClaimAudit) -> None:
    page.heading(f"{claim.id}: {words.subject(result, claim)}")
    if claim.says:
        page.text(f'"{claim.says}"')
    page.text(f"{claim.verdict.upper()}: {words.meaning(result, claim)}")
    page.text(claim.why, 2)
    page.lines.append("")
    rows = words.figures(claim, has_data=bool(result.trial))
    width = max(len(name) for name, _ in rows) + 2
    for name, value in rows:
        page.pair(name, value, width)
    settles = words.settles(claim)
    if settles:
        page.lines.append("")
        page.text("What would settle it:", 2)
        for one in settles:
            page.text(f"- {one}", 4, 2)
    if claim.reasons:
        page.lines.append("")
        page.text("Checks:", 2)
        for reason in claim.reasons:
            text = f"- {words.heading(reason)} [{words.outcome(reason)}]: {reason.message}"
            page.text(text, 4, 2)
    for sheet in claim.sheets:
        page.sheet(sheet)


def render(result: AuditResult) -> str:
    """The letter as text, 80 columns wide."""
    page = _Page()
    page.text("Audit of published claims")
    page.text(result.title)
    page.lines.append("")
    for sentence in words.seals(result):
        page.text(sentence)
    page.text(words.summary(result))
    page.lines.append("")
    for claim in result.claims:
        page.text(f"{claim.id}: {words.subject(result, claim)}; {words.stated(claim)}", 2, 4)
        page.text(f"{claim.verdict.upper()}. {words.short(result, claim)}", 6)
    if result.conflicts:
        page.heading("Claims that cannot all be true")
        for conflict in result.conflicts:
            page.text(f"- {conflict.message}", 2, 2)
    if result.reply is not None:
        page.heading("What the author replied")
        for line in words.replied(result):
            page.text(line, 2, 2)
    if result.questions:
        page.heading("To ask the author")
        for number, question in enumerate(result.questions, start=1):
            page.text(f"{number}. {question}", 2, 3)
    for claim in result.claims:
        _claim(page, result, claim)
    page.heading("How this was done")
    for paragraph in METHOD:
        page.text(paragraph, 2)
    if result.noise:
        page.text(f"Noise reckoned with: {result.noise}.", 2)
    for role, name, digest in result.inputs:
        page.text(f"{role} {name}, sha256 {digest[:12]}", 2)
    page.text(f"slackwater {__version__}", 2)
    page.lines.append("")
    page.text(words.LIMITS)
    return "\n".join(line.rstrip() for line in page.lines) + "\n"
