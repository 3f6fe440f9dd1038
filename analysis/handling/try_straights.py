"""Tries of keeping straight, from the steady legs of an outing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from slackwater.analysis.handling.circles_found import LeftOut
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.handling.path import HEADINGS
from slackwater.analysis.handling.steering import heading_spread
from slackwater.analysis.handling.wanted import Wanted
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.legs import find_legs
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import first, lay_track
from slackwater.analysis.steady.windows import mean_course, window_of


def straights(
    wanted: Wanted, channels: Sequence[Channel], terms: CutTerms
) -> Iterator[FoundTry | LeftOut]:
    track = lay_track(channels, terms.held, terms.unit)
    compass = first(channels, *HEADINGS)
    for leg in find_legs(track):
        window = window_of(track, leg, terms.settle, terms.record)
        start, end = track.time(window.first), track.time(window.last)
        if window.why_not:
            yield LeftOut(start, end, f"no {wanted.name}: {window.why_not}")
            continue
        if compass is None:
            figure = Figure.missing("deg", "no heading is recorded; a course over ground is smoothed and does not stand in")  # fmt: skip
        else:
            a, b = np.searchsorted(compass.seconds, [start, end])
            figure = heading_spread(compass.seconds[a:b], compass.values[a:b])["heading_spread"]
        values = {each.name: figure for each in wanted.values}
        yield FoundTry(wanted.name, start, end, values, mean_course(track, window))
