"""The schedule as plain text: the order, the days, what was assumed, what the order is worth."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from slackwater.analysis.planning.order_comparison import as_text
from slackwater.analysis.sheet.try_rows import MANOEUVRE_CAUTIONS, in_turn
from slackwater.protocol.schedule.planned import PlannedSession, hours
from slackwater.protocol.schedule.session_order import drift_left
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.planning.order_comparison import Row
    from slackwater.analysis.sheet.contents import SheetContents


def to_text(
    contents: SheetContents, compared: Sequence[Row] = (), *, give_sessions: bool = False
) -> str:
    """The schedule as text.

    Parameters
    ----------
    contents : SheetContents
    compared : sequence of Row
        The order against the naive one.
    give_sessions : bool
        Add the sessions as a trial's file takes them.
    """
    schedule = contents.schedule
    asked = f"{contents.protocol} {contents.version}; order {schedule.order}; seed {schedule.seed}"
    extent = f"{_count(len(schedule.sessions), 'session')} on {_count(schedule.days, 'day')}"
    afloat = hours(sum(session.lasts for session in schedule.sessions))
    lines = [contents.seal] if contents.seal else []
    lines += [
        contents.title,
        f"protocol {asked} (the same seed gives the same sheet)",
        f"{extent}, {schedule.runs} runs, {afloat} on the course",
        f"{schedule.order}: {contents.legend}",
        "",
        *_sessions(contents),
    ]
    if contents.assumed:
        lines += ["", "Assumed: " + "; ".join(contents.assumed) + "."]
    if contents.level_fuel:
        lines.append("Stops to fill up are not planned; --fuel-flow plans them.")
    lines += _manoeuvres(contents)
    lines += _ratings(contents)
    lines += [f"Note: {note}." for note in schedule.notes]
    if drift := _drift(contents):
        lines += ["", drift]
    if compared:
        lines += ["", "Changes in speed reported where there is none (simulated, invented speeds):"]
        lines += as_text(compared)
    if give_sessions:
        lines += ["", "For the trial's file:", *_sessions_yaml(contents)]
    lines += ["", contents.cautions[0]]
    return "\n".join(lines) + "\n"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def day_text(session: PlannedSession) -> str:
    """The day of a session: "day 2", or its date with the weekday."""
    if session.date is None:
        return f"day {session.day}"
    return f"{session.date:%a} {session.date.isoformat()}"


def _sessions(contents: SheetContents) -> list[str]:
    unit = contents.schedule.pattern.unit
    table = []
    for session in contents.schedule.sessions:
        points = dict.fromkeys(show_number(run.set_point) for run in session.runs)
        fills = [run for run in session.runs if run.fill_before]
        extra = []
        if session.fill_before:
            extra.append(f"fill up before ({session.fill_before:.0f} L)")
        if fills:
            where = ", ".join(str(run.number) for run in fills)
            extra.append(f"fill up before run {where}")
        if session.fit_again:
            extra.append("change over and back: else it is no session of its own")
        table.append(
            (
                session.id,
                day_text(session),
                f"{session.begins:%H:%M}-{session.ends:%H:%M}",
                f"{session.letter} {contents.configurations[session.configuration]}"
                if session.configuration != session.letter
                else session.letter,
                f"{' '.join(points)} {unit}",
                f"first {session.runs[0].direction}",
                "; ".join(extra),
            )
        )
    widths = [max(len(row[column]) for row in table) for column in range(6)]
    return [
        "  ".join(
            [*(cell.ljust(width) for cell, width in zip(row[:6], widths, strict=True)), row[6]]
        ).rstrip()
        for row in table
    ]


def _manoeuvres(contents: SheetContents) -> list[str]:
    """What is tried in every session, with the cautions first."""
    if not contents.manoeuvres:
        return []
    lines = [
        "",
        "Manoeuvres of every session, beside the runs and their time:",
        *(f"  - {caution}" for caution in MANOEUVRE_CAUTIONS),
    ]
    for name, each in contents.manoeuvres.items():
        ways = ", ".join(f"{number} {way}".rstrip() for number, way in in_turn(each))
        lines.append(f"  {name}: from {each.start} to {each.end}; tries {ways}")
    return [
        *lines,
        "The table of tries to fill in: --rows tries, --format csv or --output tries.xlsx; on a tablet: --for tablet.",
        "",
    ]


def _ratings(contents: SheetContents) -> list[str]:
    """What is scored at the end of every session, and by how many."""
    asked = contents.ratings
    if asked is None:
        return []
    blind = ", who are not told what is fitted" * asked.blind
    lines = [
        "",
        f"Scored by {_count(asked.raters, 'rater')} after every session, each alone{blind}:",
    ]
    lines += [
        f"  {name}, {each.lowest} to {each.highest} points: {each.asks or each.title or name}"
        for name, each in asked.items.items()
    ]
    told = (
        "Slips for the raters, without the configuration on them: --format html; the same as a page for a "
        "tablet: --for raters."
    )
    return [*lines, told]


def _drift(contents: SheetContents) -> str:
    letters = sorted(set(contents.schedule.order))
    if len(letters) < 2:
        return ""
    clear = []
    for degree, name in ((1, "an even drift"), (2, "a curved one")):
        if drift_left(contents.schedule.order, letters[0], letters[1], degree):
            break
        clear.append(name)
    if clear:
        return (
            f"With sessions evenly spaced the order takes {' and '.join(clear)} out of {letters[1]} "
            f"against {letters[0]} exactly."
        )
    return (
        f"The order {contents.schedule.order} leaves part of an even drift in. Where the change can "
        "be undone, ABBA with an even number of sessions each leaves none (--order abba)."
    )


def _sessions_yaml(contents: SheetContents) -> list[str]:
    lines = ["sessions:"]
    for session in contents.schedule.sessions:
        on = f", date: {session.date.isoformat()}" if session.date else ""
        lines.append(
            f"  - {{id: {_yaml(session.id)}, configuration: {_yaml(session.configuration)}{on}}}"
        )
    return lines


def _yaml(text: str) -> str:
    """A name as YAML takes it: in quotes where it is more than letters and digits."""
    return text if text.isascii() and text.replace("-", "").isalnum() else json.dumps(text)
