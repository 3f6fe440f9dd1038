"""On which day and at what hour each session is run: daylight, changes, fillings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from slackwater.protocol.schedule.fuel_stops import Fuel
from slackwater.protocol.schedule.planned import (
    Circumstances,
    PlannedRun,
    PlannedSession,
    ScheduleError,
    Seat,
    clock_of,
    hours,
    seconds_of,
)
from slackwater.protocol.schedule.session_order import balanced_blocks


@dataclass(frozen=True, slots=True)
class Draft:
    """A session with its runs, not yet on a day.

    Parameters
    ----------
    seat : Seat
    runs : tuple of PlannedRun
    lasts : float
        From its start to the end of its last run. [s]
    burned : float or None
        [L]
    since : float
        Burned after the last filling inside it. [L]
    """

    seat: Seat
    runs: tuple[PlannedRun, ...]
    lasts: float
    burned: float | None
    since: float


@dataclass(frozen=True, slots=True)
class _Hand:
    """Where the laying out has come to: the hour of the day [s], what was fitted, fuel gone [L]."""

    clock: float
    fitted: str | None = None
    gone: float = 0.0


def place_sessions(
    drafts: Sequence[Draft], by_day: bool, circumstances: Circumstances, fuel: Fuel | None
) -> list[PlannedSession]:
    """Put the sessions on their days.

    Notes
    -----
    Where the sessions of a day are compared with each other, a day takes as many whole blocks
    (stretches with every configuration equally often) as its light holds. Otherwise each session
    has a day of its own, since sessions that share a day are less than independent.

    Raises
    ------
    ScheduleError
    """
    if any(draft.seat.date for draft in drafts):
        groups = _groups_by_date(drafts, circumstances)
    elif by_day:
        groups = [
            [drafts[index] for index in block]
            for block in balanced_blocks([draft.seat.letter for draft in drafts])
        ]
    else:
        groups = [[draft] for draft in drafts]
    joins = by_day and not any(draft.seat.date for draft in drafts)
    opens = seconds_of(circumstances.opens)
    placed: list[PlannedSession] = []
    hand, day = _Hand(opens), 1
    for group in groups:
        found = _lay(group, hand, day, circumstances, fuel) if joins or not placed else None
        if found is None or found[1].clock > seconds_of(circumstances.closes):
            day += bool(placed)
            found = _lay(group, _Hand(opens, None, hand.gone), day, circumstances, fuel)
            if found[1].clock > seconds_of(circumstances.closes):
                raise _too_long(group, found[1].clock - opens, circumstances)
        placed += found[0]
        hand = found[1]
    return placed


def _lay(
    group: Sequence[Draft], hand: _Hand, day: int, circumstances: Circumstances, fuel: Fuel | None
) -> tuple[list[PlannedSession], _Hand]:
    """The sessions of a group one after the other, from where the hand is."""
    found = []
    for draft in group:
        fill = 0.0
        allowed = fuel.allowance if fuel else None
        if allowed is not None and hand.gone and hand.gone + (draft.burned or 0.0) > allowed:
            fill = hand.gone
        wait = max(circumstances.change, circumstances.fill if fill else 0.0)
        begins = hand.clock + (wait if hand.fitted is not None else 0.0)
        inside = any(run.fill_before for run in draft.runs)
        gone = draft.since if inside or fill else hand.gone + draft.since
        seat = draft.seat
        on = seat.date
        if on is None and circumstances.first_day is not None:
            on = circumstances.first_day + timedelta(days=day - 1)
        found.append(
            PlannedSession(
                id=seat.id,
                configuration=seat.configuration,
                letter=seat.letter,
                day=day,
                date=on,
                begins=clock_of(begins),
                lasts=draft.lasts,
                runs=draft.runs,
                fuel=draft.burned,
                fill_before=fill,
                fit_again=hand.fitted == seat.configuration,
            )
        )
        hand = _Hand(begins + draft.lasts, seat.configuration, gone)
    return found, hand


def _groups_by_date(drafts: Sequence[Draft], circumstances: Circumstances) -> list[list[Draft]]:
    bare = [draft.seat.id for draft in drafts if draft.seat.date is None]
    if bare:
        raise ScheduleError(
            f"some sessions have a date, {', '.join(bare[:6])} none",
            "give every session of the trial its date, or none",
        )
    if circumstances.first_day is not None:
        raise ScheduleError(
            "the trial gives its sessions their dates, so that the first day is set already",
            "leave --first-day out, or take the dates out of the trial",
        )
    groups = [[drafts[0]]]
    for before, draft in pairwise(drafts):
        first, second = before.seat.date, draft.seat.date
        if first is None or second is None or second < first:
            raise ScheduleError(
                f"session {draft.seat.id} ({second}) stands after {before.seat.id} ({first})",
                "list the sessions of the trial in the order of their dates",
            )
        if first == second:
            groups[-1].append(draft)
        else:
            groups.append([draft])
    return groups


def _too_long(group: Sequence[Draft], lasts: float, circumstances: Circumstances) -> ScheduleError:
    opens, closes = circumstances.opens, circumstances.closes
    light = seconds_of(closes) - seconds_of(opens)
    names = ", ".join(draft.seat.id for draft in group[:6]) + (", …" if len(group) > 6 else "")
    if len(group) == 1:
        what = f"session {names} takes {hours(lasts)} for {len(group[0].runs)} runs"
    else:
        what = f"the sessions of one day ({names}) take {hours(lasts)} with their changes"
    return ScheduleError(
        f"{what}; the daylight from {opens:%H:%M} to {closes:%H:%M} is {hours(light)}",
        "reduce the set points or the double runs of a session and declare more sessions instead, "
        "shorten the change, or give the true --daylight",
    )
