"""Logs with bytes changed, lost and repeated: an answer or a refusal, never a fault of the program."""

from __future__ import annotations

import os
import random
from pathlib import Path

import numpy as np
import pytest

import slackwater

DATA = Path(os.environ.get("SLACKWATER_DATA", Path(__file__).parents[4] / "shared" / "data"))
SEEDS = (
    "nmea0183-underway/plaka_part1.log",
    "nmea0183-underway/bundg_zeus_9.log",
    "nmea0183-clocks/NBP1406_PCOD-2014-08-01",
    "nmea2000-underway/aava-n2k.data",
    "nmea2000-text-forms/candumpSample1.txt",
    "nmea2000-text-forms/actisense-522.candump.log",
    "nmea2000-text-forms/ikonvert.log",
    "nmea2000-text-forms/can0-1.pcap",
    "broken-real-files/testtcs_210614.tcx",
    "rowing-gps-impeller/cottwich.fit",
)
MARKS = b"$*,\n\r#!()[]<>0-9.:TZ\x00\xff "


def mangled(whole: bytes, draw: random.Random) -> bytes:
    data = bytearray(whole)
    for _ in range(draw.choice((1, 5, 60, 400))):
        at, what = draw.randrange(len(data)), draw.random()
        if what < 0.5:
            data[at] = draw.choice(MARKS)
        elif what < 0.7 and len(data) > 100:
            del data[at : at + draw.randrange(1, 40)]
        elif what < 0.9:
            data[at:at] = data[draw.randrange(len(data)) :][: draw.randrange(60)]
        else:
            data[at:at] = draw.randbytes(8)
    return bytes(data)


@pytest.mark.skipif(not DATA.is_dir(), reason="needs the open data, SLACKWATER_DATA")
@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", SEEDS)
def test_mangled_logs_are_read_or_refused(name: str, tmp_path: Path) -> None:
    whole, draw, path = (DATA / name).read_bytes()[:6000], random.Random(name), tmp_path / "a"
    answered = 0
    for _ in range(30):
        path.write_bytes(mangled(whole, draw))
        try:
            result = slackwater.logs(path)
        except slackwater.InputError:
            continue
        answered += 1
        assert str(result)
        for channel in result.logs[0].channels:
            assert np.isfinite(channel.values).all()
            assert (np.diff(channel.seconds) >= 0).all()
    assert answered
