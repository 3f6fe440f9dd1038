"""Peak memory of readers, each in a process of its own: logs stream, and a longer one takes hardly more.

Asked are 64 MiB above the imports, and of the whole process at most 1.2 times as much for a log four times as long; the
latter of long ones, as `full`. What grows is the values that a log holds for good, and hardly anything besides: above the
imports, where reading takes 8 to 18 MiB, a log of 20 MiB takes 1.2 to 1.4 times what one of 5 MiB takes; its values
alone are up to a fifth of that.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the peak is read from /proc")

MOST = 64  # [MiB] above the imports
GROWTH = 1.2
CHILD = """
import sys
from slackwater.analysis.logs.forms import read_logs
def peak():  # that of getrusage would be the parent's, where that had more
    return next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
read_logs(sys.argv[1])
before = peak()
(log,) = read_logs(sys.argv[2])
assert log.channels and log.lines > 1000
whole = (each if each.base is None else each.base for c in log.channels for each in (c.seconds, c.values, c.lines))
held = {id(each): memoryview(each).nbytes for each in whole}
print(peak(), before, sum(held.values()) // 1024)
"""


def _clock(n: int) -> str:
    return f"{n // 3600 % 24:02d}{n // 60 % 60:02d}{n % 60:02d}"


def sentences(n: int) -> str:
    """Ten sentences a second, as a busy boat has them, one of them read for its speed."""
    more = "".join(f"$GPGSV,3,{k},12,01,40,083,46,02,17,308,41,12,07,344,39,14,22,228,45\r\n" for k in range(8))  # fmt: skip
    day = 14 + n // 86400
    return (
        f"$GPRMC,{_clock(n)},A,5051.2400,N,00106.1200,W,6.{n % 9},084.0,{day:02d}0625,,,A\r\n{more}"
    )


def candump(n: int) -> str:
    """A bus of which one frame in ten is read."""
    stamp = 1_749_896_130 + n
    more = "".join(f"({stamp}.{k:06d}) can0 1DEFFF17#FFFFFFFFFFFFFFFF\n" for k in range(1, 10))
    return f"({stamp}.000000) can0 09F80217#00FCE8032C01FFFF\n{more}"


def table(n: int) -> str:
    """Twelve columns, two of them read."""
    stamp = f"{_clock(n)[:2]}:{_clock(n)[2:4]}:{_clock(n)[4:]}"
    return f"2025-06-{14 + n // 86400:02d}T{stamp}Z,6.{n % 9},{80 + n % 9}" + ",123.456" * 10 + "\n"


def track(n: int) -> str:
    stamp = f"{_clock(n)[:2]}:{_clock(n)[2:4]}:{_clock(n)[4:]}"
    return (
        f'<trkpt lat="50.{n % 99999:05d}" lon="-1.1"><ele>1.2</ele><time>2025-06-{14 + n // 86400:02d}T{stamp}Z</time>'
        '<sat>9</sat><hdop>0.9</hdop><vdop>1.3</vdop><pdop>1.6</pdop><fix>3d</fix></trkpt>\n'
    )  # fmt: skip


HEADS = {
    "table": "time,SOG [kn],COG [deg]," + ",".join("abcdefghij") + "\n",
    "track": '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n',
}
FORMS: dict[str, Callable[[int], str]] = {
    "sentences": sentences, "candump": candump, "table": table, "track": track
}  # fmt: skip


def log(folder: Path, form: str, size: float) -> Path:
    """A log of about so many MiB."""
    path, make = folder / f"{form}-{size:g}.log", FORMS[form]
    lines = int(size * (1 << 20) / len(make(0)))
    with path.open("w", encoding="ascii") as out:
        out.write(HEADS.get(form, ""))
        out.writelines(map(make, range(lines)))
    return path


def peak(folder: Path, form: str, size: float) -> tuple[float, float, float]:
    """Peak memory above the imports, all of it, and what the log holds of it. [MiB]"""
    words = [
        sys.executable,
        "-c",
        CHILD,
        str(log(folder, form, 0.02)),
        str(log(folder, form, size)),
    ]
    done = subprocess.run(words, check=True, capture_output=True, text=True, env=dict(os.environ))
    most, before, held = map(int, done.stdout.split())
    return (most - before) / 1024, most / 1024, held / 1024


@pytest.mark.parametrize("form", FORMS)
def test_a_log_does_not_fill_the_memory(form: str, tmp_path: Path) -> None:
    """Six MiB of it: all at once, cell by cell, would take ten times as much."""
    above, _, _ = peak(tmp_path, form, 6)
    assert above <= MOST


@pytest.mark.full
@pytest.mark.parametrize("form", FORMS)
def test_a_log_four_times_as_long_takes_hardly_more(form: str, tmp_path: Path) -> None:
    (short, of_all, held), (long, of_four, more) = (peak(tmp_path, form, size) for size in (5, 20))
    print(
        f"{form}: {short:.1f} and {long:.1f} MiB above the imports, {of_all:.0f} and {of_four:.0f} in all; "
        f"{held:.1f} and {more:.1f} are held"
    )
    assert long <= MOST
    assert of_four <= GROWTH * of_all
    assert (
        long - short <= 2 * (more - held) + 2.0
    )  # what is freed is not given back to the last page
