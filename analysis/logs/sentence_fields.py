"""Which fields of which sentences are read, and the fields of a block as numbers and letters.

Fields are counted from 1 behind the address, from the left: later editions of the standard only
add fields at the end. Their order is as documented by open readers of the standard.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.blocks import Sentences
from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Whole, read_decimals


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of sentence.

    Parameters
    ----------
    numbers, degrees, letters : tuple of int
        Fields that hold a number, degrees and minutes, one letter.
    """

    numbers: tuple[int, ...]
    letters: tuple[int, ...] = ()
    degrees: tuple[int, ...] = ()

    @property
    def numeric(self) -> tuple[int, ...]:
        """Every field that is read digit by digit."""
        return self.numbers + self.degrees

    @property
    def last(self) -> int:
        """The last field that is looked at."""
        return max(self.numeric + self.letters)


KINDS: dict[str, Kind] = {
    "RMC": Kind((1, 7, 8, 9, 10), (2, 4, 6, 11, 12), (3, 5)),
    "VTG": Kind((1, 3, 5, 7), (2, 4, 6, 8, 9)),
    "GGA": Kind((1, 6), (3, 5), (2, 4)),
    "GLL": Kind((5,), (2, 4, 6), (1, 3)),
    "GNS": Kind((1,), (3, 5), (2, 4)),
    "ZDA": Kind((1, 2, 3, 4)),
    "VHW": Kind((1, 3, 5, 7), (2, 4, 6, 8)),
    "HDT": Kind((1,)),
    "HDM": Kind((1,)),
    "HDG": Kind((1, 2, 4), (3, 5)),
    "ROT": Kind((1,), (2,)),
    "RPM": Kind((2, 3), (1, 5)),
    "RSA": Kind((1,), (2,)),
    "MWV": Kind((1, 3), (2, 4, 5)),
    "MWD": Kind((1, 5, 7), (2, 6, 8)),
    "DPT": Kind((1, 2)),
    "DBT": Kind((3,), (4,)),
    "MTW": Kind((1,), (2,)),
}
_MOST_FIELDS = max(kind.last for kind in KINDS.values()) + 1


@dataclass(frozen=True, slots=True)
class Batch:
    """The sentences of one kind, one talker, checked or not, out of one block.

    Parameters
    ----------
    talker, kind : str
    checked : bool
    line : ndarray of int, shape (sentences,)
        Within the block.
    numbers : dict of int to ndarray, shape (sentences,)
        By field; NaN for an empty one. Degrees and minutes are degrees.
    letters : dict of int to ndarray of uint8, shape (sentences,)
        By field; 0 for an empty one, or one that has more.
    broken : int
        Fields that hold something else than the number they should.
    """

    talker: str
    kind: str
    checked: bool
    line: Whole
    numbers: dict[int, Numbers]
    letters: dict[int, NDArray[np.uint8]]
    broken: int


@dataclass(frozen=True, slots=True)
class _Group:
    """Sentences of a kind, and the edges of their fields.

    Parameters
    ----------
    edges : ndarray of int, shape (fields + 1, sentences)
        Where each field ends, the address first; those a sentence does not have end where it does.
    """

    name: str
    kind: Kind
    rows: Whole
    edges: Whole

    def ends(self, field: int) -> tuple[Whole, Whole]:
        """Where a field begins and ends in each sentence."""
        stop = self.edges[field]
        return np.minimum(self.edges[field - 1] + 1, stop), stop


_CODES = {name: int.from_bytes(name.encode()) for name in KINDS}


def batches(found: Sentences) -> tuple[list[Batch], Counter[str]]:
    """Read the fields of a block.

    Returns
    -------
    list of Batch
    Counter
        Sentences of no kind read here, by their address.
    """
    first = np.searchsorted(found.commas, found.start)
    bounds = np.append(found.commas, np.full(_MOST_FIELDS, found.data.size))
    standard = bounds[first] == found.start + 5
    code = np.where(standard, found.address & 0xFFFFFF, 0)
    known = np.zeros(found.start.size, bool)
    groups = []
    for name, kind in KINDS.items():
        rows = np.flatnonzero(code == _CODES[name])
        if rows.size:
            known[rows] = True
            reach = np.arange(kind.last + 1)[:, None] + first[rows]
            groups.append(_Group(name, kind, rows, np.minimum(bounds[reach], found.stop[rows])))
    return list(_read(found, groups)), _addresses(found, bounds[first], standard, ~known)


def _addresses(
    found: Sentences, ends: Whole, standard: NDArray[np.bool_], which: NDArray[np.bool_]
) -> Counter[str]:
    """What sentences call themselves: five letters, or whatever stands there."""
    codes, counts = np.unique(found.address[which & standard], return_counts=True)
    names = [int(code).to_bytes(5).decode("latin-1") for code in codes]
    counted = Counter(dict(zip(names, counts.tolist(), strict=True)))
    odd = np.flatnonzero(which & ~standard)
    upto = np.minimum(np.minimum(ends, found.stop), found.start + 10)
    for row in odd.tolist():
        counted[found.data[found.start[row] : upto[row]].tobytes().decode("latin-1")] += 1
    return counted


def _read(found: Sentences, groups: list[_Group]) -> Iterator[Batch]:
    """All numbers of a block are read at once: that costs a pass a column, not one a field."""
    if not groups:
        return
    ends = [group.ends(field) for group in groups for field in group.kind.numeric]
    start, stop = (np.concatenate(side) for side in zip(*ends, strict=True))
    decimals = read_decimals(found.data, start, stop)
    at = 0
    for group in groups:
        numbers, broken = {}, np.zeros(group.rows.size, np.int64)
        for field in group.kind.numeric:
            part = decimals.part(slice(at, at := at + group.rows.size))
            numbers[field] = part.degrees() if field in group.kind.degrees else part.values()
            broken += np.isnan(numbers[field]) & ~part.empty
        letters = {field: _letters(found, group, field) for field in group.kind.letters}
        yield from _by_talker(found, group, numbers, letters, broken)


def _letters(found: Sentences, group: _Group, field: int) -> NDArray[np.uint8]:
    start, stop = group.ends(field)
    return np.where(stop - start == 1, found.data[start], np.uint8(0))


def _by_talker(
    found: Sentences,
    group: _Group,
    numbers: dict[int, Numbers],
    letters: dict[int, NDArray[np.uint8]],
    broken: Whole,
) -> Iterator[Batch]:
    keys = (found.address[group.rows] >> 24) * 2 + found.checked[group.rows]
    for key in _distinct(keys):
        of_one = keys == key
        which = slice(None) if of_one.all() else of_one
        yield Batch(
            (int(key) >> 1).to_bytes(2).decode("latin-1"),
            group.name,
            bool(key & 1),
            found.line[group.rows][which],
            {field: values[which] for field, values in numbers.items()},
            {field: values[which] for field, values in letters.items()},
            int(broken[which].sum()),
        )


def _distinct(keys: Whole) -> list[int]:
    if (keys == keys[0]).all():
        return [int(keys[0])]
    return [int(key) for key in np.unique(keys)]
