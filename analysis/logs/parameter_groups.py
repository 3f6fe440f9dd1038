"""Which fields of which parameter groups of NMEA 2000 are read, and what they say.

Places, sizes and steps are those that open descriptions of the bus found by observation; the
standard itself is not public. tests/reference holds them against such a description.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Bytes, Whole
from slackwater.analysis.logs.meaning import BEYOND, METRE_PER_SECOND, NOWHERE, RANGES

NOT_AVAILABLE = "marked as not available by what sent it"
SHORT = "message shorter than its field"
NOT_READ = "parameter group that is not read"
NO_REFERENCE = "reference of a direction or wind not told"

_DEGREES = 180 / np.pi * 1e-4
_KELVIN = -273.15


@dataclass(frozen=True, slots=True)
class Only:
    """Messages that a field is taken from: those with some value in some bits of a byte."""

    byte: int
    mask: int
    value: int


@dataclass(frozen=True, slots=True)
class GroupField:
    """One field of a parameter group.

    Parameters
    ----------
    quantity : str
    byte, size : int
        Where it begins, and how many bytes it has, least significant first.
    signed : bool
    step : float
        What one count is. [unit of the quantity]
    zero : float
        What a count of nought is. [unit of the quantity]
    only : Only or None
        What the message has to say for this field to be that quantity.
    which : int or None
        The byte that tells which engine, rudder or tank.
    kind : str
        What parts it from others of its quantity in one group.
    """

    quantity: str
    byte: int
    size: int
    signed: bool
    step: float
    zero: float = 0.0
    only: Only | None = None
    which: int | None = None
    kind: str = ""

    @property
    def end(self) -> int:
        """The first byte behind it."""
        return self.byte + self.size


_TRUE, _MAGNETIC = 0, 1
GROUPS: dict[int, tuple[GroupField, ...]] = {
    126992: (),  # date and time alone, see `bus_dates`
    127245: (GroupField("rudder_angle", 4, 2, True, _DEGREES, which=0),),
    127250: (
        GroupField("heading", 1, 2, False, _DEGREES, only=Only(7, 3, _TRUE)),
        GroupField("heading_magnetic", 1, 2, False, _DEGREES, only=Only(7, 3, _MAGNETIC)),
        GroupField("magnetic_variation", 5, 2, True, _DEGREES),
    ),
    127251: (GroupField("rate_of_turn", 1, 4, True, 180 / np.pi * 3.125e-8 * 60),),
    127257: (
        GroupField("trim", 3, 2, True, _DEGREES),
        GroupField("heel", 5, 2, True, _DEGREES),
    ),
    127258: (GroupField("magnetic_variation", 4, 2, True, _DEGREES),),
    127488: (GroupField("engine_speed", 1, 2, False, 0.25, which=0),),
    127489: (
        GroupField("fuel_flow", 9, 2, True, 0.1, which=0),
        GroupField("engine_load", 24, 1, True, 1.0, which=0),
        GroupField("engine_torque", 25, 1, True, 1.0, which=0),
    ),
    127505: (GroupField("tank_level", 1, 2, True, 0.004, which=0),),
    128259: (GroupField("speed_through_water", 1, 2, False, 0.01 * METRE_PER_SECOND),),
    128267: (GroupField("water_depth", 1, 4, False, 0.01),),
    129025: (
        GroupField("latitude", 0, 4, True, 1e-7),
        GroupField("longitude", 4, 4, True, 1e-7),
    ),
    129026: (
        GroupField("course_over_ground", 2, 2, False, _DEGREES, only=Only(1, 3, _TRUE)),
        GroupField("course_over_ground_magnetic", 2, 2, False, _DEGREES, only=Only(1, 3, _MAGNETIC)),
        GroupField("speed_over_ground", 4, 2, False, 0.01 * METRE_PER_SECOND),
    ),
    129029: (
        GroupField("latitude", 7, 8, True, 1e-16),
        GroupField("longitude", 15, 8, True, 1e-16),
    ),
    130306: (
        GroupField("apparent_wind_speed", 1, 2, False, 0.01 * METRE_PER_SECOND, only=Only(5, 7, 2)),
        GroupField("apparent_wind_angle", 3, 2, False, _DEGREES, only=Only(5, 7, 2)),
        # True over the ground from north, as forecasts have it; to the boat; over the water.
        GroupField("wind_speed", 1, 2, False, 0.01 * METRE_PER_SECOND, only=Only(5, 7, 0), kind="over the ground"),
        GroupField("wind_direction", 3, 2, False, _DEGREES, only=Only(5, 7, 0), kind="over the ground"),
        GroupField("wind_speed", 1, 2, False, 0.01 * METRE_PER_SECOND, only=Only(5, 7, 3), kind="to the boat"),
        GroupField("wind_angle", 3, 2, False, _DEGREES, only=Only(5, 7, 3), kind="to the boat"),
        GroupField("wind_speed", 1, 2, False, 0.01 * METRE_PER_SECOND, only=Only(5, 7, 4), kind="over the water"),
        GroupField("wind_angle", 3, 2, False, _DEGREES, only=Only(5, 7, 4), kind="over the water"),
    ),
    130310: (GroupField("water_temperature", 1, 2, False, 0.01, _KELVIN),),
    130312: (GroupField("water_temperature", 3, 2, False, 0.01, _KELVIN, Only(2, 255, 0), 1),),
}  # fmt: skip

#: Groups of more than eight bytes, which the bus sends in several frames.
FAST = frozenset({127489, 129029})
#: As much of a message as any field needs.
WIDEST = max(field.end for fields in GROUPS.values() for field in fields)
_KNOWN = np.array(sorted(GROUPS))


def is_read(group: Whole) -> NDArray[np.bool_]:
    """Which parameter groups are read here."""
    at = np.minimum(np.searchsorted(_KNOWN, group), _KNOWN.size - 1)
    known: NDArray[np.bool_] = _KNOWN[at] == group
    return known


@dataclass(frozen=True, slots=True)
class Decoded:
    """Values of one field, of the messages that have one.

    Parameters
    ----------
    rows : ndarray of int, shape (values,)
        Which messages.
    which : ndarray of int, shape (values,)
        Number of the engine, rudder or tank; -1 where there is none to tell.
    kind : str
        As the field has it.
    """

    quantity: str
    rows: Whole
    values: Numbers
    which: Whole
    kind: str


def decode(group: int, payload: Bytes, length: Whole, faults: Counter[str]) -> Iterator[Decoded]:
    """Read the messages of one parameter group.

    Parameters
    ----------
    payload : ndarray of uint8, shape (messages, bytes)
    length : ndarray of int, shape (messages,)
        How many bytes each really has.
    faults : Counter
        Takes what gave no value.
    """
    nowhere = _nowhere(group, payload)
    faults[NO_REFERENCE] += _without_reference(group, payload)
    for field in GROUPS[group]:
        rows = np.flatnonzero(_wanted(field, payload))
        long_enough = length[rows] >= field.end
        faults[SHORT] += int((~long_enough).sum())
        rows = rows[long_enough]
        raw, available = _counts(field, payload[rows])
        faults[NOT_AVAILABLE] += int((~available).sum())
        values = raw * field.step + field.zero
        low, high = RANGES.get(field.quantity, (-np.inf, np.inf))
        inside = (values >= low) & (values <= high)
        faults[BEYOND] += int((available & ~inside).sum())
        good = available & inside
        if nowhere is not None:
            faults[NOWHERE] += int((good & nowhere[rows]).sum())
            good &= ~nowhere[rows]
        which = _number(field, payload[rows[good]])
        yield Decoded(field.quantity, rows[good], values[good], which, field.kind)


def _without_reference(group: int, payload: Bytes) -> int:
    """Messages whose direction or wind refers to nothing that is read.

    What 130312 refers to besides the sea is no direction, but a temperature of something else.
    """
    referring = [field for field in GROUPS[group] if field.only]
    if not referring or group == 130312:
        return 0
    return int((~np.any([_wanted(field, payload) for field in referring], axis=0)).sum())


def _number(field: GroupField, payload: Bytes) -> Whole:
    """Which engine, rudder or tank; -1 where there is none to tell, or it is not available (255)."""
    if field.which is None:
        return np.full(len(payload), -1)
    number = payload[:, field.which].astype(np.int64)
    return np.where(number == 255, -1, number)


def _wanted(field: GroupField, payload: Bytes) -> NDArray[np.bool_]:
    if field.only is None:
        return np.ones(len(payload), bool)
    wanted: NDArray[np.bool_] = payload[:, field.only.byte] & field.only.mask == field.only.value
    return wanted


def _counts(field: GroupField, payload: Bytes) -> tuple[Numbers, NDArray[np.bool_]]:
    """Raw counts, and whether they are values.

    The highest count says not available, the next out of range, the next is reserved. Some senders
    fill signed fields with ones as if they were unsigned: where nothing is ever below nought, that
    says not available as well.
    """
    part = np.zeros((len(payload), 8), np.uint8)
    part[:, : field.size] = payload[:, field.byte : field.end]
    unsigned = part.view("<u8")[:, 0]
    ones = np.uint64((1 << 8 * field.size) - 1)
    if not field.signed:
        return unsigned.astype(float), unsigned < ones - np.uint64(2)
    shift = np.uint64(64 - 8 * field.size)
    signed = (unsigned << shift).view(np.int64) >> shift.astype(np.int64)
    available = signed < (1 << 8 * field.size - 1) - 3
    never_below = RANGES.get(field.quantity, (-1.0, 0.0))[0] >= 0
    return signed.astype(float), np.where(never_below & (unsigned == ones), False, available)


def _nowhere(group: int, payload: Bytes) -> NDArray[np.bool_] | None:
    """Positions of exactly 0, 0: a receiver without a fix."""
    fields = [f for f in GROUPS[group] if f.quantity in ("latitude", "longitude")]
    if len(fields) != 2:
        return None
    both = payload[:, fields[0].byte : fields[1].end]
    return np.asarray(both.max(axis=1) == 0)
