"""The run sheet as a page that prints on A4: HTML without script, nothing fetched, black and white."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from slackwater import __version__
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.sheet.text import day_text
from slackwater.analysis.sheet.rating_orders import rating_orders
from slackwater.analysis.sheet.try_rows import in_turn
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import unit_text
from slackwater.protocol.schedule.planned import PlannedRun, PlannedSession, hours
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents

#: Readings that a page held upright has room for; with more it is laid on its side.
UPRIGHT_READINGS = 4
#: Height of a page between its margins, upright and on its side, and of what stands above the runs. [mm]
_ROOM = {False: 272.0, True: 185.0}
_ABOVE, _FACTS, _ORDER = 38.0, 12.5, 9.0
_ROW, _LEAST_ROW = 8.7, 6.9  # [mm]; nobody writes into less on a boat


@dataclass(frozen=True, slots=True)
class _Line:
    """A run as it is printed."""

    number: int
    set_point: str
    direction: str
    heading: str
    planned: str
    fill: str


@dataclass(frozen=True, slots=True)
class _SessionPage:
    session: PlannedSession
    fitted: str
    day: str
    hours: str
    lasts: str
    fill: str
    double_runs: tuple[tuple[_Line, ...], ...]
    row: str  # height of a run's row [mm]
    tight: bool  # rows are lower than usual


def _line(run: PlannedRun, session: PlannedSession, settle: float) -> _Line:
    return _Line(
        number=run.number,
        set_point=show_number(run.set_point),
        direction=run.direction,
        heading="" if run.heading is None else f"{run.heading % 360:03.0f}°",
        planned=f"{session.clock(run.at + settle):%H:%M}",
        fill=f"{run.fill_before:.0f}" if run.fill_before else "",
    )


def _row_height(contents: SheetContents, session: PlannedSession, wide: bool, facts: int) -> float:
    """Lower rows where that brings a session onto one page, else the usual ones. [mm]"""
    orders = bool(session.fit_again) + bool(session.fill_before)
    fills = sum(bool(run.fill_before) for run in session.runs)
    room = _ROOM[wide] - _ABOVE - facts * _FACTS - (orders + fills) * _ORDER
    height = room / len(session.runs)
    return min(height, _ROW) if height >= _LEAST_ROW else _ROW


def _session_page(
    contents: SheetContents, session: PlannedSession, wide: bool, facts: int
) -> _SessionPage:
    together = groupby(session.runs, key=lambda run: (run.set_point, run.double_run))
    title = contents.configurations[session.configuration]
    settle = contents.schedule.pattern.settle
    both = title if title == session.configuration else f"{title} ({session.configuration})"
    row = _row_height(contents, session, wide, facts)
    return _SessionPage(
        session=session,
        fitted=both,
        day=day_text(session),
        hours=f"{session.begins:%H:%M} to {session.ends:%H:%M}",
        lasts=hours(session.lasts),
        fill=f"{session.fill_before:.0f}" if session.fill_before else "",
        double_runs=tuple(
            tuple(_line(run, session, settle) for run in double_run) for _, double_run in together
        ),
        row=f"{row:.2f}",
        tight=row < _ROW,
    )


def _limits(contents: SheetContents) -> list[tuple[str, str]]:
    """Each set point with the band in which it counts as held."""
    return [
        (show_number(point), f"{show_number(limits.low)}–{show_number(limits.high)}")
        for point, limits in contents.limits.items()
    ]


def render(contents: SheetContents) -> str:
    """The whole page as text, to be written as UTF-8."""

    templates = environment("slackwater.analysis.report.sheet")
    templates.filters["unit"] = unit_text
    schedule = contents.schedule
    wide = len(contents.readings) > UPRIGHT_READINGS
    across = 5 if wide else 3
    facts = (len(contents.noted) + 3) // across + 1
    before = any(s.fill_before or s.fit_again for s in schedule.sessions)
    course = schedule.circumstances.course
    foot = (
        f"{contents.trial or contents.protocol} · seed {schedule.seed} · slackwater {__version__}"
    )
    return templates.get_template("sheet.html.jinja").render(
        contents=contents,
        schedule=schedule,
        pattern=schedule.pattern,
        sessions=[_session_page(contents, each, wide, facts) for each in schedule.sessions],
        bands=dict(_limits(contents)),
        course=None
        if course is None
        else (f"{course % 360:03.0f}°", f"{(course + 180) % 360:03.0f}°"),
        wide=wide,
        across=across,
        rest=across - (len(contents.noted) + 3) % across,  # of the last row of facts
        before=before,
        guesses=sorted(dict.fromkeys(contents.configurations.values())),
        foot=css_text(foot),
        slips=_slips(contents),
        tries={name: list(in_turn(each)) for name, each in contents.manoeuvres.items()},
        version=__version__,
    )


def _slips(contents: SheetContents) -> list[list[list[str]]]:
    """By session and rater, the items in the order in which that rater scores them."""
    if contents.ratings is None:
        return []
    items, sessions = list(contents.ratings.items), len(contents.schedule.sessions)
    orders = rating_orders(len(items), sessions, contents.schedule.seed)
    return [
        [[items[place] for place in orders.of(session, rater)] for rater in range(raters)]
        for raters in [contents.ratings.raters]
        for session in range(sessions)
    ]


def css_text(text: str) -> str:
    """A text as a string of CSS, safe inside a style element."""
    safe = "".join(c if c.isalnum() or c in " .-·_" else " " for c in printable(text))
    return f'"{safe}"'
