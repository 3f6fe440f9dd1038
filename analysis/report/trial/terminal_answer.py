"""The answer on a terminal: the bottom line and a line a figure, in a dozen lines."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.bottom_line import NOTHING, BottomLine, Line, bottom_line
from slackwater.analysis.report.trial.terminal_page import NARROWEST, PLAIN_WIDTH, Page
from slackwater.analysis.result.result import Result

#: Lines of 80 columns that the answer takes at most, as far as names and reasons let it.
LINES = 12
_FEWEST = 2


def write_answer(page: Page, result: Result) -> None:
    """The bottom line, the further figures as far as there is room, and what to beware of."""
    found = bottom_line(result)
    cautions = " ".join(wording.cautions(result))
    heads = wording.heads(result)
    for each in heads:
        page.text(each, style="bold yellow")
    if found is None:
        page.text(NOTHING, style="bold")
        page.text(cautions)
        return
    first = " ".join((f"{found.subject}:", *_lowered(found)))
    sure = " ".join(found.sure)
    page.text(first, style="bold")
    if sure:
        page.text(sure)
    taken = sum(len(page.wrapped(text)) for text in (*heads, first, sure, cautions) if text)
    _further(page, found, _room(page) - taken - 1)
    if cautions:
        page.text(cautions)


def _lowered(found: BottomLine) -> tuple[str, ...]:
    """What was found, the first of it going on after a colon."""
    first, *rest = found.found
    return f"{first[:1].lower()}{first[1:]}", *rest


def _room(page: Page) -> int:
    """A dozen lines of 80 columns, and more where they are shorter."""
    return LINES * max(PLAIN_WIDTH, page.width) // page.width if page.width < PLAIN_WIDTH else LINES


def _further(page: Page, found: BottomLine, room: int) -> None:
    lines = found.lines
    if not lines:
        return
    page.text(f"{found.further}:")
    room = max(room, _FEWEST)
    shown = lines if len(lines) <= room else lines[: room - 1]
    for line in shown:
        page.text(_fitting(line, page.width - 2), indent=2)
    if len(shown) < len(lines):
        page.text(f"and {len(lines) - len(shown)} more", indent=2)


def _fitting(line: Line, width: int) -> str:
    """The fullest form of a line that there is room for."""
    forms: Sequence[str] = [f"{line.title}: {text}" for text in line.texts]
    return next((form for form in forms if len(form) <= max(width, NARROWEST - 2)), forms[-1])
