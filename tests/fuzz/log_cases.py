"""Logs changed where it hurts: each follows from a seed and its number.

What is changed is a short log of each form, invented here, and the beginnings of real ones where the open
data are there (SLACKWATER_DATA).
"""

from __future__ import annotations

import base64
import functools
import gzip
import io
import os
import random
import re
import struct
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

DATA = Path(os.environ.get("SLACKWATER_DATA", Path(__file__).parents[3] / "shared" / "data"))
REAL = (
    "nmea0183-underway/plaka_part1.log",
    "nmea0183-underway/bundg_zeus_9.log",
    "nmea0183-clocks/NBP1406_PCOD-2014-08-01",
    "broken-real-files/marulc_nmea_test_log.txt",
    "nmea2000-underway/aava-n2k.data",
    "nmea2000-text-forms/candumpSample1.txt",
    "nmea2000-text-forms/actisense-522.candump.log",
    "nmea2000-text-forms/ikonvert.log",
    "nmea2000-text-forms/can0-1.pcap",
    "broken-real-files/testtcs_210614.tcx",
    "rowing-gps-impeller/cottwich.fit",
    "rowing-gps-impeller/boatcoach_otw.csv",
    "rowing-gps-impeller/impeller_empower.csv",
)
BEGINNING = 6000  # [bytes] of a real log
START = 1_749_896_130  # 2025-06-14T10:15:30Z
MARKS = b'$*,\n\r#!()[]<>0-9.:TZ;\t"&\x00\xff '
#: What stands in fields that went wrong, and what readers stumble over.
FIELDS = (
    *(b"", b"-", b"---", b"nan", b"inf", b"-inf", b"1e400", b"-0", b"0", b"9" * 30, b"-" * 30),
    *(b"1_0", b"+", b".", b"1.2.3", b"0x10", b"99:99:99", b"24:00:00", b"235960", b"000000"),
    *(b"2025-02-30T10:00:00Z", b"0000-00-00", b"9999-12-31T23:59:59Z", b"0001-01-01T00:00:00Z"),
    *(b"2025-06-14T10:15:30+99:99", b"31129999", b"01/02/03 4:5", b"\xd9\xa3", b"\xef\xbb\xbf", b"A" * 70_000),
    *(b"1e308", b"18446744073709551616", b"-9223372036854775808", b"ffffffff", b"FFFF", b"=A1"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LogCase:
    """One log: its bytes, what it was made of, and what was done to it."""

    data: bytes
    base: str
    changes: tuple[str, ...]


def _summed(body: str) -> bytes:
    return f"${body}*{functools.reduce(lambda a, b: a ^ b, body.encode()):02X}\r\n".encode()


def _sentences() -> bytes:
    return b"".join(
        _summed(f"GPRMC,1015{s:02d}.00,A,5051.24{s:02d},N,00106.1200,W,6.{s % 9},084.0,140625,,,A")
        + _summed(f"SDVHW,084.0,T,085.0,M,6.{s % 7},N,,K")
        + _summed(f"IIRPM,E,1,{1800 + s},,A")
        + _summed(f"PCDIN,01F200,00000000,38,00{4 * (1800 + s):04X}00FFFFFF")
        for s in range(40)
    )


def _joined() -> bytes:
    return b"".join(
        b"2025-06-14T10:15:%02d.%d00Z,2,129026,9,255,8,00,fc,e8,03,%02x,01,ff,ff\n"
        b"2025-06-14T10:15:%02d.%d50Z,2,127488,3,255,8,00,%02x,1c,ff,ff,00,ff,ff\n"
        % (s, t, s, s, t, s)
        for s in range(60)
        for t in (0, 5)
    )


def _candump() -> bytes:
    return b"".join(
        b"(%d.%06d) can0 09F80209#00FCE803%02X01FFFF\n" % (START + s, 1000 * s, s)
        for s in range(90)
    )


def _coded() -> bytes:
    return b"".join(
        b"!PDGY,129026,2,9,255,%d.%d,%s\r\n"
        % (s, s, base64.b64encode(struct.pack("<BBHHH", 0, 0xFC, 1000, 300 + s, 0xFFFF)))
        for s in range(90)
    )


def _capture() -> bytes:
    out = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 227)
    for s in range(90):
        out += struct.pack("<IIII", START + s, 0, 16, 16) + struct.pack(">IB3x", 0x89F80209, 8)
        out += struct.pack("<BBHHH", 0, 0xFC, 1000, 300 + s, 0xFFFF)
    return out


def _gpx() -> bytes:
    points = "".join(
        f'<trkpt lat="50.8{s:02d}" lon="-1.1"><time>2025-06-14T10:15:{s:02d}Z</time><course>84</course></trkpt>\n'
        for s in range(60)
    )
    head = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    return f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>".encode()


def _table() -> bytes:
    rows = "".join(f"2025-06-14T10:15:{s:02d}Z,6.{s},{80 + s},{1800 + s}\n" for s in range(60))
    return f"time,SOG [kn],COG [deg],RPM\n{rows}".encode()


def _commas() -> bytes:
    rows = "".join(f"14.06.2025;10:15:{s:02d};6,{s};{1800 + s}\r\n" for s in range(60))
    return f"Date;Time;SOG (km/h);Engine RPM\r\n{rows}".encode("cp1252")


MADE: dict[str, Callable[[], bytes]] = {
    "sentences": _sentences, "joined": _joined, "candump": _candump, "base64": _coded, "pcap": _capture,
    "gpx": _gpx, "table": _table, "decimal commas": _commas,
}  # fmt: skip


@functools.cache
def bases() -> dict[str, bytes]:
    """The logs that are changed."""
    real = {n: (DATA / n).read_bytes()[:BEGINNING] for n in REAL if (DATA / n).is_file()}
    return {**{name: make() for name, make in MADE.items()}, **real}


def log_case(seed: int, number: int) -> LogCase:
    """The case of a seed and a number."""
    draw = random.Random(f"{seed} {number}")
    name = draw.choice(sorted(bases()))
    data, changes = bases()[name], []
    if draw.random() < 0.25:  # a line alone, or a few
        lines = data.splitlines(keepends=True)
        at = draw.randrange(len(lines))
        data = b"".join(lines[at : at + draw.choice((1, 1, 2, 5))])
    for _ in range(draw.choice((1, 1, 2, 3, 8))):
        change = draw.choice(CHANGES)
        if data:
            data = change(data, draw)
            changes.append(change.__name__.strip("_"))
    return LogCase(data, name, tuple(changes))


def _bytes(data: bytes, draw: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(draw.choice((1, 5, 60, 400))):
        at, what = draw.randrange(len(changed)), draw.random()
        if what < 0.5:
            changed[at] = draw.choice(MARKS)
        elif what < 0.7 and len(changed) > 100:
            del changed[at : at + draw.randrange(1, 40)]
        elif what < 0.9:
            changed[at:at] = changed[draw.randrange(len(changed)) :][: draw.randrange(60)]
        else:
            changed[at:at] = draw.randbytes(8)
    return bytes(changed)


def _field(data: bytes, draw: random.Random) -> bytes:
    """A field put out for one of those that readers stumble over."""
    places = list(re.finditer(rb"[^,;*#\s<>\"]+", data[: 1 << 15]))
    if not places:
        return data
    for place in sorted(draw.sample(places, min(len(places), draw.choice((1, 3, 20)))), key=lambda m: -m.start()):  # fmt: skip
        data = data[: place.start()] + draw.choice(FIELDS) + data[place.end() :]
    return data


def _lines(data: bytes, draw: random.Random) -> bytes:
    """Lines out of order, twice, away, or run together."""
    lines = data.splitlines(keepends=True)
    for _ in range(draw.choice((1, 3, 10))):
        at, what = draw.randrange(len(lines)), draw.random()
        if what < 0.3:
            lines.insert(draw.randrange(len(lines)), lines[at])
        elif what < 0.6 and len(lines) > 1:
            lines.pop(at)
        elif what < 0.8:
            lines[at] = lines[at].rstrip()
        else:
            draw.shuffle(lines)
    return b"".join(lines)


def _cut(data: bytes, draw: random.Random) -> bytes:
    return data[draw.randrange(len(data)) :] if draw.random() < 0.3 else data[: draw.randrange(len(data)) + 1]  # fmt: skip


def _mixed(data: bytes, draw: random.Random) -> bytes:
    """Another log behind it, before it, or in the middle of it."""
    other = bases()[draw.choice(sorted(bases()))][: draw.choice((40, 400, 4000))]
    at = draw.choice((0, len(data), draw.randrange(len(data))))
    return data[:at] + other + data[at:]


def _packed(data: bytes, draw: random.Random) -> bytes:
    if draw.random() < 0.5:
        made = gzip.compress(data, mtime=0)
    else:
        store = io.BytesIO()
        with zipfile.ZipFile(store, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(zipfile.ZipInfo("a.log"), data)
            archive.writestr(zipfile.ZipInfo("../b.log"), data[: len(data) // 2])
        made = store.getvalue()
    return made if draw.random() < 0.5 else _bytes(made, draw)


def _recoded(data: bytes, draw: random.Random) -> bytes:
    text = data.decode("latin-1")
    return text.encode(draw.choice(("utf-16", "utf-16-le", "utf-8-sig", "utf-32")))


CHANGES: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    *(_bytes, _bytes, _field, _field, _field, _lines, _lines, _cut, _mixed, _packed, _recoded),
)
