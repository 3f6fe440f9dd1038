"""The turns of outings: their tracks to scale, and what each of them gave."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from slackwater.analysis.handling.circles_found import QUANTITIES, Circles, circles_of
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.turn_figures import UNITS
from slackwater.analysis.handling.turning import TurningCircle
from slackwater.analysis.report.drawing.turning_tracks import CAPTION, turning_tracks
from slackwater.analysis.report.logs.outings import Outing
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import count_of, quantity_title

SHOWN = ("advance", "transfer", "tactical_diameter", "steady_diameter", "approach_speed", "speed_lost", "time_to_180")  # fmt: skip
CIRCLE = 320.0  # [deg]; a boat that comes back on her course turns by less, and that is no circle
MOST_SHOWN = 12  # of an outing
NOTE = (
    "Behind ± stands a standard uncertainty from the noise of the log; where it lacks, nothing tells what the current "
    "adds. Advance and transfer are to 90 degrees of turn, the tactical diameter to 180."
)


@dataclass(frozen=True, slots=True)
class TurnsShown:
    """The turns of one outing as a page shows them: its title, picture, caption, table and remarks."""

    title: str
    picture: str
    caption: str
    sheet: Sheet
    remarks: tuple[str, ...]


def turns_shown(outings: Sequence[Outing]) -> list[TurnsShown]:
    """The turns of all outings that have any."""
    return [shown for outing in outings if (shown := _shown(outing)) is not None]


def _shown(outing: Outing) -> TurnsShown | None:
    circles = circles_of(list(outing.channels.values()), CIRCLE)
    if not circles.found:
        return None
    title = f"{outing.title}: {count_of(len(circles.found), 'turn')}"
    if len(circles.found) > MOST_SHOWN:
        title += f", the first {MOST_SHOWN} shown"
        circles = replace(circles, found=circles.found[:MOST_SHOWN])
    label = f"Tracks of turning circles from above, {outing.title}"
    picture = turning_tracks(circles.found, label)
    sources = "; ".join(
        f"{quantity_title(name)} {outing.channels[name].source}"
        for name in QUANTITIES
        if name in outing.channels
    )
    rows = tuple(_row(circle, outing.offset) for circle in circles.found)
    names = (
        f"{name.replace('_', ' ').replace('to 180', 'to 180°')} [{UNITS[name]}]" for name in SHOWN
    )
    headings = ("helm over", "to", "turned [°]", *names, "drift out")
    sheet = Sheet("turns", headings, rows, frozenset(range(2, len(headings) - 1)), note=NOTE)
    return TurnsShown(
        title, picture, CAPTION, sheet, tuple(_remarks(circles, outing.offset, sources))
    )


def _clock(seconds: float, offset: float) -> str:
    return datetime.fromtimestamp(round(seconds + offset), UTC).strftime("%H:%M:%S")


def _row(circle: TurningCircle, offset: float) -> tuple[str, ...]:
    drift = circle.drift
    carried = f"{fixed(drift.knots, 2)} kn, {fixed(drift.towards, 0)}°" if drift else MISSING
    return (
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


def _remarks(circles: Circles, offset: float, sources: str) -> Iterator[str]:
    """What has to be said of the turns, each once with the turns that it is said of."""
    yield f"Read from: {sources}."
    told: dict[str, list[str]] = {}
    for circle in circles.found:
        lacking = dict.fromkeys(
            circle.figures[name].why_not for name in SHOWN if circle.figures[name].why_not
        )
        by = (f"the drift was told by {circle.drift.by}",) if circle.drift else ()
        for text in (*by, *circle.notes, *lacking):
            told.setdefault(text, []).append(_clock(circle.order, offset))
    for text, when in told.items():
        yield f"{', '.join(when)}: {text}."
    for left in circles.left_out:
        yield f"{_clock(left.start, offset)}: a turn that gave nothing: {left.reason}."
