"""NMEA 0183 line by line: what is taken, what is not and under which reason it is counted.

The lines are invented, or cut from the faults listed in the project's notes on bad input.
"""

from __future__ import annotations

import functools
import operator
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import slackwater
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.forms import read_logs


def summed(body: str) -> str:
    """A sentence with its checksum."""
    return f"${body}*{functools.reduce(operator.xor, body.encode(), 0):02X}"


def rmc(time: str, speed: str = "6.2", date: str = "140625", status: str = "A") -> str:
    return summed(f"GPRMC,{time},{status},5051.2400,N,00106.1200,W,{speed},084.0,{date},,,A")


def read(tmp_path: Path, *lines: str | bytes, end: bytes = b"\r\n") -> Log:
    path = tmp_path / "a.log"
    whole = [line if isinstance(line, bytes) else line.encode("latin-1") for line in lines]
    path.write_bytes(end.join(whole) + end)
    return read_logs(path)[0]


def values(log: Log, quantity: str) -> list[float]:
    return [float(v) for channel in log.of(quantity) for v in channel.values]


def test_a_sentence_is_read(tmp_path: Path) -> None:
    log = read(tmp_path, rmc("101530.00"))
    assert log.clock == "utc"
    assert [c.quantity for c in log.channels] == [
        "speed_over_ground", "course_over_ground", "latitude", "longitude"
    ]  # fmt: skip
    assert values(log, "latitude") == [50 + 51.24 / 60]
    assert values(log, "longitude") == [-(1 + 6.12 / 60)]
    # 14 June 2025, 10:15:30 UTC
    assert log.span == (1749896130.0, 1749896130.0)
    assert log.faults == {}


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("$GPRMC,101530.00,A,5051.2400,N,00106.1200,W,8.2,084.0,140625,,,A*45", "checksum wrong"),
        ("$GPRMC,000344.03,A,4808.9992,N,4,02.3*05", "checksum wrong"),
        ("$GPVTG,084.0,T,,M,6.3,N,11.5,K,A*G1", "checksum is not two hexadecimal digits"),
        ("$GNRMC,1" + rmc("101531.00"), "sentence run into by the next one"),
        ("$GPVTG,084.0,T,,M,6.2,N,11.5,K,A", "checksum missing, where the same sender has them elsewhere"),
        ("!AIVDM,1,1,,1,13aI8e?P00PGpU:NR6s00?vT2000,0,0*1C", "sentence of the '!' kind (AIS), of other ships"),
        ("# a comment with a $GPRMC in it", "comment line"),
        ("what is this", "line without a sentence"),
        (rmc("101530.00", status="V"), "marked as not valid by what sent it"),
        (summed("GPVTG,,T,,M,,N,,K,A"), "field left empty"),
        (summed("GPVTG,084.0,T,,M,6..2,N,,K,A"), "field that is no number"),
        (summed("GPVTG,084.0,T,,M,-6.2,N,,K,A"), "value out of its range"),
        (summed("GPRMC,101530.00,A,0000.0000,N,00000.0000,E,0.0,0.0,140625,,,A"), "position 0, 0"),
        (summed("GPRMC,251530.00,A,5051.2400,N,00106.1200,W,6.2,084.0,140625,,,A"), "time of day that does not exist"),
        (summed("PXYZ,SPD,5.1,219"), "sentence of a kind that is not read"),
    ],
)  # fmt: skip
def test_what_gives_no_value_is_counted_by_reason(tmp_path: Path, line: str, reason: str) -> None:
    log = read(tmp_path, rmc("101529.00"), summed("GPVTG,084.0,T,,M,6.3,N,11.5,K,A"), line)
    assert log.faults.get(reason), log.faults
    assert all(np.isfinite(c.values).all() and np.isfinite(c.seconds).all() for c in log.channels)
    assert set(values(log, "speed_over_ground")) <= {6.2, 6.3, 0.0}
    if reason == "sentence run into by the next one":
        assert len(next(iter(log.of("speed_over_ground"))).values) == 2


MISSING = "checksum missing, where the same sender has them elsewhere"
PCDIN = "PCDIN,01F802,00000000,09,FFFCFFFFFFFFFFFF"  # 129026: neither course nor speed


@pytest.mark.parametrize(
    ("whole", "bare", "alone"),
    [
        ("GPVTG,084.0,T,,M,6.3,N,11.5,K,A", "GPVTG,,T,,M,,N,,K,A", {"field left empty": 1}),
        ("GPVTG,084.0,T,,M,6.3,N,11.5,K,A", "GPVTG,084.0,T,,M,6..2,N,,K,A", {"field that is no number": 1}),
        ("GPVTG,084.0,T,,M,6.3,N,11.5,K,A", "GPVTG,384.0,T,,M,6.2,N,,K,A", {"value out of its range": 1}),
        ("GPGLL,5051.24,N,00106.12,W,101529.00,A", "GPGLL,5051.24,N,00106.12,W,251529.00,A", {"time of day that does not exist": 1}),
        ("YXXDR,A,1.0,D,HEEL,A,2.0,D,TRIM", "YXXDR,A,1.x,D,HEEL,A,,D,TRIM,A,300,D,ROLL",
         {"field that is no number": 1, "field left empty": 1, "value out of its range": 1}),
        (PCDIN.replace("FFFCFFFF", "FFFC0010"), PCDIN, {"marked as not available by what sent it": 2}),
    ],
)  # fmt: skip
def test_a_sentence_without_its_checksum_counts_once(
    tmp_path: Path, whole: str, bare: str, alone: dict[str, int]
) -> None:
    """As missing it where the sender has them elsewhere; else by what else is wrong with it."""
    other = rmc("101529.00"), summed("IIHDT,84.0,T")
    log = read(tmp_path, *other, f"${bare}")
    assert log.faults == alone
    log = read(tmp_path, *other, summed(whole), f"${bare}", f"${whole}")
    own = {k: n for k, n in log.faults.items() if k != "marked as not available by what sent it"}
    assert own == {MISSING: 2}


def test_sentences_of_transducers_that_are_not_read_are_counted(tmp_path: Path) -> None:
    """Beside others of the same talker that are."""
    known, other = summed("YXXDR,A,1.0,D,HEEL"), summed("YXXDR,C,21.0,C,AIR")
    log = read(tmp_path, rmc("101529.00"), known, other, other)
    assert log.faults == {"sentence of a kind that is not read": 2}
    assert values(log, "heel") == [1.0]


@pytest.mark.parametrize(
    "line",
    [
        summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A").lower().replace("$gpvtg,084.0,t,,m,6.2,n,11.5,k,a", "$GPVTG,084.0,T,,M,6.2,N,11.5,K,A"),
        b"L\x8b\xff\x10*" + summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A").encode(),
        "\\s:GPS1,c:1718360130*5B\\" + summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A"),
        "   " + summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A") + "  ",
        summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A,more,fields"),
        summed("GPVTG,084.0,T,,M,,N,11.4824,K"),
    ],
    ids=["lower case", "bytes before", "tag block", "blanks", "more fields", "km/h alone"],
)  # fmt: skip
def test_what_is_odd_and_right_is_read(tmp_path: Path, line: str | bytes) -> None:
    log = read(tmp_path, rmc("101529.00"), line)
    assert_allclose([c.values for c in log.of("speed_over_ground") if "VTG" in c.source], [[6.2]])


def test_one_digit_checksum_stands_for_nought_and_it(tmp_path: Path) -> None:
    """Some senders leave the nought out, some put a blank there."""
    sentence = next(
        summed(f"SDMTW,{t / 10:.1f},C") for t in range(50, 300)
        if summed(f"SDMTW,{t / 10:.1f},C")[-2] == "0"
    )  # fmt: skip
    for written in (sentence, sentence[:-2] + sentence[-1], sentence[:-2] + " " + sentence[-1]):
        log = read(tmp_path, rmc("101529.00"), written)
        assert len(values(log, "water_temperature")) == 1, written


def test_nothing_is_a_zero_because_it_is_empty(tmp_path: Path) -> None:
    log = read(
        tmp_path, rmc("101530.00"), summed("SDVHW,231.3,T,229.9,M,,N,,K"), summed("SDMTW,,C")
    )
    assert not list(log.of("speed_through_water"))
    assert values(log, "heading") == [231.3]
    assert not list(log.of("water_temperature"))


def test_a_course_at_rest_is_none_and_not_north(tmp_path: Path) -> None:
    log = read(tmp_path, rmc("101530.00", status="V"), summed("GPVTG,,T,,M,0.0,N,0.0,K,A"))
    assert not list(log.of("course_over_ground"))
    assert values(log, "speed_over_ground") == [0.0]


def test_nul_bytes_in_a_field_cost_that_field(tmp_path: Path) -> None:
    log = read(tmp_path, rmc("101530.00"), summed("PHHDM,0\x008.2,M"), summed("IIHDM,08.2,M"))
    assert values(log, "heading_magnetic") == [8.2]


def test_an_early_edition_has_fewer_fields(tmp_path: Path) -> None:
    """RMC without a mode, and without what stands before it."""
    for body in (
        "GPRMC,101530,A,5051.2400,N,00106.1200,W,6.2,084.0,140625,2.1,W",
        "GPRMC,101530,A,5051.2400,N,00106.1200,W,6.2,084.0,140625",
        "GPRMC,101530,A,5051.2400,N,00106.1200,W,6.2,084.0,140625,2.1,W,A,V",
    ):
        log = read(tmp_path, summed(body))
        assert values(log, "speed_over_ground") == [6.2]
        assert log.clock == "utc"


def test_a_paddle_wheel_that_is_stuck_is_not_chosen(tmp_path: Path) -> None:
    lines = []
    for second in range(59):
        lines += [
            rmc(f"1015{second:02d}.00"),
            summed("IIVHW,,T,,M,0.0,N,0.0,K"),
            summed(f"VWVHW,,T,,M,6.{second % 10},N,,K"),
        ]
    path = tmp_path / "a.log"
    path.write_text("\r\n".join(lines))
    (speed,) = [c for c in slackwater.logs(path).choices if c.quantity == "speed_through_water"]
    assert speed.source == "VW VHW"
    assert "repeat the one before" in speed.offered[1].against[0]


def test_wind_in_its_units_and_references(tmp_path: Path) -> None:
    log = read(
        tmp_path,
        rmc("101530.00"),
        summed("WIMWV,057.5,R,13.0,N,A"),
        summed("WIMWV,057.5,R,6.7,M,A"),
        summed("WIMWV,096.6,T,18.52,K,A"),
    )
    assert_allclose(values(log, "apparent_wind_speed"), [13.0, 6.7 * 3600 / 1852])
    assert_allclose(values(log, "wind_speed"), [10.0])


def test_talkers_and_kinds_stay_apart(tmp_path: Path) -> None:
    log = read(
        tmp_path,
        rmc("101530.00"),
        rmc("101530.00").replace("$GP", "$GN").rsplit("*")[0] + "*5B",
        summed("GPVTG,084.0,T,,M,6.3,N,11.5,K,A"),
    )
    assert [c.source for c in log.of("speed_over_ground")] == ["GN RMC", "GP RMC", "GP VTG"]


def test_a_log_without_any_checksum_is_taken_with_that_said(tmp_path: Path) -> None:
    log = read(tmp_path, *(rmc(f"1015{s:02d}.00").rsplit("*")[0] for s in range(10)))
    assert len(values(log, "speed_over_ground")) == 10
    assert any("no sentence has a checksum" in note for note in log.notes)


def test_midnight_between_dated_and_undated(tmp_path: Path) -> None:
    def gga(time: str) -> str:
        return summed(f"GPGGA,{time},5051.2400,N,00106.1200,W,1,08,1.0,1,M,46,M,,")

    log = read(
        tmp_path,
        gga("235958.00"), rmc("235959.00"), gga("235959.00"), gga("000000.00"),
        rmc("000000.00", date="150625"), gga("000001.00"),
    )  # fmt: skip
    places = next(c for c in log.of("latitude") if c.source == "GP GGA")
    assert_allclose(places.seconds - places.seconds[0], [0, 1, 2, 3])
    assert not log.faults


def test_midnight_without_any_date(tmp_path: Path) -> None:
    lines = []
    for second in (86397, 86398, 86399, 0, 1):
        clock = f"{second // 3600:02d}{second % 3600 // 60:02d}{second % 60:02d}"
        lines += [summed("IIVHW,,T,,M,6.1,N,,K"), summed(f"GPZDA,{clock},,,,00,")]
    log = read(tmp_path, *lines)
    assert log.clock == "time of day"
    speed = next(log.of("speed_through_water"))
    assert_allclose(speed.seconds, [86397, 86398, 86399, 86400, 86401])


def test_a_clock_put_back_is_cut_and_not_sorted(tmp_path: Path) -> None:
    times = [*range(10, 25), *range(11, 20)]
    log = read(tmp_path, *(rmc(f"1941{s:02d}", speed=f"{i}.0") for i, s in enumerate(times)))
    assert values(log, "speed_over_ground") == [float(i) for i in range(15)]
    assert log.faults["clock off: a time that was over already, or days away"] == 9 * 4
    assert any("the clock jumps" in note for note in log.notes)


def test_values_before_the_first_clock_of_their_cycle_belong_to_it(tmp_path: Path) -> None:
    lines = []
    for second in (0, 2, 4):
        lines += [
            summed(f"IIVHW,,T,,M,{second}.5,N,,K"),
            summed(f"GPZDA,1000{second:02d},,,,00,"),
            summed(f"IIDBT,,f,{second}.7,M,,F"),
        ]
    log = read(tmp_path, *lines)
    for quantity in ("speed_through_water", "water_depth"):
        assert_allclose(next(log.of(quantity)).seconds, [36000, 36002, 36004])


def test_what_comes_faster_than_the_clock_lies_evenly(tmp_path: Path) -> None:
    lines = []
    for second in range(5):
        lines += [rmc(f"1015{second:02d}.00"), *([summed("SDHDG,230.0,,,1.3,E")] * 4)]
    heading = next(read(tmp_path, *lines).of("heading_magnetic"))
    assert_allclose(np.diff(heading.seconds), 0.25)


def test_a_stamp_of_the_logger_shows_weeks_that_went_round(tmp_path: Path) -> None:
    """14 June 2025, reported 1 024 weeks early as 29 October 2005."""
    lines = [
        f"2025-06-14T10:15:{s:02d}.500000+00:00\t{rmc(f'1015{s:02d}.00', date='291005')}"
        for s in range(5)
    ]
    log = read(tmp_path, *lines)
    assert log.span == (1749896100.0, 1749896104.0)
    assert {c.repaired for c in log.channels} == {"1024 weeks added"}


def test_stamps_alone_are_the_clock(tmp_path: Path) -> None:
    lines = [f"2023-09-02T12:41:{s:02d}.250+02:00\t{summed('IIHDT,97.0,T')}" for s in (1, 2, 3)]
    heading = next(read(tmp_path, *lines).of("heading"))
    assert_allclose(heading.seconds, np.array([1, 2, 3]) + 0.25 + 1693651260.0)


def test_a_date_before_there_were_satellites_is_none(tmp_path: Path) -> None:
    log = read(tmp_path, *(rmc(f"1015{s:02d}.00", date="010170") for s in range(3)))
    assert log.clock == "time of day"


def test_no_clock_at_all(tmp_path: Path) -> None:
    log = read(tmp_path, *[summed("IIVHW,,T,,M,6.1,N,,K")] * 3)
    assert log.clock == "none"
    assert any("no time" in note for note in log.notes)


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
def test_ends_of_lines(tmp_path: Path, end: bytes) -> None:
    log = read(tmp_path, rmc("101530.00"), rmc("101531.00"), end=end)
    assert len(values(log, "speed_over_ground")) == 2
    assert log.faults == {}


def test_blocks_do_not_show(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same channels whatever the size of the blocks."""
    lines = []
    for second in range(60):
        lines += [rmc(f"1015{second:02d}.00", speed=f"{second / 10:.1f}"), summed("SDMTW,17.5,C")]
    whole = read(tmp_path, *lines)
    monkeypatch.setattr("slackwater.analysis.logs.opening.BLOCK", 100)
    cut = read(tmp_path, *lines)
    assert len(whole.channels) == len(cut.channels)
    for one, other in zip(whole.channels, cut.channels, strict=True):
        assert (one.quantity, one.source) == (other.quantity, other.source)
        np.testing.assert_array_equal(one.values, other.values)
        np.testing.assert_array_equal(one.seconds, other.seconds)
        np.testing.assert_array_equal(one.lines, other.lines)


def test_lines_are_those_of_the_file(tmp_path: Path) -> None:
    log = read(tmp_path, "# head", rmc("101530.00"), "", rmc("101531.00"))
    assert list(log.channels[0].lines) == [2, 4]
    assert log.lines == 4
