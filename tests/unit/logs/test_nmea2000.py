"""NMEA 2000 in its forms: the same invented messages, in each of them, give the same channels."""

from __future__ import annotations

import base64
import struct
from functools import reduce
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.forms import read_logs

START = 1750000000
KNOT = 3600 / 1852

Message = tuple[float, int, int, bytes]  # second, group, source, bytes


def identifier(group: int, source: int) -> int:
    return 2 << 26 | group << 8 | source | (0xFF << 8 if group & 0xFF00 < 0xF000 else 0)


def frames(messages: list[Message]) -> list[Message]:
    """As the bus has them: fast packets in several frames."""
    cut: list[Message] = []
    for number, (second, group, source, data) in enumerate(messages):
        if len(data) <= 8:
            cut.append((second, group, source, data))
            continue
        head = (number % 8) << 5
        cut.append((second, group, source, bytes([head, len(data)]) + data[:6]))
        for at, part in enumerate(range(6, len(data), 7), 1):
            piece = data[part : part + 7].ljust(7, b"\xff")
            cut.append((second, group, source, bytes([head | at]) + piece))
    return cut


def engine(fuel: int) -> bytes:
    return bytes([0]) + b"\xff" * 8 + struct.pack("<h", fuel) + b"\xff" * 13 + b"\x32\x7f"


MESSAGES: list[Message] = [
    message
    for s in range(20)
    for message in (
        (float(s), 129026, 9, b"\x01\xfd" + struct.pack("<HH", 15708, 300 + s) + b"\xff\xff"),
        (s + 0.25, 127488, 3, b"\x00" + struct.pack("<H", 4 * (1000 + s)) + b"\xff" * 5),
        (s + 0.5, 127489, 3, engine(100 + s)),
        (s + 0.75, 128259, 35, b"\x01" + struct.pack("<H", 280) + b"\xff" * 5),
    )
]


def joined_text(messages: list[Message]) -> str:
    def stamp(second: float) -> str:
        moment = np.datetime64(START * 1000 + int(second * 1000), "ms")
        return f"{moment}Z"

    return "".join(
        f"{stamp(s)},2,{g},{a},255,{len(d)},{','.join(f'{x:02x}' for x in d)}\n"
        for s, g, a, d in messages
    )


def candump(messages: list[Message]) -> str:
    return "".join(
        f"({START + s:.6f}) can0 {identifier(g, a):08X}#{d.hex().upper()}\n"
        for s, g, a, d in frames(messages)
    )


def spaced(messages: list[Message]) -> str:
    return "".join(
        f" ({START + s:.6f})  can0  {identifier(g, a):08X}   [{len(d)}]  {d.hex(' ').upper()}\n"
        for s, g, a, d in frames(messages)
    )


def bare(messages: list[Message]) -> str:
    return "".join(
        f"<0x{identifier(g, a):08x}> [{len(d)}] {d.hex(' ')} \n" for _, g, a, d in frames(messages)
    )


def coded(messages: list[Message]) -> str:
    return "".join(
        f"!PDGY,{g},2,{a},255,{int(s)}.{int(s % 1 * 1000)},{base64.b64encode(d).decode()}\r\n"
        for s, g, a, d in messages
    )


def capture(messages: list[Message]) -> bytes:
    out = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 227)
    for s, g, a, d in frames(messages):
        out += struct.pack("<IIII", START + int(s), int(s % 1 * 1e6), 16, 16)
        out += struct.pack(">IB3x", identifier(g, a) | 0x80000000, len(d)) + d.ljust(8, b"\0")
    return out


def read(tmp_path: Path, content: str | bytes) -> Log:
    path = tmp_path / "bus"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_logs(path)[0]


FORMS = {
    "joined": joined_text, "candump": candump, "spaced": spaced, "bare": bare, "base64": coded,
    "pcap": capture,
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_every_form_gives_the_same_values(form: str, tmp_path: Path) -> None:
    log = read(tmp_path, FORMS[form](MESSAGES))
    found = {(c.quantity, c.source): c for c in log.channels}
    assert_allclose(
        found["speed_over_ground", "129026 from 9"].values, (300 + np.arange(20)) * 0.01 * KNOT
    )
    assert_allclose(found["engine_speed", "127488 from 3 no. 0"].values, 1000 + np.arange(20))
    assert_allclose(found["fuel_flow", "127489 from 3 no. 0"].values, (100 + np.arange(20)) * 0.1)
    assert_allclose(found["engine_load", "127489 from 3 no. 0"].values, 50)
    assert ("engine_torque", "127489 from 3 no. 0") not in found
    assert ("course_over_ground_magnetic", "129026 from 9") in found
    seconds = found["fuel_flow", "127489 from 3 no. 0"].seconds
    if form != "bare":
        assert_allclose(np.diff(seconds), 1)
        assert log.clock == ("since start" if form == "base64" else "utc")
        assert_allclose(seconds[0], 0.5 + (0 if form == "base64" else START))
    else:
        assert log.clock == "none"


def dated(second: int) -> bytes:
    """System time, 126992: some seconds after the start, which is 15 June 2025, 15:06:40."""
    return struct.pack("<BBHI", 255, 240, START // 86400, (START % 86400 + second) * 10000)


def test_a_clock_without_a_date_takes_that_of_the_bus(tmp_path: Path) -> None:
    speed = struct.pack("<BBHHH", 0, 0xFC, 1000, 300, 0xFFFF)
    messages = [
        m for s in range(30) for m in ((s + 0.5, 126992, 9, dated(s)), (s + 0.7, 129026, 9, speed))
    ]
    log = read(tmp_path, coded(messages))
    assert log.clock == "utc"
    assert_allclose(
        next(log.of("speed_over_ground")).seconds, START + 0.2 + np.arange(30), atol=1e-6
    )


def test_a_date_that_stands_still_is_not_taken(tmp_path: Path) -> None:
    speed = struct.pack("<BBHHH", 0, 0xFC, 1000, 300, 0xFFFF)
    messages = [
        m for s in range(30) for m in ((s + 0.5, 126992, 9, dated(0)), (s + 0.7, 129026, 9, speed))
    ]
    log = read(tmp_path, coded(messages))
    assert log.clock == "since start"
    assert "does not go with the clock of the device" in " ".join(log.notes)


def test_a_counter_that_begins_anew(tmp_path: Path) -> None:
    """The base64 form counts to a thousand seconds."""
    speed = struct.pack("<BBHHH", 0, 0xFC, 1000, 300, 0xFFFF)
    log = read(tmp_path, coded([((990 + s) % 1000, 129026, 9, speed) for s in range(30)]))
    assert_allclose(next(log.of("speed_over_ground")).seconds, 990 + np.arange(30))


def test_dates_inside_sentences_date_the_log(tmp_path: Path) -> None:
    """A log of sentences with times of day alone, and the bus's date in PCDIN."""
    lines = []
    for s in range(15):
        body = f"PCDIN,01F010,00000000,09,{dated(s).hex().upper()}"
        for each in (f"GPGLL,5051.2400,N,00106.1200,W,{150640 + s},A", body):
            lines.append(f"${each}*{reduce(lambda a, b: a ^ b, each.encode()):02X}\r\n")
    log = read(tmp_path, "".join(lines))
    assert log.clock == "utc"
    assert_allclose(next(log.of("latitude")).seconds, START + np.arange(15))


def test_a_frame_that_is_missing_costs_its_message(tmp_path: Path) -> None:
    lines = candump(MESSAGES).splitlines(keepends=True)
    third = [i for i, line in enumerate(lines) if f"{identifier(127489, 3):08X}" in line][2]
    log = read(tmp_path, "".join(lines[:third] + lines[third + 1 :]))
    assert next(log.of("fuel_flow")).values.size == 19
    assert log.faults["frame of a message that is not whole"] == 3


@pytest.mark.parametrize(
    ("raw", "reason"),
    [
        ((0x7FFF).to_bytes(2, "little"), "marked as not available by what sent it"),
        ((0xFFFF).to_bytes(2, "little"), "marked as not available by what sent it"),
        ((0x7FFE).to_bytes(2, "little"), "marked as not available by what sent it"),
        (struct.pack("<h", -25), "value out of its range"),
    ],
)
def test_a_fuel_rate_that_is_none(raw: bytes, reason: str, tmp_path: Path) -> None:
    wrong = (99.0, 127489, 3, engine(100)[:9] + raw + engine(100)[11:])
    log = read(tmp_path, joined_text([*MESSAGES, wrong]))
    good = read(tmp_path, joined_text([*MESSAGES, (99.0, 127489, 3, engine(100))]))
    assert next(log.of("fuel_flow")).values.size == 20
    assert log.faults[reason] == good.faults.get(reason, 0) + 1


@pytest.mark.parametrize(
    "line",
    [
        "2026-05-04T09:12:00.000Z,2,129026,9,255,8,ff,fc,xx,1b,03,00,ff,ff",
        "2026-05-04T09:12:00.000Z,2,129026,9,255,8,ff,fc,e4",
        "2026-05-04T09:12:00.000Z,2,129026,9",
        "what is this",
        "2026-05-04T09:12:00.000Z,2,129026,9,255,8,ff,fc,e4,1b,03,00,ff,f",
    ],
)
def test_a_broken_line_is_counted(line: str, tmp_path: Path) -> None:
    log = read(tmp_path, joined_text(MESSAGES) + line + "\n")
    assert log.faults["line that is no message"] == 1
    assert next(log.of("speed_over_ground")).values.size == 20


def test_a_message_too_short_for_its_field(tmp_path: Path) -> None:
    short = (99.0, 128267, 9, b"\x00\x10\x00")
    log = read(tmp_path, joined_text([*MESSAGES, short]))
    assert log.faults["message shorter than its field"] == 1


def test_stamps_of_nine_digits_with_an_offset(tmp_path: Path) -> None:
    text = "2026-07-26T12:55:52.636298826-07:00,2,127488,131,255,8,00,0d,14,3c,00,00,00,00\n" * 2
    log = read(tmp_path, text)
    assert log.channels[0].seconds[0] == pytest.approx(1785095752.636299, abs=1e-6)


def test_a_capture_of_something_else_is_refused(tmp_path: Path) -> None:
    from slackwater import InputError

    other = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 1)
    with pytest.raises(InputError, match="link type 1"):
        read(tmp_path, other + b"\0" * 100)


def test_a_capture_cut_off(tmp_path: Path) -> None:
    log = read(tmp_path, capture(MESSAGES)[:-7])
    assert log.faults["record cut off"] == 1
    assert next(log.of("speed_over_ground")).values.size == 20


def test_winds_of_several_references_stay_apart(tmp_path: Path) -> None:
    winds = [
        (float(s), 130306, 9, b"\x00" + struct.pack("<HH", 500 + reference, 1000) + bytes([0xF8 | reference]) + b"\xff\xff")
        for s in range(5)
        for reference in (0, 2, 3, 4)
    ]  # fmt: skip
    log = read(tmp_path, joined_text(winds))
    sources = [c.source for c in log.of("wind_speed")]
    assert sources == [
        f"130306 from 9 {kind}" for kind in ("over the ground", "over the water", "to the boat")
    ]
    assert [c.values.size for c in log.of("wind_speed")] == [5, 5, 5]
    assert next(log.of("apparent_wind_speed")).values.size == 5


def test_a_rudder_without_a_number_is_of_its_own_sender(tmp_path: Path) -> None:
    angle = struct.pack("<h", 1000) + b"\xff\xff"
    rudders = [
        (float(s), 127245, source, bytes([number]) + b"\xff\xff\xff" + angle)
        for s in range(5)
        for source, number in ((5, 255), (6, 0), (6, 254))
    ]
    log = read(tmp_path, joined_text(rudders))
    assert [c.source for c in log.of("rudder_angle")] == [
        "127245 from 5", "127245 from 6 no. 0", "127245 from 6 no. 254"
    ]  # fmt: skip
    assert [c.values.size for c in log.of("rudder_angle")] == [5, 5, 5]


def test_a_course_without_a_reference_is_counted(tmp_path: Path) -> None:
    wrong = (99.0, 129026, 9, b"\x01\xff" + struct.pack("<HH", 15708, 300) + b"\xff\xff")
    log = read(tmp_path, joined_text([*MESSAGES, wrong]))
    assert next(log.of("course_over_ground_magnetic")).values.size == 20
    assert next(log.of("speed_over_ground")).values.size == 21
    assert log.faults["reference of a direction or wind not told"] == 1


def test_a_block_without_a_message_that_is_read(tmp_path: Path) -> None:
    for form in FORMS.values():
        log = read(tmp_path, form([(0.0, 126993, 9, bytes(8))]))
        assert log.channels == ()
        assert log.faults["parameter group that is not read"] == 1
