"""Which runs are used, and which are set aside and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SetAside:
    """A run left out of the analysis, with its reason."""

    row: int
    session: str
    set_point: float
    double_run: int | None
    direction: str
    reason: str


def select(
    frame: pd.DataFrame, *, paired: bool, reciprocal_within: float
) -> tuple[pd.DataFrame, list[SetAside]]:
    """Sort the runs into those used and those set aside.

    Parameters
    ----------
    frame : DataFrame
        As read by the intake.
    paired : bool
        Only whole double runs are used.
    reciprocal_within : float
        How far from opposite the headings of a double run may be. [deg]

    Returns
    -------
    used : DataFrame
        With the columns `sign`, `middle`, `cell` and `pair` added, in the order of the table.
    set_aside : list of SetAside
    """
    import pandas as pd

    frame = frame.copy()
    frame["sign"] = directions(frame)
    half = pd.to_timedelta(frame["duration"].fillna(0.0) / 2, unit="s")
    middle = (frame["start"] + half).astype("datetime64[ns]")
    frame["middle"] = np.where(middle.isna(), np.nan, middle.astype("int64") / 1e9)

    reasons = frame["set_aside"].astype(str).to_numpy(dtype=object)
    if paired:
        rows = np.flatnonzero(reasons == "")
        keys = frame.iloc[rows]
        pair = _codes(keys, ["session", "set_point", "double_run"])
        heading = keys["heading"].to_numpy(dtype=float)
        for members in _broken_pairs(pair, keys["sign"].to_numpy(dtype=float), heading):
            number = str(keys["double_run"].iloc[members[0]])
            sign, course = keys["sign"].to_numpy(dtype=float)[members], heading[members]
            reasons[rows[members]] = _not_whole(sign, course, number, reciprocal_within)
    left_out = frame[reasons != ""]
    aside = [
        SetAside(
            row=int(run.row),
            session=str(run.session),
            set_point=float(run.set_point),
            double_run=None if pd.isna(run.double_run) else int(run.double_run),
            direction=str(run.direction) or _direction_word(run.sign),
            reason=str(reason),
        )
        for run, reason in zip(
            left_out.itertuples(index=False), reasons[reasons != ""], strict=True
        )
    ]
    used = frame[reasons == ""].reset_index(drop=True)
    used["cell"] = _codes(used, ["session", "set_point"])
    used["pair"] = _codes(used, ["session", "set_point", "double_run"])
    used["direction"] = np.where(used["sign"].isna(), "", np.where(used["sign"] > 0, "out", "back"))
    return used, aside


def _codes(frame: pd.DataFrame, columns: list[str]) -> NDArray[np.int_]:
    """Rows numbered by what they have in common, from 0, in order of first appearance."""
    import pandas as pd

    code = np.zeros(len(frame), dtype=int)
    for column in columns:
        own = pd.factorize(frame[column])[0]
        code = pd.factorize(code * (own.max(initial=0) + 1) + own)[0]
    return code


def _broken_pairs(
    pair: NDArray[np.int_], sign: Array, heading: Array
) -> Iterator[NDArray[np.int_]]:
    """Rows of each double run that may not be whole: not one out and one back, or with headings."""
    count = np.bincount(pair)
    known = np.bincount(pair, np.isfinite(sign).astype(float))
    balance = np.bincount(pair, np.nan_to_num(sign))
    headed = np.bincount(pair, np.isfinite(heading).astype(float))
    for number in np.flatnonzero((count != 2) | (known != 2) | (balance != 0) | (headed > 0)):
        yield np.flatnonzero(pair == number)


def _direction_word(sign: float) -> str:
    if not np.isfinite(sign):
        return ""
    return "out" if sign > 0 else "back"


def directions(frame: pd.DataFrame) -> Array:
    """+1 for runs out, -1 for runs back, NaN where neither direction nor heading is known.

    From headings, `out` is the way the first run of the table went. Headings are sorted by the
    side of the course line they point to; the course line is the mean axis of all headings.
    """
    word = frame["direction"].astype(str)
    sign = np.where(word == "out", 1.0, np.where(word == "back", -1.0, np.nan))
    heading = np.radians(frame["heading"].to_numpy(dtype=float))
    open_rows = np.isnan(sign) & np.isfinite(heading)
    if open_rows.any():
        known = heading[np.isfinite(heading)]
        axis = 0.5 * np.angle(np.exp(2j * known).sum())
        if np.cos(known[0] - axis) < 0:
            axis += np.pi
        sign[open_rows] = np.where(np.cos(heading[open_rows] - axis) >= 0, 1.0, -1.0)
    return sign


def _not_whole(sign: Array, heading: Array, number: str, reciprocal_within: float) -> str:
    """Why the runs of one number are no whole double run, or nothing."""
    if np.isnan(sign).any():
        return f"double run {number} has a run without direction or heading"
    if sign.size == 1:
        lacking = "back" if sign[0] > 0 else "out"
        return f"half a double run: double run {number} has no run {lacking}"
    if abs(sign.sum()) == sign.size:
        way = _direction_word(sign.sum())
        return f"half a double run: every run of double run {number} went {way}"
    if sign.size != 2:
        return f"double run {number} has {sign.size} runs; a double run is one out and one back"
    if np.isfinite(heading).all():
        off = abs(abs((heading[0] - heading[1]) % 360) - 180)
        if off > reciprocal_within:
            return (
                f"headings {heading[0]:g} and {heading[1]:g} deg are {off:g} deg off opposite; "
                f"the limit is {reciprocal_within:g} deg"
            )
    return ""
