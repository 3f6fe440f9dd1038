"""What logs are good for: whether runs can be cut from them, and how well set points can be told."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.report.logs.outings import HELD, Outing
from slackwater.analysis.steady.legs import find_legs
from slackwater.analysis.steady.steadiness import UNDER_WAY
from slackwater.analysis.steady.track import NoTrack, lay_track
from slackwater.analysis.wording.words import count_of, listed, quantity_title

_LONG = 60.0  # [s]; common practice for a run of a small craft


def fitness(logs: Sequence[Log], outings: Sequence[Outing]) -> tuple[str, list[str]]:
    """In a sentence, and what stands behind it.

    Parameters
    ----------
    logs : sequence of Log
    outings : sequence of Outing
        As they are drawn.
    """
    undated = [log.path.name for log in logs if log.clock != "utc"]
    if len(undated) == len(logs):
        return "No runs can be cut from these logs: none has a date.", [_UNDATED]
    legs, why = _steady(outings)
    details = [f"Without a date, so of no session: {listed(undated)}."] if undated else []
    if legs is None:
        return f"No runs can be cut from these logs: {why}.", details
    held = [q for q in HELD if any(q in outing.channels for outing in outings)]
    details += [_legs(legs), _set_points(held), _NEXT]
    if not legs:
        return f"These logs hold no run: under way she was nowhere steady for {_LONG:g} s.", details
    return "Runs can be cut from these logs.", details


_UNDATED = (
    "Without a date nobody knows which session a run belongs to. Have a sentence or message with the date recorded "
    "along with the others (RMC, ZDA; 126992, 129029)."
)
_NEXT = "Whether they are the runs of a trial, its set points and sessions tell: slackwater logs LOG… --trial TRIAL."


def _steady(outings: Sequence[Outing]) -> tuple[int | None, str]:
    """How many stretches are steady for long enough; None and why where no way can be made out."""
    count, why = None, "nothing in them says how fast she went over ground"
    for outing in outings:
        try:
            track = lay_track(list(outing.channels.values()), outing.held, _unit(outing))
        except NoTrack as reason:
            why = str(reason)
            continue
        legs = [leg for leg in find_legs(track) if leg.speed >= UNDER_WAY]
        long = sum((leg.end - leg.begin) * track.step >= _LONG for leg in legs)
        count = (count or 0) + long
    return count, why


def _unit(outing: Outing) -> str:
    return outing.channels[outing.held].unit if outing.held else ""


def _legs(count: int) -> str:
    return (
        f"Under way she held course and speed for {_LONG:g} s or longer {count_of(count, 'time')}."
    )


def _set_points(held: Sequence[str]) -> str:
    if held:
        return f"Set points can be told by {listed([quantity_title(each) for each in held])}."
    return (
        "Neither engine speed nor throttle was recorded: set points can be told only by the order of the plan, with "
        "the table that was prepared."
    )
