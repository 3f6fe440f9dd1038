"""GPX and TCX to channels: points of a track, out of XML that may be broken."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from math import nan
from xml.parsers.expat import ExpatError, ParserCreate, XMLParserType

import numpy as np

from slackwater.analysis.logs.channels import Log, Numbers
from slackwater.analysis.logs.meaning import METRE_PER_SECOND, NO_NUMBER
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.points import Key, Points

_BROKEN = "the XML breaks off or is broken ({}): what came before is read"
_UNIT_UNKNOWN = "speed in a unit that the file does not tell"
_NO_MOMENT = "time that cannot be read"
#: The first edition of GPX had a speed in metres a second; later ones have it in extensions.
_WITH_SPEED = "GPX/1/0"

_AT_ONCE = 4096  # points

Texts = dict[str, str]
Known = Mapping[str, tuple[str, float]]
_Take = Callable[[Sequence[Texts], Points, str], None]


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
    flush = _collect(parser, tag, wanted, lambda found, root: take(found, points, root))
    try:
        for piece in _mended(opened):
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except (ExpatError, LookupError, ValueError) as error:  # the latter of encodings unknown
        points.notes.append(_BROKEN.format(error))
    flush()


def _collect(
    parser: XMLParserType,
    tag: str,
    wanted: frozenset[str],
    take: Callable[[list[Texts], str], None],
) -> Callable[[], None]:
    """Have a parser gather of each point the texts below it, by name, the first of each name.

    Prefixes are cut off and not looked up, so that one that was never bound costs nothing. Many points are
    handed on at once; what is returned hands on the last. The handlers are called for every tag of the file:
    what they have in hand is local to them, which takes two thirds of the time of attributes.
    """
    found: list[Texts] = []
    texts: Texts | None = None
    name = root = ""

    def flush() -> None:
        if found:
            take(found, root)
            found.clear()

    def first(tagged: str, attributes: Texts) -> None:
        nonlocal root
        root = " ".join(attributes.values()) or tagged
        parser.StartElementHandler = start
        start(tagged, attributes)

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

    parser.StartElementHandler = first
    parser.CharacterDataHandler = characters
    parser.EndElementHandler = end
    return flush


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


def _numbers(texts: Sequence[str | None], points: Points) -> Numbers:
    """Numbers of some points; NaN where a point has none."""
    try:
        values = np.array(list(map(float, texts)))  # type: ignore[arg-type]
    except (ValueError, TypeError):
        values = np.array([_number(text) for text in texts])
    good = np.isfinite(values)
    if not good.all():
        values[~good] = np.nan
        there = [bool(text and not text.isspace()) for text in texts]
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


def _gpx_points(found: Sequence[Texts], points: Points, root: str) -> None:
    known = _GPX_1_0 if _WITH_SPEED in root else _GPX
    if "speed" not in known:
        points.faults[_UNIT_UNKNOWN] += sum("speed" in texts for texts in found)
    _add(found, points, known, "time")


def _tcx_points(found: Sequence[Texts], points: Points, root: str) -> None:
    _add(found, points, _TCX, "Time")


def _add(found: Sequence[Texts], points: Points, known: Known, time: str) -> None:
    there = set().union(*found)
    values: dict[Key, Numbers] = {}
    for name, (quantity, scale) in known.items():
        if name in there:
            key = quantity, points.source
            own = _numbers([texts.get(name) for texts in found], points) * scale
            values[key] = (
                np.where(np.isnan(values[key]), own, values[key]) if key in values else own
            )
    seconds = _moments([texts.get(time) for texts in found], points)
    lines = range(points.count + 1, points.count + len(found) + 1)
    points.count += len(found)
    points.extend(lines, np.array(seconds), values)
