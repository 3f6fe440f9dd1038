"""GPX and TCX to channels: points of a track, out of XML that may be broken."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from math import isfinite, nan
from xml.parsers.expat import ExpatError, ParserCreate

import numpy as np

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.meaning import METRE_PER_SECOND, NO_NUMBER
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.points import Points

_BROKEN = "the XML breaks off or is broken ({}): what came before is read"
_UNIT_UNKNOWN = "speed in a unit that the file does not tell"
_NO_MOMENT = "time that cannot be read"
#: The first edition of GPX had a speed in metres a second; later ones have it in extensions.
_WITH_SPEED = "GPX/1/0"

Texts = dict[str, str]


def read_gpx(opened: Opened) -> Log:
    """Points of tracks, segment after segment."""
    points = Points("GPX", "track")
    _Track(opened, points, "trkpt", _gpx_point).read()
    return _told(points, opened)


def read_tcx(opened: Opened) -> Log:
    """Points of activities, lap after lap."""
    points = Points("TCX", "track")
    _Track(opened, points, "Trackpoint", _tcx_point).read()
    return _told(points, opened)


def _told(points: Points, opened: Opened) -> Log:
    if points.seconds and np.isnan(points.seconds).all():
        points.clock = "none"
        points.notes.append("no time in the log: points have an order, and no duration")
        points.seconds = array("d", range(len(points.seconds)))
    if points.faults[_UNIT_UNKNOWN]:
        points.notes.append(
            "the speeds in it are in m/s, km/h or knots, and the file does not tell which: they are left "
            "out; speed can be had from the positions"
        )
    return points.log(opened)


class _Track:
    """The points of a file as they come by: of each the texts below it, by name.

    Prefixes are cut off and not looked up, so that one that was never bound costs nothing.
    """

    def __init__(
        self, opened: Opened, points: Points, tag: str, take: Callable[[Texts, Points, str], None]
    ) -> None:
        self._opened, self._points, self._tag, self._take = opened, points, tag, take
        self._root = ""
        self._texts: Texts | None = None
        self._name = ""
        # What is said in the file of its bytes no longer holds where they were recoded.
        self._parser = ParserCreate("utf-8" if opened.recoded else None)
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._characters
        self._parser.StartDoctypeDeclHandler = self._refuse

    def read(self) -> None:
        """Read to the end, or to where the XML breaks."""
        try:
            for piece in _mended(self._opened):
                self._parser.Parse(piece, False)
            self._parser.Parse(b"", True)
        except (ExpatError, LookupError, ValueError) as error:  # the latter of encodings unknown
            self._points.notes.append(_BROKEN.format(error))

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        self._root = self._root or " ".join(attributes.values()) or name
        if name == self._tag:
            self._texts = attributes
        self._name = name

    def _characters(self, text: str) -> None:
        if self._texts is not None and self._name and not text.isspace():
            self._texts.setdefault(self._name, text.strip())

    def _end(self, name: str) -> None:
        self._name = ""
        if self._texts is not None and name.endswith(self._tag):
            self._points.count += 1
            self._take(self._texts, self._points, self._root)
            self._texts = None

    def _refuse(self, *_: object) -> None:
        """Nothing in a track needs these, and some of them make small files endless."""
        raise refused(
            self._opened.path,
            "log-form-unknown",
            "declares entities or a document type, which no track needs",
            "export it again as plain GPX or TCX",
        )


def _mended(opened: Opened) -> Iterator[bytes]:
    """The bytes without blanks before the declaration and without NUL, which some programs write."""
    first = True
    for piece in opened.pieces():
        if first:
            piece, first = piece.removeprefix(b"\xef\xbb\xbf").lstrip(), False
        yield piece.replace(b"\0", b"")


def _number(text: str, points: Points) -> float:
    try:
        value = float(text)
    except ValueError:
        value = nan
    if not isfinite(value):
        points.faults[NO_NUMBER] += 1
        return nan
    return value


def _seconds(text: str | None, points: Points) -> float:
    if text is None:
        return nan
    try:
        moment = datetime.fromisoformat(text)
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):
        points.faults[_NO_MOMENT] += 1
        return nan


#: What stands below a point: name, quantity, and its unit in that of the quantity.
_GPX = {
    "lat": ("latitude", 1.0),
    "lon": ("longitude", 1.0),
    "course": ("course_over_ground", 1.0),
    "cog": ("course_over_ground", 1.0),
    "depth": ("water_depth", 1.0),
}
_GPX_1_0 = _GPX | {"speed": ("speed_over_ground", METRE_PER_SECOND)}
#: The schema of the form has the speed in metres a second.
_TCX = {
    "LatitudeDegrees": ("latitude", 1.0),
    "LongitudeDegrees": ("longitude", 1.0),
    "DistanceMeters": ("distance", 1.0),
    "Speed": ("speed_over_ground", METRE_PER_SECOND),
    "Cadence": ("stroke_rate", 1.0),
}


def _gpx_point(texts: Texts, points: Points, root: str) -> None:
    known = _GPX_1_0 if _WITH_SPEED in root else _GPX
    if "speed" in texts and "speed" not in known:
        points.faults[_UNIT_UNKNOWN] += 1
    _add(texts, points, known, "time")


def _tcx_point(texts: Texts, points: Points, root: str) -> None:
    _add(texts, points, _TCX, "Time")


def _add(texts: Texts, points: Points, known: dict[str, tuple[str, float]], time: str) -> None:
    values: dict[str, float] = {}
    for name, text in texts.items():
        if name in known:
            quantity, scale = known[name]
            values.setdefault(quantity, _number(text, points) * scale)
    points.add(points.count, _seconds(texts.get(time), points), list(values.items()))
