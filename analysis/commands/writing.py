"""The one way that a file is written: whole or not at all, and never over what was read.

The bytes go into a temporary file beside the target, are flushed to the disk, and take the target's
name in one step. Whoever is stopped on the way, by a signal, a full disk or a pulled plug, leaves
the old file as it was. What this program did not write is replaced when asked to, and else not.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

from slackwater.protocol.files.reading import was_read
from slackwater.protocol.findings import Finding, InputError, Place, Severity

#: What stands near the head of the files that this program writes whole and nobody fills in.
MARKS = (b'<meta name="generator" content="slackwater', b'"name": "slackwater"', b"(slackwater ")
_SEAL = ".seal.yaml"
_HEAD = 4096  # [bytes] in which a mark is looked for
_TRIES = 5  # at a name that comes and goes while this looks at it


def refusal(rule: str, target: Path | str, message: str, fix: str) -> InputError:
    """An error about the file to be written."""
    return InputError([Finding(rule, Severity.ERROR, message, fix, Place(str(target)))])


def check_target(target: Path, replace: bool) -> None:
    """Refuse a file that cannot be written, that was read, or that is somebody else's.

    Raises
    ------
    InputError
    """
    try:
        folder, found = target.parent.is_dir(), _there(target)
    except (OSError, ValueError) as error:
        raise _not_writable(target, error) from error
    if not folder:
        raise refusal(
            "output-folder-missing",
            target,
            f"the folder {target.parent} does not exist, so nothing can be written there",
            "make the folder first, or give another file",
        )
    if found is None:
        return
    if stat.S_ISDIR(found.st_mode):
        raise refusal(
            "output-is-a-folder", target, "the output is a folder", "give the name of a file in it"
        )
    if was_read(target):
        raise overwrites(target)
    if target.name.endswith(_SEAL):
        raise refusal(
            "output-exists",
            target,
            "this is a seal, which is never written over",
            "give another name; a seal that is no longer wanted is deleted by hand",
        )
    if stat.S_ISREG(found.st_mode) and not (replace or _is_own(target)):
        raise refusal(
            "output-exists",
            target,
            "this file is there already and was not written by slackwater, or may have been "
            "filled in since; it is left as it is",
            "give another name, or add --replace to lose what it holds",
        )


def overwrites(target: Path) -> InputError:
    """The refusal to write over a file that is read."""
    return refusal(
        "output-is-an-input",
        target,
        "the output would overwrite a file that is read",
        "give another file to --output",
    )


def write_whole(data: bytes, target: Path, replace: bool) -> None:
    """Write the bytes so that there is the old file or the new one at any moment.

    Raises
    ------
    InputError
        When the file must not or cannot be written.
    """
    check_target(target, replace)
    try:
        if _is_stream(target):
            target.write_bytes(data)
        else:
            _put(data, Path(os.path.realpath(target)), replace)
    except (OSError, ValueError) as error:
        raise _not_writable(target, error) from error


def write_added_to(data: bytes, target: Path, before: bytes | None) -> None:
    """Write a file anew to which something was added, in place of the one that was read for it.

    The one way to write over a file that was read: its bytes have to be those that were read, so that
    what somebody else has written meanwhile is never lost.

    Parameters
    ----------
    before : bytes or None
        As read; None where there was no file, and then there must be none still.

    Raises
    ------
    InputError
        When the file is another one by now, or cannot be written.
    """
    if before is None:
        write_whole(data, target, replace=False)
        return
    try:
        real = Path(os.path.realpath(target))
        if real.read_bytes() != before:
            raise refusal(
                "output-changed",
                target,
                "the file has changed since it was read; it is left as it is",
                "close it in other programs, and give the command again",
            )
        if data != before:
            _put(data, real, replace=True, added=True)
    except (OSError, ValueError) as error:
        raise _not_writable(target, error) from error


def _there(target: Path) -> os.stat_result | None:
    try:
        return target.stat()
    except FileNotFoundError:
        return None


def _is_stream(target: Path) -> bool:
    """A device or a pipe: it takes bytes as they come and has nothing to lose."""
    found = _there(target)
    return found is not None and not stat.S_ISREG(found.st_mode)


def _is_own(target: Path) -> bool:
    """Whether this program wrote the file, or there is nothing in it."""
    with target.open("rb") as stream:
        head = stream.read(_HEAD)
    return not head or any(mark in head for mark in MARKS)


def _put(data: bytes, target: Path, replace: bool, *, added: bool = False) -> None:
    import tempfile  # loads a tenth of what 'check' loads in all, which writes no file

    held, name = tempfile.mkstemp(prefix=".slackwater-", suffix=".part", dir=target.parent)
    part = Path(name)
    try:
        with os.fdopen(held, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(_mode(target))
        if added:
            part.replace(target)
        else:
            _take_name(part, target, replace)
    finally:
        part.unlink(missing_ok=True)
    _flush_folder(target.parent)


def _mode(target: Path) -> int:
    """The permissions of the file replaced, else those that new files get."""
    found = _there(target)
    if found is not None:
        if not os.access(target, os.W_OK):
            raise PermissionError(13, "the file is marked read-only")
        return stat.S_IMODE(found.st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _take_name(part: Path, target: Path, replace: bool) -> None:
    """Give the finished file its name; what has come under that name meanwhile is looked at first."""
    for _ in range(_TRIES):
        if target.exists():
            check_target(target, replace)
            part.replace(target)
            return
        try:
            os.link(part, target)
        except FileExistsError:
            continue
        except OSError:  # a disk without links
            part.replace(target)
        return
    raise FileExistsError(17, "another program writes under this name")


def _flush_folder(folder: Path) -> None:
    """So that the new name, too, outlives a power cut; not every system has it."""
    with suppress(OSError):
        held = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(held)
        finally:
            os.close(held)


def _not_writable(target: Path, error: Exception) -> InputError:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return refusal(
        "output-not-writable",
        target,
        f"cannot be written: {reason}",
        "check the permissions and the space left, or give another file",
    )
