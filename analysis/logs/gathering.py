"""Values gathered block by block, until the whole of a log is known."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Whole

Key = TypeVar("Key", bound=Hashable)


@dataclass(slots=True)
class Gathered(Generic[Key]):
    """Lines and values (one column or several) under each key, in the order of the file."""

    _parts: dict[Key, list[tuple[Whole, Numbers]]] = field(default_factory=dict)

    def add(self, key: Key, line: Whole, values: Numbers) -> None:
        """Add what one block has under a key."""
        if line.size:
            self._parts.setdefault(key, []).append((line.astype(np.int32), values))

    def __iter__(self) -> Iterator[tuple[Key, Whole, Numbers]]:
        """Each key with its lines and values; what is given is no longer kept.

        Lines that are those of the key before are the same array: a sentence says several things at once.
        """
        before = np.empty(0, np.int64)
        for key in list(self._parts):
            parts = self._parts.pop(key)
            line = np.concatenate([part[0] for part in parts]).astype(np.int64)
            values = np.concatenate([part[1] for part in parts])
            if (np.diff(line) < 0).any():  # messages joined from frames come last
                order = np.argsort(line, kind="stable")
                line, values = line[order], values[order]
            if np.array_equal(line, before):
                line = before
            before = line
            yield key, line, values
