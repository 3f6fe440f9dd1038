"""NMEA 0183 of real boats: values as pynmea2 (a general-purpose parser) reads them, line by line."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pynmea2
import pytest

import slackwater
from slackwater.analysis.logs.channels import Log

KNOT = 3600 / 1852
FILES = (
    "nmea0183-underway/plaka_part1.log",
    "nmea0183-underway/bundg_zeus_9.log",
    "nmea0183-underway/gofree-merrimac.log",
    "nmea0183-underway/gps_still.log",
    "nmea0183-underway/humminbird-M37.log",
    "nmea0183-clocks/NBP1406_PCOD-2014-08-01",
    "broken-real-files/firefly-II.log",
    "broken-real-files/gp-320fw-2019-04-06-overflow.log",
    "broken-real-files/gp-320fw-2019-04-07-coldboot.log",
    "broken-real-files/marulc_nmea_test_log.txt",
)
#: Our quantity: what pynmea2 calls it in each kind of sentence.
NAMES: dict[tuple[str, str], str] = {
    ("speed_over_ground", "RMC"): "spd_over_grnd",
    ("speed_over_ground", "VTG"): "spd_over_grnd_kts",
    ("course_over_ground", "RMC"): "true_course",
    ("course_over_ground", "VTG"): "true_track",
    ("speed_through_water", "VHW"): "water_speed_knots",
    ("heading", "VHW"): "heading_true",
    ("heading_magnetic", "VHW"): "heading_magnetic",
    ("heading_magnetic", "HDG"): "heading",
    ("heading_magnetic", "HDM"): "heading",
    ("latitude", "RMC"): "latitude",
    ("latitude", "GGA"): "latitude",
    ("latitude", "GLL"): "latitude",
    ("longitude", "RMC"): "longitude",
    ("longitude", "GGA"): "longitude",
    ("longitude", "GLL"): "longitude",
    ("water_temperature", "MTW"): "temperature",
    ("wind_direction", "MWD"): "direction_true",
    ("engine_speed", "RPM"): "speed",
    ("rate_of_turn", "ROT"): "rate_of_turn",
    ("water_depth", "DBT"): "depth_meters",
}


def parsed(path: Path) -> dict[int, Any]:
    """Every sentence with a right checksum, by its line."""
    found = {}
    for number, line in enumerate(path.read_bytes().split(b"\n"), 1):
        text = line.decode("latin-1")
        at = text.rfind("$")
        if at < 0 or text.startswith(("#", "!")):
            continue
        try:
            found[number] = pynmea2.parse(text[at:].strip(), check=True)
        except pynmea2.ParseError:
            continue
    return found


def compared(log: Log, sentences: dict[int, Any]) -> dict[str, int]:
    """How many values of each quantity were held against pynmea2's."""
    counts: dict[str, int] = defaultdict(int)
    for channel in log.channels:
        kind = channel.source.split()[1]
        name = NAMES.get((channel.quantity, kind))
        if name is None:
            continue
        theirs = [float(getattr(sentences[line], name)) for line in channel.lines.tolist()]
        np.testing.assert_array_equal(channel.values, theirs, f"{channel.quantity} {kind}")
        counts[channel.quantity] += len(theirs)
    return counts


@pytest.mark.parametrize("name", FILES)
def test_values_are_those_of_pynmea2(name: str, measured: Callable[[str], Path]) -> None:
    """In the cold start just 4 values are left to compare; in each of the others 92 or more.

    Its date goes from 2019 over 2006 and 2010 to 1999, and void or cut sentences make up the rest: what
    was before the restart lies years from most of its times. Two VTG, which carry no time, are kept, and
    have that of the first sentence after the restart with a date: more than the file can tell.
    """
    path = measured(name)
    counts = compared(slackwater.logs(path).logs[0], parsed(path))
    assert sum(counts.values()) >= (4 if "coldboot" in name else 92)


@pytest.mark.parametrize("name", FILES[:6])
def test_no_value_is_lost(name: str, measured: Callable[[str], Path]) -> None:
    """Every speed that pynmea2 finds in sentences that stand by it is there."""
    path = measured(name)
    log, sentences = slackwater.logs(path).logs[0], parsed(path)
    cut = log.faults.get("clock off: a time that was over already, or days away", 0)
    for kind in ("RMC", "VTG", "VHW"):
        quantity = "speed_through_water" if kind == "VHW" else "speed_over_ground"
        field = NAMES[quantity, kind]
        theirs = sum(
            m.sentence_type == kind
            and getattr(m, field) not in (None, "")
            and (kind != "RMC" or m.status == "A")
            for m in sentences.values()
            if isinstance(m, pynmea2.TalkerSentence)
        )
        ours = sum(c.values.size for c in log.of(quantity) if c.source.endswith(kind))
        assert ours == theirs or (cut and theirs - cut <= ours <= theirs), (kind, ours, theirs)


def test_faults_told_in_the_source_are_counted(measured: Callable[[str], Path]) -> None:
    """Counts as SOURCE.md beside each file tells them."""
    firefly = slackwater.logs(measured("broken-real-files/firefly-II.log")).logs[0]
    assert firefly.faults["checksum wrong"] == 23
    assert next(firefly.of("speed_over_ground")).values.size == 23
    merrimac = slackwater.logs(measured("nmea0183-underway/gofree-merrimac.log")).logs[0]
    assert merrimac.faults["sentence of the '!' kind (AIS), of other ships"] == 1507


def test_the_week_that_went_round(measured: Callable[[str], Path]) -> None:
    """1 August 2014 by the logger; the receiver says 16 December 1994."""
    log = slackwater.logs(measured("nmea0183-clocks/NBP1406*")).logs[0]
    assert {c.repaired for c in log.channels} == {"1024 weeks added"}
    midnight = 1406851200.0  # 2014-08-01T00:00:00Z
    speed = next(c for c in log.of("speed_over_ground") if c.source == "GP RMC")
    assert speed.seconds[0] == pytest.approx(midnight - 0.774)
    assert np.diff(speed.seconds).max() < 3
    assert (np.diff(speed.seconds) > 0).all()


def test_a_clock_that_steps_back_is_cut(measured: Callable[[str], Path]) -> None:
    log = slackwater.logs(measured("nmea0183-underway/humminbird-M37.log")).logs[0]
    assert log.faults["clock off: a time that was over already, or days away"] > 0


def test_a_yacht_under_way(measured: Callable[[str], Path]) -> None:
    """Means as SOURCE.md has them: STW 5.82 kn, SOG less STW −0.26, over 2 366 cycles.

    It has an SD of 0.16. Each VHW with the VTG of its own cycle, as pynmea2 reads them, gives 0.1547, which
    is held here; how 0.16 was counted is not known.
    """
    path = measured("nmea0183-underway/plaka_part1.log")
    log = slackwater.logs(path).logs[0]
    water, ground = next(log.of("speed_through_water")), next(log.of("speed_over_ground"))
    np.testing.assert_array_equal(water.seconds, ground.seconds)
    under_way = water.values > 3
    assert under_way.sum() == 2366
    assert water.values[under_way].mean() == pytest.approx(5.82, abs=0.005)
    difference = (ground.values - water.values)[under_way]
    assert difference.mean() == pytest.approx(-0.26, abs=0.005)
    sentences = parsed(path).values()
    theirs = {
        kind: [float(getattr(m, field)) for m in sentences if m.sentence_type == kind]
        for kind, field in (("VHW", "water_speed_knots"), ("VTG", "spd_over_grnd_kts"))
    }
    both = np.array([theirs["VTG"], theirs["VHW"]])[:, np.array(theirs["VHW"]) > 3]
    assert difference.std() == pytest.approx(np.std(both[0] - both[1]), abs=1e-9)
    assert difference.std() == pytest.approx(0.1547, abs=0.00005)
