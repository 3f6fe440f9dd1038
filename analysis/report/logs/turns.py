"""The turns of outings: their tracks to scale, and what each of them gave."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from slackwater.analysis.handling.circles_found import QUANTITIES, Circles, circles_of
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.tries_result import TriesResult
from slackwater.analysis.handling.turn_figures import UNITS
from slackwater.analysis.handling.turn_track import track_of
from slackwater.analysis.handling.turning import TurningCircle
from slackwater.analysis.report.drawing.turning_tracks import CAPTION, extent, turning_tracks
from slackwater.analysis.report.logs.outings import Outing
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import count_of, quantity_title

SHOWN = ("advance", "transfer", "tactical_diameter", "steady_diameter", "approach_speed", "speed_lost")  # fmt: skip
_TITLES = {
    "approach_speed": "came at",
    "tactical_diameter": "tactical diam.",
    "steady_diameter": "steady diam.",
}
CIRCLE = 320.0  # [deg]; a boat that comes back on her course turns by less, and that is no circle
MOST_SHOWN = 12  # of an outing
NOTE = (
    "Behind ± stands a standard uncertainty from the noise of the log; where it lacks, nothing tells what the current "
    "adds. Advance and transfer are to 90 degrees of turn, the tactical diameter to 180."
)


@dataclass(frozen=True, slots=True)
class TurnsShown:
    """Turns as a page shows them: a title and a picture for each outing, one caption, table and remarks for all."""

    pictures: tuple[tuple[str, str], ...]
    caption: str
    sheet: Sheet
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Outing:
    """The turns of one outing, with its name, its clock and its sources."""

    name: str
    circles: Circles
    offset: float
    sources: Mapping[str, str]


def turns_shown(outings: Sequence[Outing]) -> TurnsShown | None:
    """The turns of all outings; None where there are none."""
    found = []
    for outing in outings:
        circles = circles_of(list(outing.channels.values()), CIRCLE)
        sources = {name: channel.source for name, channel in outing.channels.items()}
        found.append(_Outing(outing.title, circles, outing.offset, sources))
    return _shown(found)


def tried_turns(result: TriesResult) -> TurnsShown | None:
    """The turns among the tries of a trial; None where there are none."""
    sources = {each.quantity: each.source for each in result.choices}
    found = []
    for each in result.sessions:
        circles = tuple(one.circle for one in each.tries if one.circle is not None)
        name = f"{each.span.session}, {each.span.configuration}"
        found.append(_Outing(name, Circles(None, circles), result.offset.total_seconds(), sources))
    return _shown(found)


def _shown(outings: Sequence[_Outing]) -> TurnsShown | None:
    """All to one scale, so that the eye can compare them."""
    shown = [outing for outing in outings if outing.circles.found]
    if not shown:
        return None
    ends = extent(track_of(circle) for outing in shown for circle in outing.circles.found)
    pictures = []
    for outing in shown:
        circles = outing.circles.found
        more = f", the first {MOST_SHOWN} drawn" if len(circles) > MOST_SHOWN else ""
        title = f"{outing.name}: {count_of(len(circles), 'turn')}{more}"
        label = f"Tracks of turning circles from above, {outing.name}"
        pictures.append(
            (title, turning_tracks([track_of(each) for each in circles[:MOST_SHOWN]], label, ends))
        )
    names = (f"{_TITLES.get(name, name.replace('_', ' '))} [{UNITS[name]}]" for name in SHOWN)
    headings = ("outing", "helm over", "to", "turned [°]", *names, "drift out")
    rows = tuple(_row(o.name, c, o.offset) for o in shown for c in o.circles.found)
    sheet = Sheet("turns", headings, rows, frozenset(range(3, len(headings) - 1)), note=NOTE)
    return TurnsShown(tuple(pictures), CAPTION, sheet, tuple(_remarks(shown)))


def _clock(seconds: float, offset: float) -> str:
    return datetime.fromtimestamp(round(seconds + offset), UTC).strftime("%H:%M:%S")


def _row(name: str, circle: TurningCircle, offset: float) -> tuple[str, ...]:
    drift = circle.drift
    carried = f"{fixed(drift.knots, 2)} kn, {fixed(drift.towards, 0)}°" if drift else MISSING
    return (
        name.partition(",")[0],
        _clock(circle.order, offset),
        circle.side,
        fixed(circle.turned, 0),
        *(figure_text(circle.figures[name]) for name in SHOWN),
        carried,
    )


def figure_text(figure: Figure) -> str:
    """A figure with its standard uncertainty, where that is known."""
    if figure.value is None:
        return MISSING
    if figure.uncertainty is None:
        return fixed(figure.value, 1)
    decimals = 2 if figure.unit == "kn" else 1
    return f"{fixed(figure.value, decimals)} ± {fixed(figure.uncertainty, decimals)}"


def _remarks(outings: Sequence[_Outing]) -> Iterator[str]:
    """What has to be said of turns, each once with the turns that it is said of."""
    told: dict[str, list[str]] = {}
    count = sum(len(outing.circles.found) for outing in outings)
    for outing in outings:
        read = [
            f"{quantity_title(n)} {outing.sources[n]}" for n in QUANTITIES if n in outing.sources
        ]
        for circle in outing.circles.found:
            lacking = (circle.figures[name].why_not for name in SHOWN)
            by = (f"the drift was told by {circle.drift.by}",) if circle.drift else ()
            said = (f"read from {'; '.join(read)}", *by, *circle.notes, *lacking)
            for text in dict.fromkeys(each for each in said if each):
                told.setdefault(text, []).append(_clock(circle.order, outing.offset))
    for text, when in told.items():
        few = f"{', '.join(when)}" if len(when) <= 6 else f"{len(when)} turns"
        yield f"{'All' if len(when) == count and count > 1 else few}: {text}."
    for outing in outings:
        for left in outing.circles.left_out:
            yield f"{_clock(left.start, outing.offset)}: a turn that gave nothing: {left.reason}."
