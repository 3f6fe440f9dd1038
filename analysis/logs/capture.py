"""PCAP of SocketCAN: frames of the bus as a computer captured them."""

from __future__ import annotations

import struct
from collections import Counter
from collections.abc import Iterator

import numpy as np

from slackwater.analysis.logs.messages import WIDTH, Messages, from_identifier
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.parameter_groups import NOT_READ, is_read

_HEAD, _RECORD, _FRAME = 24, 16, 16
#: First bytes, order of bytes, fractions in a second.
_MAGIC = {
    b"\xd4\xc3\xb2\xa1": ("<", 1e-6),
    b"\xa1\xb2\xc3\xd4": (">", 1e-6),
    b"\x4d\x3c\xb2\xa1": ("<", 1e-9),
    b"\xa1\xb2\x3c\x4d": (">", 1e-9),
}
_SOCKETCAN = 227
_EXTENDED, _REMOTE_OR_ERROR = 0x80000000, 0x60000000
_LONGEST = 1 << 16

CUT = "record cut off"
OTHER = "frame of another kind than those of NMEA 2000"


def captured(opened: Opened, faults: Counter[str]) -> Iterator[tuple[Messages, int]]:
    """The frames of a capture, a piece of the file at a time, and how many records it had.

    Raises
    ------
    InputError
        When it is a capture of something else.
    """
    head = opened.head(_HEAD)
    order, fraction = _MAGIC[head[:4]]
    link = struct.unpack(f"{order}I", head[20:24])[0] & 0x0FFFFFFF if len(head) == _HEAD else -1
    if link != _SOCKETCAN:
        raise refused(
            opened.path,
            "log-form-unknown",
            f"is a capture of link type {link}; read is that of SocketCAN ({_SOCKETCAN})",
            "capture the interface of the bus itself, as can0",
        )
    rest, number, begun = b"", 0, False
    for piece in opened.pieces():
        data = rest + (piece if begun else piece[_HEAD:])
        begun = True
        records, used, broken = _records(data, order)
        yield _frames(data, records, order, fraction, number, faults), len(records)
        number += len(records)
        rest = data[used:]
        if broken:
            break
    faults[CUT] += bool(rest)


def _records(data: bytes, order: str) -> tuple[list[int], int, bool]:
    """Where the whole records begin, where they end, and whether what follows makes no sense."""
    lengths = struct.Struct(f"{order}8xI")
    records: list[int] = []
    at, end = 0, len(data)
    while at + _RECORD <= end:
        length = lengths.unpack_from(data, at)[0]
        if length > _LONGEST:
            return records, at, True
        if at + _RECORD + length > end:
            break
        records.append(at)
        at += _RECORD + length
    return records, at, False


def _frames(
    data: bytes, records: list[int], order: str, fraction: float, number: int, faults: Counter[str]
) -> Messages:
    view = np.frombuffer(data + bytes(_RECORD + _FRAME), np.uint8)
    at = np.array(records, np.int64)
    block = view[at[:, None] + np.arange(_RECORD + _FRAME)]
    stamp = np.ascontiguousarray(block[:, :12]).view(f"{order}u4")
    identifier = np.ascontiguousarray(block[:, 16:20]).view(">u4")[:, 0].astype(np.int64)
    length = block[:, 20].astype(np.int64)
    ours = (identifier & _EXTENDED != 0) & (identifier & _REMOTE_OR_ERROR == 0)
    ours &= (length <= 8) & (stamp[:, 2] >= 8 + length)
    group, source = from_identifier(identifier & 0x1FFFFFFF)
    known = is_read(group)
    faults[OTHER] += int((~ours).sum())
    faults[NOT_READ] += int((ours & ~known).sum())
    which = ours & known
    payload = np.full((int(which.sum()), WIDTH), 255, np.uint8)
    payload[:, :8] = np.where(np.arange(8) < length[which, None], block[which, 24:32], 255)
    return Messages(
        np.flatnonzero(which) + number + 1,
        (stamp[:, 0] + stamp[:, 1] * fraction)[which],
        group[which],
        source[which],
        length[which],
        payload,
    )
