"""GPX and TCX as programs write them, faults included (invented points)."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater import InputError
from slackwater.analysis.logs import tracks
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.forms import read_logs
from slackwater.analysis.logs.opening import BLOCK, Opened
from slackwater.analysis.logs.plain_points import PlainPoints

HEAD = '<?xml version="1.0"?>\n<gpx xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n'
TAIL = "</trkseg></trk></gpx>\n"


def point(second: int, more: str = "", lat: float = 50.85) -> str:
    return (
        f'<trkpt lat="{lat}" lon="-1.1"><time>2025-06-14T10:15:{second:02d}Z</time>{more}</trkpt>\n'
    )


def read(tmp_path: Path, text: str | bytes) -> Log:
    path = tmp_path / "a"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_logs(path)[0]


def test_points_and_their_extensions(tmp_path: Path) -> None:
    more = "<extensions><x:cog xmlns:x='urn:x'>84.0</x:cog><depth>3.5</depth></extensions>"
    log = read(tmp_path, HEAD + "".join(point(s, more) for s in range(5)) + TAIL)
    assert (log.form, log.clock, log.lines) == ("GPX", "utc", 5)
    assert [c.quantity for c in log.channels] == [
        "course_over_ground", "latitude", "longitude", "water_depth"
    ]  # fmt: skip
    assert_allclose(log.channels[1].seconds, 1749896100.0 + np.arange(5))


def test_a_number_too_large_for_its_unit_is_none_and_counted(tmp_path: Path) -> None:
    """Metres a second that are no number of knots."""
    point = "<Trackpoint><Time>2025-06-14T10:15:0{}Z</Time><Speed>{}</Speed></Trackpoint>"
    points = "".join(point.format(n, speed) for n, speed in enumerate(("4.0", "1.7e308", "5.0")))
    log = read(tmp_path, f"<TrainingCenterDatabase>{points}</TrainingCenterDatabase>")
    (speed,) = log.channels
    assert_allclose(speed.values, np.array([4.0, 5.0]) * 3600 / 1852)
    assert log.faults[tracks.NO_NUMBER] == 1


@pytest.mark.parametrize("before", ["\ufeff", "          ", "\n\n"], ids=["BOM", "blanks", "lines"])
def test_what_stands_before_the_declaration(before: str, tmp_path: Path) -> None:
    assert read(tmp_path, before + HEAD + point(1) + TAIL).channels


def test_a_text_that_a_block_of_the_file_ends_in_is_whole(tmp_path: Path) -> None:
    """Wherever the end of a block falls in a point."""
    last = point(2)
    for back in range(2, len(last)):
        fill = BLOCK - back - len(HEAD + point(1)) - len("<!---->")
        log = read(tmp_path, f"{HEAD}{point(1)}<!--{'x' * fill}-->{last}{TAIL}")
        assert_allclose(log.channels[0].seconds, 1749896100.0 + np.array([1, 2]))


ODD = (
    "<!--", "-->", "<![CDATA[", "<?x ", '<trkpt lat="50.86" lon="-1.1">', "</trkpt>",
    "<!-- " + point(3) + " -->", "<!-", "<![CDATA[" + point(3) + "]]>", "<?x " + point(3) + " ?>", "</trkseg><trkseg>",
    '<trkpt lat="50.86" lon="-1.1"/>', "<trkpt lat='50.86' lon='-1.1'></trkpt>", '<trkpt lat="" lon="-1.1"></trkpt>',
    '<trkpt lon="-1.1" lat="50.86"></trkpt>', '<trkpt lat="5x" lon="-1.1"></trkpt>', "text", point(4, "<depth>3</depth>"),
    point(4, "<x:cog>84</x:cog>"), point(4, "<time>2025-06-14T10:15:59Z</time>"), point(4, "<sat>9</hdop>"), "<a>",
    point(4, "<sat>9</sat><fix>3d</fix>"), '<trkpt lat="50.9" lon="-1.1"><time></time></trkpt>', "</trk></gpx>",
    '<trkpt lat="50.9" lon="-1.1"><time>25-6</time></trkpt>', '<g:trkpt lat="50.9" lon="1"></g:trkpt>', "&amp;", "\x0b",
    point(4).replace("><", ">\n  <"), "<gpx></gpx>", "<extensions>" + point(5) + "</extensions>", "<trkpt ", "\xe9",
)  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_plain_points_are_read_as_all_others(
    seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside whatever stands between them, wherever blocks end: as by the parser alone."""
    rng = random.Random(seed)
    parts = [point(s % 60, lat=50 + s / 100) for s in range(40)]
    for odd in rng.sample(ODD, rng.choice((0, 1, 1, 2, 4))):
        parts.insert(rng.randrange(len(parts)), odd)
    text = HEAD + "".join(parts) + TAIL
    size = rng.choice((97, 400, 1500, 10**6))

    def pieces(opened: Opened) -> Iterator[bytes]:
        data = text.encode()
        return (data[at : at + size] for at in range(0, len(data), size))

    monkeypatch.setattr(tracks, "_mended", pieces)
    found = read(tmp_path, text)
    monkeypatch.setattr(PlainPoints, "split", lambda _, piece: (piece, b"", b"", {}))
    alone = read(tmp_path, text)
    assert (found.lines, found.faults, found.notes) == (alone.lines, alone.faults, alone.notes)
    assert repr(found.channels) == repr(alone.channels)
    assert all(
        np.array_equal(a.values, b.values)
        for a, b in zip(found.channels, alone.channels, strict=True)
    )


def test_most_points_of_a_file_are_plain(tmp_path: Path) -> None:
    _, plain, _, columns = PlainPoints().split((HEAD + point(1) + point(2) + TAIL).encode())
    assert plain == (point(1) + point(2)).strip().encode()
    assert columns["lat"] == ["50.85", "50.85"]


def test_a_mark_that_two_blocks_part_is_seen() -> None:
    for begins in ("<!--", "<?x "):
        blocks = PlainPoints()
        blocks.split((HEAD + begins[:1]).encode())
        assert not blocks.split((begins[1:] + point(1)).encode())[3]
        assert not blocks.split(point(2).encode())[3]


def test_a_speed_without_a_unit_is_left_out_and_said(tmp_path: Path) -> None:
    log = read(tmp_path, HEAD + point(1, "<extensions><speed>12.4</speed></extensions>") + TAIL)
    assert not list(log.of("speed_over_ground"))
    assert log.faults["speed in a unit that the file does not tell"] == 1
    old = read(tmp_path, HEAD.replace("1/1", "1/0") + point(1, "<speed>3.0</speed>") + TAIL)
    assert_allclose(next(old.of("speed_over_ground")).values, 3.0 * 3600 / 1852)


def test_points_that_do_not_stand(tmp_path: Path) -> None:
    text = (
        HEAD + point(1) + point(1) + point(2, lat=0).replace("-1.1", "0.0")
        + '<trkpt lat="50.85" lon="-1.1"></trkpt>' + point(3, lat=91) + point(4) + TAIL
    )  # fmt: skip
    log = read(tmp_path, text)
    assert next(log.of("latitude")).values.size == 2
    for reason in ("point at the time of the one before", "position 0, 0", "point without a time"):
        assert log.faults[reason] >= 1, reason


def test_no_times_at_all(tmp_path: Path) -> None:
    log = read(tmp_path, HEAD + '<trkpt lat="50.85" lon="-1.1"/>\n' * 3 + TAIL)
    assert log.clock == "none"
    assert next(log.of("latitude")).values.size == 3


def test_a_pause_between_segments_is_a_gap(tmp_path: Path) -> None:
    """Nothing is laid between two segments: no point is made up, and the pause is told."""
    first, second = ("".join(point(s) for s in part) for part in (range(10), range(40, 50)))
    log = read(tmp_path, f"{HEAD}{first}</trkseg><trkseg>{second}{TAIL}")
    (latitude,) = log.of("latitude")
    assert latitude.values.size == 20
    assert np.diff(latitude.seconds).max() == 31.0


def test_a_file_cut_off_gives_what_is_whole(tmp_path: Path) -> None:
    log = read(tmp_path, HEAD + "".join(point(s) for s in range(9)) + "<trkpt lat=")
    assert next(log.of("latitude")).values.size == 9
    assert any("breaks off" in note for note in log.notes)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8"])
def test_the_encoding_that_it_says(encoding: str, tmp_path: Path) -> None:
    text = read_head(encoding) + "".join(point(s) for s in range(3)) + "</trkseg></trk></gpx>"
    assert next(read(tmp_path, text.encode(encoding)).of("latitude")).values.size == 3


def test_an_encoding_that_nobody_knows(tmp_path: Path) -> None:
    log = read(tmp_path, read_head("no-such") + point(1) + "</trkseg></trk></gpx>")
    assert not log.channels
    assert "breaks off or is broken" in " ".join(log.notes)


def read_head(encoding: str) -> str:
    return (
        f'<?xml version="1.0" encoding="{encoding}"?>'
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    )


def test_nul_bytes_cost_nothing(tmp_path: Path) -> None:
    text = HEAD + point(1, "<name>abc\0\0</name>") + point(2) + TAIL
    assert next(read(tmp_path, text).of("latitude")).values.size == 2


def test_declared_entities_are_refused(tmp_path: Path) -> None:
    bomb = '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaa">]><gpx><trk/></gpx>'
    with pytest.raises(InputError, match="declares entities"):
        read(tmp_path, bomb)
