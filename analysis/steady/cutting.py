"""One session's channels to its runs: found, placed, paired; and all that was left out, with its reason."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.lags import Lag, lags_of
from slackwater.analysis.steady.doubling import Doubled, double_runs, opposite_by, why_single
from slackwater.analysis.steady.legs import find_legs
from slackwater.analysis.steady.ordering import axis_of, by_order
from slackwater.analysis.steady.readings import Reading, reading_of
from slackwater.analysis.steady.response import response_time
from slackwater.analysis.steady.set_points import Placed, by_held, near_point
from slackwater.analysis.steady.terms import CutTerms, PlannedLeg
from slackwater.analysis.steady.track import NoTrack, Track, lay_track
from slackwater.analysis.steady.windows import Window, mean_course, window_of

LEAST_TO_TELL = 10.0  # [s]; a stretch that was steady for less is not told of by itself


@dataclass(frozen=True, slots=True)
class CutRun:
    """A run as it was cut.

    Parameters
    ----------
    set_point : float
        [unit of the terms]
    double_run : int
        From 1 within the set point; 0 for a run without a partner.
    direction : str
        "out" or "back".
    course : float
        Made good over the run. [deg]
    start, duration : float
        On the clock of the log. [s]
    readings : mapping
        By measure.
    set_aside : str
        Why it has no partner; else empty.
    overlap : float
        Part of the water that it shares with its partner. [1]
    by_order : bool
        Whether the partner is the run that follows, over other water than is asked for.
    """

    set_point: float
    double_run: int
    direction: str
    course: float
    start: float
    duration: float
    readings: dict[str, Reading] = field(default_factory=dict)
    set_aside: str = ""
    overlap: float = 0.0
    by_order: bool = False

    @property
    def paired_by(self) -> str | None:
        """ "water" or "order"; None for a run without a partner, or where runs go one way."""
        if not self.double_run or self.overlap <= 0.0:
            return None
        return "order" if self.by_order else "water"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A steady stretch that is no run.

    Parameters
    ----------
    start, end : float
        [s]
    speed : float
        Mean over ground. [kn]
    reason : str
    near : float or None
        The set point that was meant, where what was held tells. [unit of the terms]
    """

    start: float
    end: float
    speed: float
    reason: str
    near: float | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """What came of one session's channels.

    Parameters
    ----------
    runs : tuple of CutRun
        In order of time.
    left_out : tuple of LeftOut
        Steady stretches that are no runs.
    missing : tuple of PlannedLeg
        Runs of the plan that were not found; the number is how many of the kind.
    why_none : str
        Why there is no run at all; empty when there are runs.
    placed_by : str
        What told the set points: the quantity held, or "order".
    lags : tuple of Lag
    notes : tuple of str
    """

    runs: tuple[CutRun, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    missing: tuple[PlannedLeg, ...] = ()
    why_none: str = ""
    placed_by: str = ""
    lags: tuple[Lag, ...] = ()
    notes: tuple[str, ...] = ()


def cut_session(
    channels: Sequence[Channel],
    terms: CutTerms,
    plan: Sequence[PlannedLeg] = (),
    out_course: float | None = None,
) -> Cut:
    """Cut the runs of one session.

    Parameters
    ----------
    channels : sequence of Channel
        Of that session alone; one for each quantity, or one for each engine.
    terms : CutTerms
    plan : sequence of PlannedLeg, optional
        The runs in the order that they were to be made in. Needed where what is held was not recorded.
    out_course : float, optional
        Course of the runs out; without it the first run that was found goes out. [deg]
    """
    lags = tuple(lags_of(channels))
    try:
        track = lay_track(channels, terms.held, terms.unit)
    except NoTrack as reason:
        return Cut(why_none=str(reason), missing=_missing([], terms, plan), lags=lags)
    held = track.held is not None
    notes = (*track.notes, *_late(lags, terms))
    legs = find_legs(track)
    slow = response_time(track, legs)
    windows = [window_of(track, leg, terms.settle, terms.record, slow) for leg in legs]
    sound = [w for w in windows if not w.why_not]
    short = [_left(track, w, w.why_not, terms) for w in windows if w.why_not]
    by = terms.held if held else "order"
    if not held and not plan and sound:
        why = f"{terms.held.replace('_', ' ')} was not recorded, and the order of the plan is not known"
        rest = [_left(track, w, "not placed: " + why, terms) for w in sound]
        return Cut((), _in_time(short + rest), _missing([], terms, plan), why, by, lags, notes)
    placed = by_held(track, sound, terms) if held else by_order(track, sound, plan)
    runs, single = _runs(track, channels, placed, terms, out_course)
    unplaced = [_left(track, p.window, p.why_not, terms) for p in placed if p.set_point is None]
    left = short + unplaced
    why = _why_none(runs, windows, placed, terms)
    if why:
        left += [_left(track, w, why, terms) for w, _ in single] if terms.reciprocal else []
        runs = []
    return Cut(
        tuple(runs), _in_time(left), _missing(runs, terms, plan), why, by, lags, notes
    )  # fmt: skip


def _in_time(left: list[LeftOut]) -> tuple[LeftOut, ...]:
    long = [each for each in left if each.end - each.start >= LEAST_TO_TELL]
    return tuple(sorted(long, key=lambda each: each.start))


def _left(track: Track, window: Window, reason: str, terms: CutTerms) -> LeftOut:
    leg = window.leg
    start, end = track.time(max(leg.begin, leg.even[0])), track.time(leg.end)
    return LeftOut(start, end, leg.speed, reason, near_point(track, window, terms))


def _late(lags: Sequence[Lag], terms: CutTerms) -> list[str]:
    return [
        f"{lag.second[0].replace('_', ' ')} is {abs(lag.seconds):.1f} s off {lag.first[0].replace('_', ' ')}, "
        f"more than the {terms.settle:g} s that are left to settle"
        for lag in lags
        if abs(lag.seconds) > terms.settle
    ]


def _why_none(
    runs: Sequence[CutRun], windows: Sequence[Window], placed: Sequence[Placed], terms: CutTerms
) -> str:
    """Why a log holds no trial; empty when it does."""
    if not windows:
        return "nowhere were speed and course held steady"
    if not placed:
        return "no steady stretch is long and straight enough for a run"
    if not any(p.set_point is not None for p in placed):
        return "no steady stretch fits a set point of the protocol"
    if terms.reciprocal and not any(run.double_run and not run.by_order for run in runs):
        return "no two steady stretches at one set point go opposite ways over the same water"
    return ""


def _runs(
    track: Track,
    channels: Sequence[Channel],
    placed: Sequence[Placed],
    terms: CutTerms,
    out_course: float | None,
) -> tuple[list[CutRun], list[tuple[Window, str]]]:
    """Runs in order of time, and those among them that have no partner, with why."""
    at_points = [p for p in placed if p.set_point is not None]
    if not at_points:
        return [], []
    axis = _out(track, at_points, out_course)
    every = [p.window for p in at_points]
    runs: list[CutRun] = []
    single: list[tuple[Window, str]] = []
    for point in terms.set_points:
        windows = [p.window for p in at_points if p.set_point == point]
        pairs = (
            double_runs(track, windows, terms.within, every, terms.double_runs)
            if terms.reciprocal
            else []
        )
        numbers = _numbers(windows, pairs, terms)
        for index, window in enumerate(windows):
            own, number, pair = numbers.get(index, (window, 0, None))
            why = "" if number else why_single(track, windows, index, terms.within)
            if why:
                single.append((own, why))
            runs.append(_run(track, channels, own, terms, (point, number, axis, why, pair)))
    return sorted(runs, key=lambda run: run.start), single


def _out(track: Track, placed: Sequence[Placed], asked: float | None) -> float:
    """The course out, along the line that the session's runs are on.

    Where the plan placed the runs, it tells; else it is the way nearer to the course asked for, and
    without one that of the first run.
    """
    courses = np.array([mean_course(track, each.window) for each in placed])
    line = axis_of(courses)
    if asked is None or placed[0].direction:
        asked = float(courses[0]) + (180.0 if placed[0].direction == "back" else 0.0)
    return line if opposite_by(line, asked) >= 90.0 else line + 180.0


def _numbers(
    windows: Sequence[Window], pairs: Sequence[Doubled], terms: CutTerms
) -> dict[int, tuple[Window, int, Doubled | None]]:
    """Where each is cut, number of its double run and that itself, by index of the window."""
    if not terms.reciprocal:
        return {index: (window, index + 1, None) for index, window in enumerate(windows)}
    return {
        index: (window, number, pair)
        for number, pair in enumerate(pairs, start=1)
        for index, window in zip(pair.indices, pair.windows, strict=True)
    }


def _run(
    track: Track,
    channels: Sequence[Channel],
    window: Window,
    terms: CutTerms,
    place: tuple[float, int, float, str, Doubled | None],
) -> CutRun:
    point, number, axis, why, pair = place
    start, end = track.time(window.first), track.time(window.last)
    course = mean_course(track, window)
    readings = {}
    for name, unit, combine in terms.measures:
        found = reading_of(channels, name, unit, combine, start, end)
        if found is not None:
            readings[name] = found
    way = "out" if opposite_by(course, axis) > 90.0 else "back"
    shared, by_order = (pair.overlap, pair.by_order) if pair else (0.0, False)
    return CutRun(point, number, way, course, start, end - start, readings, why, shared, by_order)


def _missing(
    runs: Sequence[CutRun], terms: CutTerms, plan: Sequence[PlannedLeg]
) -> tuple[PlannedLeg, ...]:
    """Planned runs that were not found, by set point and direction, counted."""
    planned = plan or terms.planned_runs()
    found = Counter((run.set_point, run.direction) for run in runs if run.double_run)
    asked = Counter((leg.set_point, leg.direction) for leg in planned)
    if not terms.reciprocal:
        found = Counter((run.set_point, "") for run in runs)
        asked = Counter((leg.set_point, "") for leg in planned)
    return tuple(
        PlannedLeg(point, count - found[point, way], way)
        for (point, way), count in asked.items()
        if count > found[point, way]
    )
