"""Points of GPX as most programs write them: place, height and time and nothing else, all of a block at once.

A parser that calls back at every tag takes two thirds of the time that such a file takes. What is written so that
it cannot be anything else is cut out by an expression; the parser goes over the same bytes and calls nobody.
"""

from __future__ import annotations

import re

TAG = "trkpt"

_NUMBER = r"[-+.0-9eE]{1,40}"
_GAP = r"[ \t\r\n]*"
_UNREAD = "sat|hdop|vdop|pdop|fix"
_POINT = re.compile(
    rf'(<{TAG} lat="({_NUMBER})" lon="({_NUMBER})">{_GAP}'
    rf"(?:<ele>{_NUMBER}</ele>{_GAP})?"
    rf"(?:<time>([-+.:TZ0-9]*)</time>{_GAP})?"
    rf"(?:<({_UNREAD})>[-+.0-9A-Za-z]*</\5>{_GAP})*"
    rf"</{TAG}>{_GAP})",
    re.ASCII,
)
_BEGIN, _END = f"<{TAG} ".encode(), f"</{TAG}>".encode()

Columns = dict[str, list[str | None]]


class PlainPoints:
    """Looks for plain points in the blocks of a file, one after the other.

    From where a block has what may be a comment, a section of characters or an instruction on, nothing is plain.
    """

    def __init__(self) -> None:
        self._open = True
        self._last = b""

    def split(self, piece: bytes) -> tuple[bytes, bytes, bytes, Columns]:
        """A block parted into what is before its plain points, these, and what is behind, with their texts.

        Where not every point of it is plain, none is.
        """
        ahead = (self._last + piece).removeprefix(b"<?xml")
        self._open = self._open and b"<!" not in ahead and b"<?" not in ahead
        self._last = piece[-1:]
        begin, end = piece.find(_BEGIN), piece.rfind(_END) + len(_END)
        if not self._open or not 0 <= begin < end:
            return piece, b"", b"", {}
        text = piece[begin:end].decode("latin-1")
        found = _POINT.findall(text)
        if sum(len(whole) for whole, *_ in found) != len(text):
            return piece, b"", b"", {}
        _, latitude, longitude, time, _ = zip(*found, strict=True)
        columns: Columns = {
            "lat": list(latitude),
            "lon": list(longitude),
            "time": [each or None for each in time],
        }
        return piece[:begin], piece[begin:end], piece[end:], columns
