"""GPX and TCX to channels: points of a track, out of XML that may be broken."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from math import nan
from typing import Any
from xml.parsers.expat import ExpatError, ParserCreate, XMLParserType

import numpy as np

from slackwater.analysis.logs.channels import Log, Numbers
from slackwater.analysis.logs.meaning import METRE_PER_SECOND, NO_NUMBER
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.plain_points import TAG, Columns, PlainPoints
from slackwater.analysis.logs.points import Key, Points

_BROKEN = "the XML breaks off or is broken ({}): what came before is read"
_UNIT_UNKNOWN = "speed in a unit that the file does not tell"
_NO_MOMENT = "time that cannot be read"
#: The first edition of GPX had a speed in metres a second; later ones have it in extensions.
_WITH_SPEED = "GPX/1/0"

_AT_ONCE = 4096  # points

Texts = dict[str, str]
Known = Mapping[str, tuple[str, float]]
_Take = Callable[[Columns, int, Points, str], None]


def read_gpx(opened: Opened) -> Log:
    """Points of tracks, segment after segment."""
    points = Points("GPX", "track")
    _read(opened, points, "trkpt", _GPX_NAMES, _gpx_points)
    return _told(points, opened)


def read_tcx(opened: Opened) -> Log:
    """Points of activities, lap after lap."""
    points = Points("TCX", "track")
    _read(opened, points, "Trackpoint", _TCX_NAMES, _tcx_points)
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


def _read(opened: Opened, points: Points, tag: str, wanted: frozenset[str], take: _Take) -> None:
    """Read to the end, or to where the XML breaks."""
    # What is said in the file of its bytes no longer holds where they were recoded.
    parser = ParserCreate("utf-8" if opened.recoded else None)
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = lambda *_: _refuse(opened)
    collector = _Collector(parser, tag, wanted, points, take)
    plain = PlainPoints() if tag == TAG else None
    try:
        for piece in _mended(opened):
            whole = (piece, b"", b"", {}) if plain is None else plain.split(piece)
            collector.parse(*whole)
        parser.Parse(b"", True)
    except (ExpatError, LookupError, ValueError) as error:  # the latter of encodings unknown
        points.notes.append(_BROKEN.format(error))
    collector.flush()


class _Collector:
    """Gathers of each point the texts below it, by name, the first of each name, and hands many on at once.

    Prefixes are cut off and not looked up, so that one that was never bound costs nothing.
    """

    def __init__(
        self,
        parser: XMLParserType,
        tag: str,
        wanted: frozenset[str],
        points: Points,
        take: _Take,
    ) -> None:
        self._parser, self._points, self._take = parser, points, take
        self._wanted = wanted
        self._found: list[Texts] = []
        self._root = ""
        self._between = _call_back(parser, tag, wanted, self._found, self.flush)
        self._handlers: tuple[Any, Any, Any] = (
            parser.StartElementHandler,
            parser.CharacterDataHandler,
            parser.EndElementHandler,
        )
        parser.StartElementHandler = self._first

    def parse(self, before: bytes, plain: bytes, behind: bytes, columns: Columns) -> None:
        """A block, in which some points may be plain."""
        self._parser.Parse(before, False)
        if columns and self._root and self._between():
            self.flush()
            self._hear(None, None, None)
            self._parser.Parse(plain, False)
            self._hear(*self._handlers)
            self._take(columns, len(columns["lat"]), self._points, self._root)
        else:
            self._parser.Parse(plain, False)
        self._parser.Parse(behind, False)

    def flush(self) -> None:
        """Hand on what was gathered."""
        if self._found:
            there = self._wanted.intersection(set().union(*self._found))
            columns: Columns = {
                name: [texts.get(name) for texts in self._found] for name in sorted(there)
            }
            self._take(columns, len(self._found), self._points, self._root)
            self._found.clear()

    def _first(self, tagged: str, attributes: Texts) -> None:
        self._root = " ".join(attributes.values()) or tagged
        self._hear(*self._handlers)
        self._handlers[0](tagged, attributes)

    def _hear(self, start: Any, characters: Any, end: Any) -> None:
        self._parser.StartElementHandler = start
        self._parser.CharacterDataHandler = characters
        self._parser.EndElementHandler = end


def _call_back(
    parser: XMLParserType,
    tag: str,
    wanted: frozenset[str],
    found: list[Texts],
    flush: Callable[[], None],
) -> Callable[[], bool]:
    """Have the parser gather points; what is returned tells whether it is between two of them.

    These are called for every tag of the file: what they have in hand is local to them, which takes two thirds of
    the time of attributes.
    """
    texts: Texts | None = None
    name = ""

    def start(tagged: str, attributes: Texts) -> None:
        nonlocal texts, name
        if texts is None:
            if tagged.endswith(tag) and tagged.rpartition(":")[2] == tag:
                texts = attributes
            return
        if tagged not in wanted and ":" in tagged:
            tagged = tagged.rpartition(":")[2]
        name = tagged if tagged in wanted and tagged not in texts else ""

    def characters(text: str) -> None:
        if name and texts is not None:
            # A text comes in parts where a block of the file ends within it.
            texts[name] = texts[name] + text if name in texts else text

    def end(tagged: str) -> None:
        nonlocal texts, name
        name = ""
        if texts is not None and tagged.endswith(tag):
            found.append(texts)
            texts = None
            if len(found) >= _AT_ONCE:
                flush()

    parser.StartElementHandler = start
    parser.CharacterDataHandler = characters
    parser.EndElementHandler = end
    return lambda: texts is None


def _refuse(opened: Opened) -> None:
    """Nothing in a track needs these, and some of them make small files endless."""
    raise refused(
        opened.path,
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


def _numbers(texts: Sequence[str | None], points: Points, scale: float) -> Numbers:
    """Numbers of some points, times a scale; NaN where a point has none, or one too large for that."""
    try:
        values = np.array(list(map(float, texts)))  # type: ignore[arg-type]
    except (ValueError, TypeError):
        values = np.array([_number(text) for text in texts])
    with np.errstate(over="ignore"):
        values = values * scale
    good = np.isfinite(values)
    if not good.all():
        values[~good] = np.nan
        there = [text is not None and not text.isspace() for text in texts]
        points.faults[NO_NUMBER] += int((~good & there).sum())
    return values


def _number(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return nan


def _moments(texts: Sequence[str | None], points: Points) -> list[float]:
    """Seconds since 1970 of some points; NaN where a point has none."""
    try:
        moments = map(datetime.fromisoformat, texts)  # type: ignore[arg-type]
        return [each.timestamp() if each.tzinfo else _seconds(each) for each in moments]
    except (ValueError, TypeError, OverflowError):
        return [_moment(text, points) for text in texts]


def _moment(text: str | None, points: Points) -> float:
    if text is None or text.isspace():
        return nan
    try:
        return _seconds(datetime.fromisoformat(text.strip()))
    except (ValueError, OverflowError):
        points.faults[_NO_MOMENT] += 1
        return nan


def _seconds(moment: datetime) -> float:
    """Since 1970-01-01 UTC, which is taken where no zone is written. [s]"""
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


#: What stands below a point: name, quantity, and its unit in that of the quantity.
_GPX: Known = {
    "lat": ("latitude", 1.0),
    "lon": ("longitude", 1.0),
    "course": ("course_over_ground", 1.0),
    "cog": ("course_over_ground", 1.0),
    "depth": ("water_depth", 1.0),
}
_GPX_1_0: Known = {**_GPX, "speed": ("speed_over_ground", METRE_PER_SECOND)}
#: The schema of the form has the speed in metres a second.
_TCX: Known = {
    "LatitudeDegrees": ("latitude", 1.0),
    "LongitudeDegrees": ("longitude", 1.0),
    "DistanceMeters": ("distance", 1.0),
    "Speed": ("speed_over_ground", METRE_PER_SECOND),
    "Cadence": ("stroke_rate", 1.0),
}


_GPX_NAMES = frozenset({*_GPX_1_0, "time"})
_TCX_NAMES = frozenset({*_TCX, "Time"})


def _gpx_points(columns: Columns, count: int, points: Points, root: str) -> None:
    known = _GPX_1_0 if _WITH_SPEED in root else _GPX
    if "speed" not in known:
        points.faults[_UNIT_UNKNOWN] += sum(text is not None for text in columns.get("speed", ()))
    _add(columns, count, points, known, "time")


def _tcx_points(columns: Columns, count: int, points: Points, root: str) -> None:
    _add(columns, count, points, _TCX, "Time")


def _add(columns: Columns, count: int, points: Points, known: Known, time: str) -> None:
    values: dict[Key, Numbers] = {}
    for name, (quantity, scale) in known.items():
        if name in columns:
            key = quantity, points.source
            own = _numbers(columns[name], points, scale)
            values[key] = (
                np.where(np.isnan(values[key]), own, values[key]) if key in values else own
            )
    seconds = _moments(columns.get(time) or [None] * count, points)
    lines = range(points.count + 1, points.count + count + 1)
    points.count += count
    points.extend(lines, np.array(seconds), values)
