"""NMEA 2000 of real boats: against nmea2000 (a general-purpose library), and an open description."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from nmea2000.decoder import NMEA2000Decoder

import slackwater
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.parameter_groups import FAST, GROUPS

KNOT = 3600 / 1852
DEGREES = 180 / np.pi
#: What the library calls each quantity, and its unit in that of the channel.
NAMES: dict[tuple[str, int], tuple[str, float, float]] = {
    ("speed_over_ground", 129026): ("sog", KNOT, 0),
    ("course_over_ground", 129026): ("cog", DEGREES, 0),
    ("course_over_ground_magnetic", 129026): ("cog", DEGREES, 0),
    ("speed_through_water", 128259): ("speedWaterReferenced", KNOT, 0),
    ("heading", 127250): ("heading", DEGREES, 0),
    ("heading_magnetic", 127250): ("heading", DEGREES, 0),
    ("engine_speed", 127488): ("speed", 1, 0),
    ("fuel_flow", 127489): ("fuelRate", 1, 0),
    ("latitude", 129025): ("latitude", 1, 0),
    ("longitude", 129025): ("longitude", 1, 0),
    ("water_depth", 128267): ("depth", 1, 0),
    ("apparent_wind_speed", 130306): ("windSpeed", KNOT, 0),
    ("apparent_wind_angle", 130306): ("windAngle", DEGREES, 0),
    ("rate_of_turn", 127251): ("rate", DEGREES * 60, 0),
    ("heel", 127257): ("roll", DEGREES, 0),
    ("trim", 127257): ("pitch", DEGREES, 0),
}
JOINED = (
    "nmea2000-underway/aava-n2k.data",
    "nmea2000-underway/furuno-130842.raw",
    "nmea2000-underway/susteranna-actisense-serial.raw",
    "nmea2000-underway/triton-engine-setup.all",
    "nmea2000-underway/boatkit-yanmar-controls.raw",
    "nmea2000-underway/pgn127489.txt",
)


def log_of(path: Path) -> Log:
    return slackwater.logs(path).logs[0]


def basic(line: str) -> str:
    """A line with a stamp that the library reads: it is told apart by the line, not by the time."""
    return "2024-01-01T00:00:00.000Z," + line.split(",", 1)[1]


def held(log: Log, text: Callable[[int], str]) -> int:
    """Hold every value against the library's; returns how many."""
    decoder, count, seen = NMEA2000Decoder(), 0, dict[int, dict[str, Any]]()
    for channel in log.channels:
        group = int(channel.source.split()[0])
        name = NAMES.get((channel.quantity, group))
        if name is None:
            continue
        theirs = []
        for line in channel.lines.tolist():
            if line not in seen:
                message = decoder.decode(text(line))
                assert message is not None
                seen[line] = {field.id: field.value for field in message.fields}
            theirs.append(seen[line][name[0]])
        expected = np.array(theirs, float) * name[1] + name[2]
        np.testing.assert_allclose(
            channel.values, expected, rtol=1e-9, atol=1e-9, err_msg=channel.quantity
        )
        count += len(theirs)
    return count


@pytest.mark.parametrize("name", JOINED)
def test_values_are_those_of_the_library(name: str, measured: Callable[[str], Path]) -> None:
    path = measured(name)
    lines = path.read_text(encoding="latin-1").split("\n")
    assert held(log_of(path), lambda line: basic(lines[line - 1].strip())) >= 2


def test_base64_values_are_those_of_the_library(measured: Callable[[str], Path]) -> None:
    path = measured("nmea2000-text-forms/ikonvert.log")
    lines = path.read_text(encoding="latin-1").split("\n")
    assert held(log_of(path), lambda line: lines[line - 1].strip()) > 5000


def test_messages_inside_sentences_are_those_of_the_library(
    measured: Callable[[str], Path],
) -> None:
    """PCDIN. The same messages as MXPGN are counted: twice the values would be half the noise."""
    path = measured("broken-real-files/marulc_nmea_test_log.txt")
    log, lines = log_of(path), path.read_text("latin-1").splitlines()
    carried = [channel for channel in log.channels if "PCDIN" in channel.source]
    assert {c.source for c in carried if c.quantity == "engine_speed"} == {
        "127488 from 56 in PCDIN no. 0",
        "127488 from 86 in PCDIN no. 1",
    }
    assert held(replace(log, channels=tuple(carried)), lambda line: lines[line - 1]) > 660
    assert sum(c.values.size for c in carried if c.quantity == "engine_speed") == 350
    assert (
        log.faults["NMEA 2000 in a sentence (MXPGN) that does not tell the order of its bytes"]
        == 467
    )
    assert log.faults["parameter group that is not read"] == 117


def by_id(groups: list[dict[str, Any]], number: int) -> dict[str, Any]:
    return next(group for group in groups if group["PGN"] == number)


def test_fields_are_those_of_an_open_description(measured: Callable[[str], Path]) -> None:
    """Place, size, sign and step of every field, as canboat.json (see SOURCE.md) has them."""
    groups = json.loads(measured("pgn-definitions/canboat.json").read_text("utf-8"))["PGNs"]
    steps = {"kn": KNOT, "deg": DEGREES, "deg/min": DEGREES * 60}
    from slackwater.protocol.catalogue.logged import UNITS

    for number, fields in GROUPS.items():
        described = by_id(groups, number)
        assert (described["Type"] == "Fast") == (number in FAST), number
        for field in fields:
            theirs = next(
                f for f in described["Fields"]
                if f.get("BitOffset") == 8 * field.byte and f.get("BitLength") == 8 * field.size
            )  # fmt: skip
            assert theirs.get("Signed", False) == field.signed, (number, theirs["Name"])
            scale = steps.get(UNITS[field.quantity], 1.0)
            if theirs.get("Unit") == "deg":
                scale = 1.0
            assert field.step == pytest.approx(theirs["Resolution"] * scale, rel=1e-4), theirs[
                "Name"
            ]


def test_not_available_is_no_value(measured: Callable[[str], Path]) -> None:
    """Source 160 sends 597 water speeds without a value; fuel is FFFF in all 102 messages."""
    aava = log_of(measured("nmea2000-underway/aava-n2k.data"))
    assert [c.source for c in aava.of("speed_through_water")] == ["128259 from 115"]
    assert aava.faults["marked as not available by what sent it"] == 597
    dirona = log_of(measured("broken-real-files/dirona-first8000.raw"))
    assert not list(dirona.of("fuel_flow"))


def test_sources_told_in_the_source(measured: Callable[[str], Path]) -> None:
    """Medians of five water speeds and two ground speeds, as SOURCE.md has them. [m/s]"""
    log = log_of(measured("nmea2000-underway/triton-engine-setup.all"))
    water = {c.source[-2:]: np.median(c.values) / KNOT for c in log.of("speed_through_water")}
    assert water == pytest.approx({"33": 0, "34": 0, "35": 3.32, "36": 0, "38": 3.61}, abs=0.006)
    ground = sorted(float(np.median(c.values)) / KNOT for c in log.of("speed_over_ground"))
    assert ground == pytest.approx([3.99, 4.06], abs=0.006)


def test_water_and_ground_speed_under_sail(measured: Callable[[str], Path]) -> None:
    log = log_of(measured("nmea2000-underway/aava-n2k.data"))
    ground, water = next(log.of("speed_over_ground")), next(log.of("speed_through_water"))
    assert ground.values.min() / KNOT == pytest.approx(2.93, abs=0.005)
    assert ground.values.max() / KNOT == pytest.approx(3.75, abs=0.005)
    at = np.interp(ground.seconds, water.seconds, water.values)
    assert (ground.values - at).mean() / KNOT == pytest.approx(0.156, abs=0.005)


def test_a_capture_whose_clock_jumps(measured: Callable[[str], Path]) -> None:
    """The clock goes back by 13.9 days at frame 972 and forward again at 1 403 (SOURCE.md)."""
    log = log_of(measured("nmea2000-text-forms/can0-1.pcap"))
    assert log.clock == "utc"
    assert log.span is not None
    assert log.span[1] - log.span[0] == pytest.approx(60, abs=1)
    assert any("furthest step back 1197906" in note for note in log.notes)
    magnetic = [c.source for c in log.of("course_over_ground_magnetic")]
    assert magnetic == ["129026 from 127"]
    lost = np.arange(972, 1403)
    assert not any(np.isin(c.lines, lost).any() for c in log.channels)


def test_frames_of_old_candump_without_time(measured: Callable[[str], Path]) -> None:
    log = log_of(measured("nmea2000-text-forms/candumpSample1.txt"))
    assert log.clock == "none"
    assert next(log.of("speed_over_ground")).values.size > 300


def test_a_device_that_counts_from_its_start(measured: Callable[[str], Path]) -> None:
    """The date is that of 126992 on the same bus: 17823 days (hexadecimal 459F), as its bytes have it."""
    log = log_of(measured("nmea2000-text-forms/ikonvert.log"))
    assert log.clock == "utc"
    assert "the date is that of 126992 from 2" in " ".join(log.notes)
    heading = next(log.of("heading_magnetic"))
    assert heading.seconds[0] // 86400 == 0x459F
    assert np.median(np.diff(heading.seconds)) == pytest.approx(0.1, abs=0.02)
