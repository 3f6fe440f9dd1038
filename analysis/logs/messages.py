"""Messages of the bus: when, which parameter group, from whom, which bytes; frames joined to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Bytes, Whole
from slackwater.analysis.logs.parameter_groups import FAST, WIDEST

#: Bytes in the first frame of a fast packet and in each that follows, and frames of the longest.
_FIRST, _NEXT = 6, 7
FRAMES = 1 + -(-(WIDEST - _FIRST) // _NEXT)
WIDTH = _FIRST + _NEXT * (FRAMES - 1)


@dataclass(frozen=True, slots=True)
class Messages:
    """Messages, or frames, in the order of the file.

    Parameters
    ----------
    line : ndarray of int, shape (messages,)
    seconds : ndarray, shape (messages,)
        NaN where there is no stamp. [s]
    group, source : ndarray of int, shape (messages,)
        Parameter group, and address on the bus.
    length : ndarray of int, shape (messages,)
        Bytes that the message has, or that there are of it.
    payload : ndarray of uint8, shape (messages, WIDTH)
        The first of its bytes; ones beyond its length.
    """

    line: Whole
    seconds: Numbers
    group: Whole
    source: Whole
    length: Whole
    payload: Bytes

    def part(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Messages:
        """Some of them."""
        return Messages(
            self.line[which],
            self.seconds[which],
            self.group[which],
            self.source[which],
            self.length[which],
            self.payload[which],
        )


def joined(parts: Sequence[Messages]) -> Messages:
    """Several as one."""
    return Messages(
        np.concatenate([part.line for part in parts]),
        np.concatenate([part.seconds for part in parts]),
        np.concatenate([part.group for part in parts]),
        np.concatenate([part.source for part in parts]),
        np.concatenate([part.length for part in parts]),
        np.concatenate([part.payload for part in parts]),
    )


def from_identifier(identifier: Whole) -> tuple[Whole, Whole]:
    """Parameter group and source of a 29-bit identifier of the bus.

    Examples
    --------
    >>> [int(part[0]) for part in from_identifier(np.array([0x09F112CC]))]
    [127250, 204]
    """
    form = (identifier >> 16) & 0xFF
    specific = np.where(form >= 240, (identifier >> 8) & 0xFF, 0)
    return ((identifier >> 24) & 3) << 16 | form << 8 | specific, identifier & 0xFF


def is_frame(messages: Messages) -> NDArray[np.bool_]:
    """Which are one frame of a message that takes several."""
    fast = np.isin(messages.group, list(FAST))
    frame: NDArray[np.bool_] = fast & (messages.length <= 8)
    return frame


def join_frames(frames: Messages) -> tuple[Messages, int]:
    """Join the frames of fast packets, by source and their counter.

    Returns
    -------
    Messages
        With the line and stamp of the last frame that was needed, by rising line.
    int
        Frames that belong to no whole message.
    """
    counter, number = frames.payload[:, 0] >> 5, frames.payload[:, 0] & 31
    key = (frames.group << 11) | (frames.source << 3) | counter
    order = np.argsort(key, kind="stable")
    key, number = key[order], number[order]
    starts = np.flatnonzero(number == 0)
    total = frames.payload[order[starts], 1].astype(np.int64)
    needed = np.clip(1 + -(-(total - _FIRST) // _NEXT), 1, FRAMES)
    whole = starts + needed <= order.size
    for step in range(1, FRAMES):
        at = np.minimum(starts + step, order.size - 1)
        follows = (key[at] == key[starts]) & (number[at] == step)
        whole &= (step >= needed) | follows
    starts, total, needed = starts[whole], total[whole], needed[whole]
    payload = np.full((starts.size, WIDTH), 255, np.uint8)
    payload[:, :_FIRST] = frames.payload[order[starts], 2:8]
    for step in range(1, FRAMES):
        has = np.flatnonzero(needed > step)
        begin = _FIRST + _NEXT * (step - 1)
        payload[has, begin : begin + _NEXT] = frames.payload[order[starts[has] + step], 1:8]
    last, first = order[starts + needed - 1], order[starts]
    made = Messages(
        frames.line[last],
        frames.seconds[last],
        frames.group[first],
        frames.source[first],
        total,
        payload,
    )
    lost = _lost(key, number, starts, total)
    return made.part(np.argsort(made.line, kind="stable")), lost


def _lost(key: Whole, number: Whole, starts: Whole, total: Whole) -> int:
    """Frames that stand in no message that was joined; those beyond what is read are in it."""
    covered = np.zeros(key.size + 1, np.int64)
    full = 1 + np.maximum(-(-(total - _FIRST) // _NEXT), 0)
    ends = np.minimum(starts + full, key.size)
    np.add.at(covered, starts, 1)
    np.add.at(covered, ends, -1)
    inside = np.cumsum(covered[:-1]) > 0
    return int((~inside).sum())
