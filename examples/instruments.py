"""What invented instruments would have written: a receiver's NMEA 0183 sentences, an engine's NMEA 2000 frames."""

from __future__ import annotations

import gzip
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from functools import reduce
from pathlib import Path

from invented_outing import Recorded

ENGINE, FLOWMETER = 0x23, 0x24  # addresses on the bus
RAPID, DYNAMIC = 127488, 127489  # engine parameters: rapid update, dynamic
EVERY = 3  # [s] between two messages of the flow


def pack(path: Path, lines: Iterable[str]) -> None:
    """Write lines as gzip, in which no time and no name stands, so that the bytes stay the same."""
    path.parent.mkdir(parents=True, exist_ok=True)
    text = "".join(f"{line}\r\n" for line in lines)
    path.write_bytes(gzip.compress(text.encode("ascii"), 9, mtime=0))


def sentences(seen: Recorded) -> Iterator[str]:
    """RMC of the receiver, a second."""
    columns = (seen.seconds, seen.latitude, seen.longitude, seen.speed, seen.course)
    for row in zip(*(each.tolist() for each in columns), strict=True):
        yield _summed(_rmc(*row))


def _rmc(seconds: float, latitude: float, longitude: float, knots: float, degrees: float) -> str:
    moment = datetime.fromtimestamp(round(seconds), UTC)
    south, east = _minutes(-latitude, 2), _minutes(longitude, 3)
    return f"GPRMC,{moment:%H%M%S}.00,A,{south},S,{east},E,{knots:.2f},{degrees % 360:.1f},{moment:%d%m%y},,,A"


def _minutes(degrees: float, wide: int) -> str:
    """Degrees and minutes, as sentences have them."""
    whole, minutes = divmod(round(degrees * 600_000), 600_000)
    return f"{whole:0{wide}d}{minutes / 10_000:07.4f}"


def _summed(body: str) -> str:
    return f"${body}*{reduce(lambda a, b: a ^ b, body.encode()):02X}"


def frames(seen: Recorded) -> Iterator[str]:
    """Engine speed a second and fuel flow every few, as candump writes what it hears on the bus."""
    rows = zip(seen.seconds.tolist(), seen.engine.tolist(), seen.flow.tolist(), strict=True)
    for number, (seconds, rpm, flow) in enumerate(rows):
        body = bytes([0, *_little(round(rpm / 0.25)), 0xFF, 0xFF, 0x7F, 0xFF, 0xFF])
        yield _frame(seconds + 0.21, RAPID, ENGINE, body)
        if number % EVERY == 0:
            parts = _fast(_dynamic(flow), number // EVERY)
            for index, part in enumerate(parts):
                yield _frame(seconds + 0.34 + 0.001 * index, DYNAMIC, FLOWMETER, part)


def _little(value: int) -> bytes:
    return value.to_bytes(2, "little")


def _dynamic(flow: float) -> bytes:
    """Of all that the message may tell, the fuel rate in steps of 0.1 L/h; the rest is not available."""
    rest = b"\xff\xff\xff\x7f" + b"\xff\xff" * 2
    return (
        bytes([0]) + b"\xff\xff" * 3 + b"\xff\x7f" + _little(round(flow / 0.1))
        + b"\xff" * 4 + rest + b"\xff" + b"\xff" * 2 + b"\x7f\x7f"
    )[:26]  # fmt: skip


def _fast(body: bytes, number: int) -> Iterator[bytes]:
    """A message that is longer than a frame, in frames that are numbered."""
    order = (number % 8) << 5
    yield bytes([order, len(body)]) + body[:6]
    for index, at in enumerate(range(6, len(body), 7), start=1):
        yield (bytes([order | index]) + body[at : at + 7]).ljust(8, b"\xff")


def _frame(seconds: float, group: int, source: int, body: bytes) -> str:
    identifier = (2 << 26) | (group << 8) | source
    return f"({seconds:.6f}) can0 {identifier:08X}#{body.hex().upper()}"
