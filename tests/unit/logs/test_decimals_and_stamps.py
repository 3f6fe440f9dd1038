"""Numbers and stamps read column by column are those that Python reads."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slackwater.analysis.logs.clocks import in_order
from slackwater.analysis.logs.decimals import LONGEST, read_decimals
from slackwater.analysis.logs.stamps import iso_seconds

WRITTEN = st.from_regex(r"[+-]?([0-9]{1,9}\.?[0-9]{0,6}|\.[0-9]{1,6})", fullmatch=True)


def laid(texts: list[str]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    ends = np.cumsum([len(text) + 1 for text in texts])
    data = np.frombuffer(",".join(texts).encode() + b"," * (LONGEST + 40), np.uint8)
    return data, ends - [len(text) + 1 for text in texts], ends - 1


@given(st.lists(WRITTEN, min_size=1, max_size=20))
def test_numbers_are_read_as_python_does(texts: list[str]) -> None:
    assert read_decimals(*laid(texts)).values().tolist() == [float(text) for text in texts]


@given(st.lists(st.text("0123456789.-+eE x", max_size=25), min_size=1, max_size=20))
def test_what_is_no_number_is_none(texts: list[str]) -> None:
    got = read_decimals(*laid(texts))
    for text, value in zip(texts, got.values().tolist(), strict=True):
        try:
            expected = float(text) if not set(text) & set("eE") else np.nan
        except ValueError:
            expected = np.nan
        if len(text) <= 18 or np.isnan(expected):
            assert value == expected or (np.isnan(value) and np.isnan(expected)), text


@given(
    st.datetimes(datetime(1971, 1, 1), datetime(2099, 1, 1)),
    st.sampled_from(["", "Z", "+02:00", "-0730"]),
)
def test_stamps_are_read_as_python_does(moment: datetime, zone: str) -> None:
    text = moment.isoformat(timespec="microseconds") + zone
    seconds, zoned = iso_seconds(*laid([text]))
    stamp = datetime.fromisoformat(text if zone else text + "Z")
    assert abs(seconds[0] - stamp.timestamp()) < 2e-6
    assert bool(zoned[0]) == bool(zone)


@given(st.lists(st.integers(0, 50), max_size=40))
def test_what_is_kept_never_falls(times: list[int]) -> None:
    seconds = np.array(times, float)
    keep = in_order(seconds)
    assert (np.diff(seconds[keep]) >= 0).all()
    assert keep.any() == bool(times)


def test_a_wild_stamp_costs_itself_alone() -> None:
    seconds = np.concatenate([np.arange(100.0), [9999.0], np.arange(100.0, 200.0)])
    assert in_order(seconds).sum() == 200
