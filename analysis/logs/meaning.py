"""What the fields of each kind of sentence say: quantities in the units of channels, and times."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.sentence_fields import Batch

KMH, METRE_PER_SECOND = 1 / 1.852, 3600 / 1852  # [kn]

VOID = "marked as not valid by what sent it"
NOWHERE = "position 0, 0"
BEYOND = "value out of its range"
EMPTY = "field left empty"
NO_NUMBER = "field that is no number"
NO_TIME = "time of day that does not exist"


@dataclass(frozen=True, slots=True)
class Said:
    """One quantity out of the sentences of a batch.

    Parameters
    ----------
    quantity : str
    values : ndarray, shape (sentences,)
        NaN where nothing was said. [unit of the quantity]
    valid : ndarray of bool, shape (sentences,), or None
        Whether the sender stands by it; None if it always does.
    which : str
        Which engine, if there are several.
    """

    quantity: str
    values: Numbers
    valid: NDArray[np.bool_] | None = None
    which: str = ""


def _is(letters: NDArray[np.uint8], which: str) -> NDArray[np.bool_]:
    """Whether the letter is one of some; an empty field is one of " "."""
    table = np.zeros(256, bool)
    table[[*which.replace(" ", "\0").encode()]] = True
    found: NDArray[np.bool_] = table[letters]
    return found


def _side(values: Numbers, letters: NDArray[np.uint8], negative: str) -> Numbers:
    return np.where(_is(letters, negative), -values, values)


def _speed(knots: Numbers, kilometres: Numbers) -> Numbers:
    return np.where(np.isnan(knots), kilometres * KMH, knots)


def _position(batch: Batch, at: int) -> Iterator[Said]:
    """Latitude and longitude from the fields at `at`, with their hemispheres."""
    latitude = _side(batch.numbers[at], batch.letters[at + 1], "S")
    longitude = _side(batch.numbers[at + 2], batch.letters[at + 3], "W")
    both = _is(batch.letters[at + 1], "NS") & _is(batch.letters[at + 3], "EW")
    blank = ~both
    latitude[blank], longitude[blank] = np.nan, np.nan
    yield Said("latitude", latitude, _mode(batch))
    yield Said("longitude", longitude, _mode(batch))


def _mode(batch: Batch) -> NDArray[np.bool_] | None:
    """Whether a fix is one: by status, quality or mode, whichever the kind has."""
    if batch.kind == "GGA":
        quality = batch.numbers[6]  # left empty by old receivers: then the position decides
        fix: NDArray[np.bool_] = quality != 0
        return fix
    if batch.kind == "GLL":
        return _is(batch.letters[6], "A ")
    if batch.kind == "GNS":
        return None
    return _is(batch.letters[2], "A") & _is(batch.letters[12], "ADFPRE ")


def _rmc(batch: Batch) -> Iterator[Said]:
    yield from _position(batch, 3)
    valid = _mode(batch)
    yield Said("speed_over_ground", batch.numbers[7], valid)
    yield Said("course_over_ground", batch.numbers[8], valid)
    yield Said("magnetic_variation", _side(batch.numbers[10], batch.letters[11], "W"), valid)


def _vtg(batch: Batch) -> Iterator[Said]:
    number, letter = batch.numbers, batch.letters
    valid = _is(letter[9], "ADFPRE ")
    true, magnetic = _is(letter[2], "T"), _is(letter[4], "M")
    yield Said("course_over_ground", np.where(true, number[1], np.nan), valid)
    yield Said("course_over_ground_magnetic", np.where(magnetic, number[3], np.nan), valid)
    speed = _speed(
        np.where(_is(letter[6], "N"), number[5], np.nan),
        np.where(_is(letter[8], "K"), number[7], np.nan),
    )
    yield Said("speed_over_ground", speed, valid)


def _vhw(batch: Batch) -> Iterator[Said]:
    number, letter = batch.numbers, batch.letters
    yield Said("heading", np.where(_is(letter[2], "T"), number[1], np.nan))
    yield Said("heading_magnetic", np.where(_is(letter[4], "M"), number[3], np.nan))
    speed = _speed(
        np.where(_is(letter[6], "N"), number[5], np.nan),
        np.where(_is(letter[8], "K"), number[7], np.nan),
    )
    yield Said("speed_through_water", speed)


def _hdg(batch: Batch) -> Iterator[Said]:
    deviation = np.nan_to_num(_side(batch.numbers[2], batch.letters[3], "W"))
    yield Said("heading_magnetic", (batch.numbers[1] + deviation) % 360)
    yield Said("magnetic_variation", _side(batch.numbers[4], batch.letters[5], "W"))


def _rpm(batch: Batch) -> Iterator[Said]:
    valid = _is(batch.letters[5], "A ")
    for letter, quantity in (("E", "engine_speed"), ("S", "propeller_speed")):
        of_kind = _is(batch.letters[1], letter)
        for number in np.unique(batch.numbers[2][of_kind]):
            of_one = of_kind & _same(batch.numbers[2], number)
            values = np.where(of_one, batch.numbers[3], np.nan)
            yield Said(quantity, values, valid | ~of_one, "" if np.isnan(number) else f"{number:g}")


def _same(values: Numbers, one: float) -> NDArray[np.bool_]:
    return np.isnan(values) if np.isnan(one) else values == one


def _mwv(batch: Batch) -> Iterator[Said]:
    unit = batch.letters[4]
    scale = np.select(
        [_is(unit, "N"), _is(unit, "M"), _is(unit, "K")], [1.0, METRE_PER_SECOND, KMH], np.nan
    )
    valid = _is(batch.letters[5], "A ")
    for letter, prefix in (("R", "apparent_"), ("T", "")):
        felt = _is(batch.letters[2], letter)
        if felt.any():
            angle = np.where(felt, batch.numbers[1], np.nan)
            yield Said(f"{prefix}wind_angle", angle, valid | ~felt)
            speed = np.where(felt, batch.numbers[3] * scale, np.nan)
            yield Said(f"{prefix}wind_speed", speed, valid | ~felt)


def _mwd(batch: Batch) -> Iterator[Said]:
    number = batch.numbers
    true = _is(batch.letters[2], "T")
    yield Said("wind_direction", np.where(true, number[1], np.nan))
    knots = np.where(_is(batch.letters[6], "N"), number[5], np.nan)
    metric = np.where(_is(batch.letters[8], "M"), number[7] * METRE_PER_SECOND, np.nan)
    yield Said("wind_speed", np.where(np.isnan(knots), metric, knots))


def _dpt(batch: Batch) -> Iterator[Said]:
    # An offset above nought is the way from the transducer up to the surface; below nought it is
    # that down to the keel, which is not part of the depth of the water.
    offset = np.nan_to_num(batch.numbers[2])
    yield Said("water_depth", batch.numbers[1] + np.maximum(offset, 0))


def _dbt(batch: Batch) -> Iterator[Said]:
    metres = _is(batch.letters[4], "M")
    yield Said("water_depth", np.where(metres, batch.numbers[3], np.nan))


def _simple(
    quantity: str, status: int | None = None, letters: str = "A "
) -> Callable[[Batch], Iterator[Said]]:
    """A kind that says one thing in its first field, and whether it holds in another."""

    def says(batch: Batch) -> Iterator[Said]:
        valid = None if status is None else _is(batch.letters[status], letters)
        yield Said(quantity, batch.numbers[1], valid)

    return says


MEANINGS: dict[str, Callable[[Batch], Iterator[Said]]] = {
    "RMC": _rmc,
    "VTG": _vtg,
    "GGA": lambda batch: _position(batch, 2),
    "GLL": lambda batch: _position(batch, 1),
    "GNS": lambda batch: _position(batch, 2),
    "ZDA": lambda batch: iter(()),
    "VHW": _vhw,
    "HDT": _simple("heading"),
    "HDM": _simple("heading_magnetic"),
    "HDG": _hdg,
    "ROT": _simple("rate_of_turn", 2),
    "RPM": _rpm,
    "RSA": _simple("rudder_angle", 2),
    "MWV": _mwv,
    "MWD": _mwd,
    "DPT": _dpt,
    "DBT": _dbt,
    "MTW": _simple("water_temperature", 2, "C "),
}

#: Beyond these nothing is a value, whatever sent it. [unit of the quantity]
RANGES: dict[str, tuple[float, float]] = {
    "speed_over_ground": (0, 150),
    "speed_through_water": (0, 150),
    "course_over_ground": (0, 360),
    "course_over_ground_magnetic": (0, 360),
    "heading": (0, 360),
    "heading_magnetic": (0, 360),
    "magnetic_variation": (-180, 180),
    "latitude": (-90, 90),
    "longitude": (-180, 180),
    "engine_speed": (0, 20000),
    "propeller_speed": (-20000, 20000),
    "engine_load": (0, 125),
    "engine_torque": (0, 125),
    "tank_level": (0, 110),
    "fuel_flow": (0, 5000),
    "water_depth": (0, 12000),
    "water_temperature": (-5, 60),
    "wind_speed": (0, 200),
    "apparent_wind_speed": (0, 250),
    "wind_angle": (-360, 360),
    "apparent_wind_angle": (-360, 360),
    "wind_direction": (0, 360),
    "rudder_angle": (-180, 180),
    "rate_of_turn": (-3600, 3600),
    "heel": (-180, 180),
    "trim": (-90, 90),
    "distance": (0, 1e7),
}


def usable(said: list[Said], faults: Counter[str]) -> Iterator[tuple[Said, NDArray[np.bool_]]]:
    """Which values of each quantity stand; what does not is counted by reason."""
    nowhere = _nowhere(said)
    for one in said:
        there = ~np.isnan(one.values)
        good = there
        if one.valid is not None:
            good = there & one.valid
            faults[VOID] += int((there & ~one.valid).sum())
        if one.quantity in ("latitude", "longitude") and nowhere is not None:
            faults[NOWHERE] += int((good & nowhere).sum())
            good = good & ~nowhere
        low, high = RANGES.get(one.quantity, (-np.inf, np.inf))
        inside = (one.values >= low) & (one.values <= high)
        faults[BEYOND] += int((good & ~inside).sum())
        yield one, good & inside


def _nowhere(said: list[Said]) -> NDArray[np.bool_] | None:
    places = [one.values for one in said if one.quantity in ("latitude", "longitude")]
    if len(places) != 2:
        return None
    nowhere: NDArray[np.bool_] = (places[0] == 0) & (places[1] == 0)
    return nowhere
