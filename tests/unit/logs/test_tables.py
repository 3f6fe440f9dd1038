"""Logs that are tables of samples: any columns, times in the ways that loggers write, faults counted."""

from __future__ import annotations

from pathlib import Path

import pytest

import slackwater
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.forms import read_logs
from slackwater.analysis.logs.table_words import Told
from slackwater.protocol.findings import InputError

FIRST = 1_749_896_130.0  # 2025-06-14T10:15:30Z


def read(tmp_path: Path, text: str | bytes, told: Told | None = None) -> Log:
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_logs(path, told=told)[0]


def values(log: Log, quantity: str) -> list[float]:
    return next(log.of(quantity)).values.tolist()


def table(times: list[str], head: str = "time", separator: str = ",") -> str:
    """Speeds of 6.0, 6.1, … kn at these times."""
    rows = [separator.join((t, f"{6 + n / 10:.1f}")) for n, t in enumerate(times)]
    return "\n".join([separator.join((head, "SOG [kn]")), *rows]) + "\n"


@pytest.mark.parametrize(
    ("head", "times", "clock", "first"),
    [
        ("time", ["2025-06-14T10:15:30Z", "2025-06-14T10:15:31Z"], "utc", FIRST),
        ("Timestamp", ["2025-06-14 12:15:30.0 GMT+02:00", "2025-06-14 12:15:31.0 GMT+02:00"], "utc", FIRST),
        ("UTC time", ["2025/06/14 10:15:30", "2025/06/14 10:15:31"], "utc", FIRST),
        ("time", ["14.06.2025 10:15:30,0", "14.06.2025 10:15:31,0"], "utc", FIRST),
        ("time", ["06/14/2025 10:15:30 am", "06/14/2025 10:15:31 am"], "utc", FIRST),
        ("time", ["1749896130.0", "1749896131.0"], "utc", FIRST),
        ("time", ["1749896130000", "1749896131000"], "utc", FIRST),
        ("time", ["45822.427430556", "45822.427442130"], "utc", FIRST),
        ("Date UTC;Time UTC", ["2025-06-14;10:15:30", "2025-06-14;10:15:31"], "utc", FIRST),
        ("time", ["10:15:30", "10:15:31"], "time of day", 36930.0),
        ("time", ["10:15:30.5 pm", "10:15:31.5 pm"], "time of day", 80130.5),
        ("time [ms]", ["500", "1500"], "since start", 0.5),
        ("Elapsed Time", ["51:12.0", "51:13.0"], "since start", 3072.0),
        ("Elapsed Time", ["1:51:12", "1:51:13"], "since start", 6672.0),
    ],
)  # fmt: skip
def test_times_as_loggers_write_them(
    tmp_path: Path, head: str, times: list[str], clock: str, first: float
) -> None:
    log = read(tmp_path, table(times, head, ";"))
    assert log.clock == clock
    (channel,) = log.of("speed_over_ground")
    assert channel.seconds.tolist() == pytest.approx([first, first + 1], abs=1e-3)
    assert channel.values.tolist() == [6.0, 6.1]
    assert channel.source == "SOG [kn]"
    assert channel.lines.tolist() == [2, 3]


def test_a_date_of_either_order_is_not_guessed(tmp_path: Path) -> None:
    text = table(["01/03/2021 12:56:00", "01/03/2021 12:56:01"])
    log = read(tmp_path, text)
    assert log.clock == "time of day"
    assert "does not say which is the day" in log.notes[0]
    march = read(tmp_path, text, Told(dates="day first")).channels[0].seconds[0]
    january = read(tmp_path, text, Told(dates="month first")).channels[0].seconds[0]
    assert (march, january) == (1_614_603_360.0, 1_609_678_560.0)  # of 2021, by datetime


def test_midnight_without_a_date(tmp_path: Path) -> None:
    log = read(tmp_path, table(["23:59:58", "23:59:59", "00:00:00", "00:00:01"]))
    assert log.channels[0].seconds.tolist() == [86398.0, 86399.0, 86400.0, 86401.0]


def test_headings_in_words_and_units(tmp_path: Path) -> None:
    text = (
        "Time,GPS Speed (km/h),stw_mps,Engine RPM,Port fuel [L/h],Stbd fuel [L/h],Lat,Lon,cog_deg\n"
        "2025-06-14T10:15:30Z,18.52,5,2000,10,11,50.1,4.2,91\n"
        "2025-06-14T10:15:31Z,18.52,5,2000,10,11,50.1,4.2,91\n"
    )
    log = read(tmp_path, text)
    assert values(log, "speed_over_ground") == pytest.approx([10.0, 10.0])
    assert values(log, "speed_through_water") == pytest.approx([9.719] * 2, abs=1e-3)
    assert values(log, "engine_speed") == [2000.0, 2000.0]
    assert values(log, "course_over_ground") == [91.0, 91.0]
    assert values(log, "latitude") == [50.1, 50.1]
    assert [c.source for c in log.of("fuel_flow")] == ["Port fuel [L/h]", "Stbd fuel [L/h]"]


def test_two_columns_of_one_name_are_two_sources(tmp_path: Path) -> None:
    log = read(tmp_path, "time [s],SOG [kn],SOG [kn]\n1,5,6\n2,5,6\n")
    assert {c.source: c.values.tolist() for c in log.channels} == {
        "SOG [kn] (column 2)": [5.0, 5.0],
        "SOG [kn] (column 3)": [6.0, 6.0],
    }


def test_a_row_of_units_and_lines_before_the_heading(tmp_path: Path) -> None:
    text = (
        "Logger of a boat,,\nserial,12345,\n\nElapsed Time,Speed (GPS),Speed (IMP)\n"
        "(HH:MM:SS.tenths),(KPH),(KPH)\n00:00:02.9,18.52,---\n00:00:05.7,18.52,9.26\n"
    )
    log = read(tmp_path, text)
    assert values(log, "speed_over_ground") == pytest.approx([10.0, 10.0])
    assert values(log, "speed_through_water") == pytest.approx([5.0])
    assert log.faults == {"cell left empty, or marked as without a value": 1}
    assert next(log.of("speed_over_ground")).lines.tolist() == [6, 7]


def test_a_column_without_a_unit_is_left_out_and_said(tmp_path: Path) -> None:
    log = read(tmp_path, "time [s],speed,RPM\n1,5,2000\n2,5,2000\n")
    assert [c.quantity for c in log.channels] == ["engine_speed"]
    assert "nothing tells their unit: 'speed'" in " ".join(log.notes)
    told = Told(units={"speed_over_ground": "m/s"})
    log = read(tmp_path, "time [s],speed,RPM\n1,5,2000\n2,5,2000\n", told)
    assert values(log, "speed_over_ground") == pytest.approx([9.719] * 2, abs=1e-3)


def test_headings_that_the_trial_names(tmp_path: Path) -> None:
    text = "Zeitpunkt;v1 [m/s];Umdr;laerm\n2025-06-14T10:15:30Z;5,0;2000;71\n2025-06-14T10:15:31Z;5,0;2001;72\n"
    told = Told(
        columns={"start": "Zeitpunkt", "speed_over_ground": "v1", "engine_speed": ["Umdr"], "hum": "laerm"},
        units={"engine_speed": "rpm", "hum": "dB"},
        measures={"hum": "dB"},
    )  # fmt: skip
    log = read(tmp_path, text, told)
    assert values(log, "speed_over_ground") == pytest.approx([9.719] * 2, abs=1e-3)
    assert values(log, "engine_speed") == [2000.0, 2001.0]
    assert values(log, "hum") == [71.0, 72.0]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2025-06-14T10:15:32Z", "row with more or fewer cells than there are headings"),
        ("2025-06-14T10:15:32Z,1,2", "row with more or fewer cells than there are headings"),
        ("2025-06-14T25:15:32Z,1", "row whose time cannot be read"),
        ("soon,1", "row whose time cannot be read"),
        ("2025-06-14T10:15:32Z,", "cell left empty, or marked as without a value"),
        ("2025-06-14T10:15:32Z,--", "cell left empty, or marked as without a value"),
        ("2025-06-14T10:15:32Z,fast", "field that is no number"),
        ("2025-06-14T10:15:32Z,inf", "field that is no number"),
        ("2025-06-14T10:15:32Z,1_0", "field that is no number"),
        ("2025-06-14T10:15:32Z,-3", "value out of its range"),
        ("2025-06-14T10:15:32Z,253.97", "value out of its range"),
        ("# a remark", "comment line"),
        ('"2025-06-14\rT10:15:32Z,5', "row with more or fewer cells than there are headings"),
        ("2025-06-14T10:15:31Z,5", "value at the time of the one before, of one source"),
        ("time,SOG [kn]", "row whose time cannot be read"),
        ("1970-01-01T00:04:23Z,5", "clock off: a time that was over already, or days away"),
    ],
)
def test_what_gives_no_value_is_counted_by_reason(tmp_path: Path, row: str, reason: str) -> None:
    times = [f"2025-06-14T10:15:{s}Z" for s in (30, 31, 33, 34)]
    lines = table(times).splitlines()
    log = read(tmp_path, "\n".join([*lines[:3], row, *lines[3:]]) + "\n")
    assert log.channels[0].values.tolist() == [6.0, 6.1, 6.2, 6.3]
    assert log.faults == {reason: 1}
    assert log.lines == 6


@pytest.mark.parametrize(
    "encode", [lambda t: t.encode("utf-16"), lambda t: t.encode("utf-8-sig"),
               lambda t: t.replace("[kn]", "[kn]\u00b0").encode("cp1252"), lambda t: t.replace("\n", "\r\n").encode(),
               lambda t: t.replace("\n", "\r").encode(), lambda t: t.rstrip().encode(),
               lambda t: t.replace(",6.0", ',"6.0"').encode(), lambda t: t.replace("\n", ",\n").encode()],
    ids=["UTF-16", "BOM", "Windows-1252", "CRLF", "CR", "no final end", "quoted", "separator at the end"],
)  # fmt: skip
def test_texts_of_several_programs(tmp_path: Path, encode: object) -> None:
    text = table(["2025-06-14T10:15:30Z", "2025-06-14T10:15:31Z"]).replace("[kn]", "kn")
    assert values(read(tmp_path, encode(text)), "speed_over_ground") == [6.0, 6.1]  # type: ignore[operator]


def test_decimal_commas(tmp_path: Path) -> None:
    log = read(tmp_path, "time [s];SOG [kn]\n1,5;24,61\n2,5;1.299,9\n3,5;24,70\n")
    assert values(log, "speed_over_ground") == [24.61, 24.7]
    assert log.faults["field that is no number"] == 1


def test_decimal_commas_between_commas_are_refused_row_by_row(tmp_path: Path) -> None:
    text = "time [s],SOG [kn]\n1,24,61\n2,24,70\n"
    with pytest.raises(InputError, match="log-form-unknown"):
        read(tmp_path, text)


def test_rows_of_several_instruments(tmp_path: Path) -> None:
    """Each row has the columns of one instrument, and two have one time."""
    text = "time [s],SOG [kn],RPM\n1,5.0,\n1,,2000\n2,5.1,\n2,,2010\n3,5.2,\n3,,2020\n"
    log = read(tmp_path, text)
    assert values(log, "speed_over_ground") == [5.0, 5.1, 5.2]
    assert values(log, "engine_speed") == [2000.0, 2010.0, 2020.0]
    assert next(log.of("engine_speed")).seconds.tolist() == [1.0, 2.0, 3.0]


def test_stamps_coarser_than_the_rows_lie_evenly(tmp_path: Path) -> None:
    times = [f"10:15:{30 + n // 5}" for n in range(50)]
    log = read(tmp_path, table(times))
    steps = log.channels[0].seconds
    assert steps.size == 50
    assert (steps[:6] - 36930).tolist() == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    assert any("laid evenly" in note for note in log.notes)


def test_what_is_no_log_is_told_what_to_do(tmp_path: Path) -> None:
    runs = (
        "session,set_point [rpm],double_run,direction,start,speed_over_ground [kn]\n"
        "S1,1000,1,out,2026-05-04T09:12,5.1\nS1,1000,1,back,2026-05-04T09:20,5.0\n"
    )
    for text, rule, said in (
        (runs, "log-is-run-table", "slackwater new trial"),
        ("time,sog\n10:00:00,5\n10:00:01,5\n", "log-columns-unknown", "the unit of 'sog' is not told"),
        ("time,foo\n10:00:00,5\n10:00:01,5\n", "log-columns-unknown", "its headings are 'time', 'foo'"),
        ("when,SOG [kn]\n1,5\n2,5\n", "log-columns-unknown", "no column of it that says when"),
        ("UTC,SOG [kn]\n101530,5\n101531,5\n", "log-columns-unknown", "no column of it that says when"),
    ):  # fmt: skip
        with pytest.raises(InputError) as caught:
            read(tmp_path, text)
        assert rule in str(caught.value)
        assert said in str(caught.value)


def test_blocks_do_not_show(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    times = [f"2025-06-14T10:{n // 60:02d}:{n % 60:02d}Z" for n in range(300)]
    whole = read(tmp_path, table(times))
    monkeypatch.setattr("slackwater.analysis.logs.opening.Opened.pieces", _small_pieces)
    small = read(tmp_path, table(times))
    assert small.channels[0].values.tolist() == whole.channels[0].values.tolist()
    assert small.channels[0].lines.tolist() == whole.channels[0].lines.tolist()


def _small_pieces(self, size: int = 0):  # type: ignore[no-untyped-def]
    whole = b"".join(self._raw(1 << 20))
    return (whole[at : at + 37] for at in range(0, len(whole), 37))


def test_the_command_tells_of_it(tmp_path: Path) -> None:
    path = tmp_path / "day.csv"
    path.write_text(table(["2025-06-14T10:15:30Z", "2025-06-14T10:15:31Z"]))
    assert "table of samples, 3 lines" in " ".join(str(slackwater.logs(path)).split())
