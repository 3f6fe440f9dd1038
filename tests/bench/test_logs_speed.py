"""Readers of logs against general-purpose parsers: both read the same file here, in turn, in this run.

Ten times as fast is asked and held. Measured were 15 to 18 of NMEA 0183, 11.7 to 13.5 of NMEA 2000, and 15 of GPX with
points of place, height and time; of a track whose points have more, such as extensions, 10.
"""

from __future__ import annotations

import gc
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from slackwater.analysis.logs.forms import read_logs

DATA = Path(os.environ.get("SLACKWATER_DATA", Path(__file__).parents[3] / "shared" / "data"))
pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="needs the open data, SLACKWATER_DATA")
#: What an analyst would take from each kind of sentence.
USED = {
    "RMC": ("timestamp", "datestamp", "status", "latitude", "longitude", "spd_over_grnd", "true_course", "mag_variation"),
    "VTG": ("true_track", "mag_track", "spd_over_grnd_kts", "spd_over_grnd_kmph", "faa_mode"),
    "GGA": ("timestamp", "latitude", "longitude", "gps_qual"),
    "GLL": ("timestamp", "latitude", "longitude", "status"),
    "ZDA": ("timestamp", "day", "month", "year"),
    "VHW": ("heading_true", "heading_magnetic", "water_speed_knots", "water_speed_km"),
    "HDT": ("heading",),
    "HDM": ("heading",),
    "HDG": ("heading", "deviation", "variation"),
    "MWV": ("wind_angle", "reference", "wind_speed", "wind_speed_units", "status"),
    "MWD": ("direction_true", "wind_speed_knots", "wind_speed_meters"),
    "DPT": ("depth", "offset"),
    "DBT": ("depth_meters",),
    "MTW": ("temperature",),
    "XDR": ("transducers",),
}  # fmt: skip


def ratio(theirs: Callable[[], object], ours: Callable[[], object], rounds: int = 2) -> float:
    """How many times as long theirs takes: least time of its thread in several turns of each.

    What the tests before have left in memory is kept from the collector of garbage meanwhile: a whole collection
    takes longer than a reader, and falls on whoever has its turn. Ours, the shorter one, has more turns, since a
    moment in which the machine does something else would weigh most on it.
    """

    def timed(work: Callable[[], object]) -> float:
        start = time.thread_time()
        work()
        return time.thread_time() - start

    ours()
    gc.collect()
    gc.freeze()
    both = [(timed(theirs), min(timed(ours) for _ in range(4))) for _ in range(rounds)]
    gc.unfreeze()
    return min(a for a, _ in both) / min(b for _, b in both)


def longer(path: Path, folder: Path, least: int = 3_000_000) -> Path:
    """The file repeated until it is long enough to be timed."""
    whole = path.read_bytes()
    made = folder / path.name
    made.write_bytes(whole * -(-least // len(whole)))
    return made


def pynmea2_values(path: Path) -> Iterator[object]:
    import contextlib

    import pynmea2

    with path.open(encoding="latin-1") as lines:
        for line in lines:
            at = line.find("$")
            if at < 0:
                continue
            try:
                message = pynmea2.parse(line[at:].strip(), check=True)
            except pynmea2.ParseError:
                continue
            for name in USED.get(getattr(message, "sentence_type", ""), ()):
                with contextlib.suppress(ValueError, AttributeError):
                    yield getattr(message, name)


@pytest.mark.parametrize("name", ["plaka_part1.log", "gps_still.log"])
def test_nmea_0183(name: str, tmp_path: Path) -> None:
    path = longer(DATA / "nmea0183-underway" / name, tmp_path)
    assert ratio(lambda: sum(1 for _ in pynmea2_values(path)), lambda: read_logs(path)) >= 10


def nmea2000_values(path: Path) -> Iterator[object]:
    from nmea2000.decoder import NMEA2000Decoder

    decoder = NMEA2000Decoder()
    with path.open(encoding="latin-1") as lines:
        for line in lines:
            try:
                message = decoder.decode(line.strip())
            except ValueError:
                continue
            if message is not None:
                yield message.fields


def test_nmea_2000_text() -> None:
    """Joined messages a line."""
    path = DATA / "nmea2000-underway" / "furuno-130842-wide-turn.raw"
    assert ratio(lambda: sum(1 for _ in nmea2000_values(path)), lambda: read_logs(path)) >= 10


def test_candump(tmp_path: Path) -> None:
    """The frames of a real bus, written as `candump -L` does."""
    source = (DATA / "nmea2000-text-forms" / "candumpSample1.txt").read_text("latin-1")
    frames = [line.split() for line in source.splitlines() if line.startswith("<0x")]
    path = tmp_path / "candump.log"
    path.write_text(
        "".join(
            f"({1700000000 + n / 500:.6f}) can0 {words[0][3:11].upper()}#{''.join(words[2:]).upper()}\n"
            for n, words in enumerate(frames * 5)
        )
    )
    assert ratio(lambda: sum(1 for _ in nmea2000_values(path)), lambda: read_logs(path)) >= 10


def test_gpx(tmp_path: Path) -> None:
    """Against gpxpy, on an invented track."""
    import gpxpy

    points = "".join(
        f'<trkpt lat="{50 + n / 1e5:.6f}" lon="-1.1"><ele>1</ele>'
        f"<time>2025-06-14T{n // 3600:02d}:{n // 60 % 60:02d}:{n % 60:02d}Z</time></trkpt>\n"
        for n in range(15000)
    )
    path = tmp_path / "a.gpx"
    head = '<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'
    path.write_text(f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>")
    assert ratio(lambda: gpxpy.parse(path.read_text()), lambda: read_logs(path)) >= 10
