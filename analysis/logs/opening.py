"""The bytes of a log, a block of whole lines at a time, out of gzip and zip as well, within limits."""

from __future__ import annotations

import codecs
import hashlib
import io
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path, PurePath

from slackwater.protocol.files.reading import NotRegular, TooLong, pieces
from slackwater.protocol.findings import Finding, InputError, Place, Severity

BLOCK = 1 << 20  # [bytes]
#: Longer than any line of any form; what has no end by then is no text.
LONGEST_LINE = 1 << 16  # [bytes]
#: Ten days of a busy bus. Also of what a compressed file comes to.
MOST = 1 << 30  # [bytes]
MOST_MEMBERS = 100

#: What the library raises on archives that are not whole; ValueError for places before their beginning.
_BROKEN_ARCHIVE = (zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, ValueError, OSError)
_GZIP = 31  # the window of zlib, with the head and tail of gzip


class Opened:
    """One log: its name, the SHA-256 of the file it lies in, and its bytes.

    Parameters
    ----------
    path : PurePath
        A member of an archive stands below the archive.
    sha256 : str
        Of the file on the disk.
    raw : callable
        Gives the bytes, in pieces of about a size; may be called again.

    Attributes
    ----------
    recoded : bool
        Whether it is text in UTF-16, which is given as UTF-8.
    """

    def __init__(self, path: PurePath, sha256: str, raw: Callable[[int], Iterator[bytes]]) -> None:
        self.path = path
        self.sha256 = sha256
        self._raw = raw
        self._packed = next(raw(2), b"")[:2] == b"\x1f\x8b"
        begins = next(self._unpacked(BLOCK) if self._packed else raw(2), b"")[:2]
        self.recoded = begins in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)

    def head(self, most: int = LONGEST_LINE) -> bytes:
        """The first bytes."""
        parts, have = [], 0
        for piece in self.pieces(min(most, BLOCK)):
            parts.append(piece)
            have += len(piece)
            if have >= most:
                break
        return b"".join(parts)[:most]

    def pieces(self, size: int = BLOCK) -> Iterator[bytes]:
        """All bytes in order, in pieces of about a size; text in UTF-16 as UTF-8.

        Raises
        ------
        InputError
            When they unpack to more than `MOST`, or cannot be unpacked.
        """
        pieces = self._unpacked(size) if self._packed else self._raw(size)
        return _narrowed(pieces) if self.recoded else pieces

    def whole(self) -> bytes:
        """All bytes at once."""
        return b"".join(self.pieces())

    def blocks(self) -> Iterator[bytes]:
        """All bytes in blocks that end with a line feed; ends of lines are made alike.

        A line without an end within `LONGEST_LINE` is ended there.
        """
        rest = b""
        only_returns = b"\n" not in (head := self.head()) and b"\r" in head
        for piece in self.pieces():
            piece = rest + (piece.replace(b"\r", b"\n") if only_returns else piece)
            cut = piece.rfind(b"\n") + 1
            if not cut and len(piece) > LONGEST_LINE:
                piece, cut = piece + b"\n", len(piece) + 1
            rest = piece[cut:]
            if cut:
                yield piece[:cut]
        if rest:
            yield rest + b"\n"

    def _unpacked(self, size: int) -> Iterator[bytes]:
        total = 0
        for piece in _gunzip(self._raw(size), size, self.path):
            total += len(piece)
            if total > MOST:
                raise too_long(self.path)
            yield piece


def _narrowed(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Text in UTF-16 as UTF-8; what is none of it is marked."""
    decoder = codecs.getincrementaldecoder("utf-16")("replace")
    return (decoder.decode(piece).encode("utf-8", "replace") for piece in pieces)


def _gunzip(packed: Iterator[bytes], size: int, path: PurePath) -> Iterator[bytes]:
    """What gzip packed, members one after the other; of a file cut short, what is whole."""
    unpacker = zlib.decompressobj(_GZIP)
    any_came = False
    for waiting in packed:
        while waiting:
            if unpacker.eof:
                unpacker = zlib.decompressobj(_GZIP)
            try:
                piece = unpacker.decompress(waiting, size)
            except zlib.error:
                if any_came:
                    return  # the line that it breaks off in is counted by whoever reads
                raise refused(
                    path,
                    "log-packed",
                    "begins like gzip but cannot be unpacked",
                    "copy it again from where it came",
                ) from None
            any_came = True
            if piece:
                yield piece
            waiting = unpacker.unused_data if unpacker.eof else unpacker.unconsumed_tail


def open_logs(path: Path) -> Iterator[Opened]:
    """The log in a file, or the logs in an archive, in the order of their names.

    Raises
    ------
    InputError
        When the file cannot be read, or is beyond the limits.
    """
    digest, kind = _digest(path)
    if kind[:4] == b"PK\3\4":
        yield from _members(path, digest, b"".join(pieces(path, BLOCK, MOST)))
    else:
        yield Opened(path, digest, lambda size: pieces(path, size, MOST))


def _digest(path: Path) -> tuple[str, bytes]:
    """SHA-256 of a file, and its first bytes."""
    digest, first = hashlib.sha256(), b""
    try:
        for piece in pieces(path, BLOCK, MOST):
            first = first or piece[:4]
            digest.update(piece)
    except TooLong:
        raise too_long(path) from None
    except NotRegular:
        raise _unreadable(path, "is no regular file") from None
    except (OSError, ValueError) as error:
        why = f"cannot be read: {getattr(error, 'strerror', None) or error}"
        raise _unreadable(path, why) from None
    if not first:
        raise refused(path, "log-empty", "is empty", "look whether the logger wrote anything")
    return digest.hexdigest(), first


def _unreadable(path: Path, why: str) -> InputError:
    return refused(path, "log-not-readable", why, "give the path of a log")


def _members(path: Path, digest: str, data: bytes) -> Iterator[Opened]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = sorted(
                (m for m in archive.infolist() if m.file_size and not m.filename.endswith("/")),
                key=lambda m: m.filename,
            )
            _stop_beyond_limits(path, members)
            for member in members:
                with archive.open(member) as stream:
                    inside = stream.read(MOST + 1)
                if len(inside) > MOST:
                    raise too_long(path / member.filename)
                yield Opened(path / member.filename.lstrip("/"), digest, _cutting(inside))
    except InputError:
        raise
    except _BROKEN_ARCHIVE as error:
        raise refused(
            path,
            "log-packed",
            f"begins like a zip archive but cannot be unpacked: {error}",
            "unpack it yourself and give the logs",
        ) from None


def _cutting(data: bytes) -> Callable[[int], Iterator[bytes]]:
    return lambda size: (data[at : at + size] for at in range(0, len(data), size))


def _stop_beyond_limits(path: Path, members: list[zipfile.ZipInfo]) -> None:
    if not members:
        raise refused(path, "log-empty", "is an archive without a file", "give the logs")
    if len(members) > MOST_MEMBERS:
        raise refused(
            path,
            "log-too-long",
            f"has {len(members)} files; {MOST_MEMBERS} are read at most",
            "unpack it and give the logs of this trial",
        )
    if sum(member.file_size for member in members) > MOST:
        raise too_long(path)


def too_long(path: PurePath) -> InputError:
    """The refusal of a file that is, or unpacks to, more than is read."""
    return refused(
        path,
        "log-too-long",
        f"has more than {MOST >> 20} MiB; that is more than a day of trials writes",
        "cut out the hours of the trial",
    )


def refused(path: PurePath, rule: str, message: str, fix: str) -> InputError:
    """A log that cannot be used, in words."""
    return InputError([Finding(rule, Severity.ERROR, message, fix, Place(str(path)))])
