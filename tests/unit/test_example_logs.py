"""The example that is cut from its logs, held against what its script knows: runs, a broken one, a leg that nobody
planned, midnight; and every line of the logs accounted for. Invented, and no proof of how well runs are found."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest
from test_examples import EXAMPLES, generator

import slackwater
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.forms import read_logs
from slackwater.analysis.steady.cut_result import CutResult

FOLDER = EXAMPLES / "spray-rails-from-logs"
LOGS = sorted((FOLDER / "logs").iterdir())
FRAMES = 4  # of a message of 26 bytes: 6 in the first frame and 7 in each that follows


@pytest.fixture(scope="module")
def cut() -> CutResult:
    return slackwater.cut(FOLDER / "trial.yaml")


def lines(path: Path) -> list[bytes]:
    return gzip.decompress(path.read_bytes()).split(b"\r\n")[:-1]


def with_values(log: Log) -> set[int]:
    """The lines that any channel has a value of."""
    return {line for channel in log.channels for line in channel.lines.tolist()}


def test_the_script_makes_the_logs_that_are_shipped(tmp_path: Path) -> None:
    """But for how they are packed: another version of the library may pack the same otherwise."""
    generator().spray_rails(tmp_path)
    made = sorted((tmp_path / FOLDER.name / "logs").iterdir())
    assert [path.name for path in made] == [path.name for path in LOGS]
    for mine, shipped in zip(made, LOGS, strict=True):
        assert lines(mine) == lines(shipped), mine.name
    assert sum(path.stat().st_size for path in LOGS) < 500_000


def test_every_run_that_was_made_is_found_and_no_other(cut: CutResult) -> None:
    made = generator().outings()
    for each in cut.sessions:
        runs, true = each.cut.runs, made[each.span.session].runs
        assert [(run.set_point, run.direction) for run in runs] == [
            (run.point, run.direction) for run in true
        ]
        assert not any(run.set_aside for run in runs)
        assert not each.cut.missing
        off = [run.start - one.start for run, one in zip(runs, true, strict=True)]
        assert max(abs(seconds) for seconds in off) < 20.0
        speeds = [run.readings["speed_over_ground"].value for run in runs]
        # One stretch of a leg has other waves in it than another, and the receiver has its noise.
        assert speeds == pytest.approx([run.speed for run in true], abs=0.1)


def test_what_was_no_run_has_its_reason(cut: CutResult) -> None:
    left = {
        each.span.session: [(one.near, one.reason.partition(":")[0]) for one in each.cut.left_out]
        for each in cut.sessions
    }
    broken_off = {name: [near for near, _ in found if near] for name, found in left.items()}
    assert broken_off == {"L1": [], "L2": [], "L3": [2400.0], "L4": [], "L5": [], "L6": []}
    assert (2400.0, "too short") in left["L3"]
    unplanned = [name for name, found in left.items() if (None, "not planned") in found]
    assert unplanned == ["L4"]


def test_midnight_falls_into_a_session(cut: CutResult) -> None:
    for name in ("L1", "L2", "L4", "L6"):
        runs = next(each.cut.runs for each in cut.sessions if each.span.session == name)
        assert runs[0].start // 86400 + 1 == runs[-1].start // 86400
        assert {cut.clock(run.start)[:10] for run in runs} == {cut.clock(runs[0].start)[:10]}


def test_the_true_change_lies_within_its_interval() -> None:
    make = generator()
    found = slackwater.analyse(FOLDER / "trial.yaml").comparisons
    speed = found[(found["quantity"] == "speed")].set_index("at")
    for point in (1400.0, 1900.0, 2400.0, 2900.0):
        rails, bare = (
            make._launch_speed(np.array(point), gain=gain, day=1.0) for gain in (0.035, 0.0)
        )
        row = speed.loc[f"{point:g} rpm"]
        assert row["low"] <= rails / bare - 1.0 <= row["high"], point


@pytest.mark.parametrize("path", LOGS, ids=lambda path: path.name)
def test_every_line_of_the_example_is_read(path: Path) -> None:
    (log,) = read_logs(path)
    assert log.lines == len(lines(path))
    if "engine" not in path.name:
        assert with_values(log) == set(range(1, log.lines + 1))
        assert dict(log.faults) == {}
        return
    rapid, flow = (next(log.of(q)).lines.size for q in ("engine_speed", "fuel_flow"))
    assert rapid + FRAMES * flow == log.lines
    # Of each message with the flow, load and torque are not there; nothing else is left out.
    assert dict(log.faults) == {"marked as not available by what sent it": 2 * flow}


def test_read_and_dropped_are_all_lines_of_a_damaged_receiver(tmp_path: Path) -> None:
    whole = lines(LOGS[1])[:400]
    assert whole[0].startswith(b"$GPRMC")
    whole[10] = whole[10][:-2] + (b"00" if not whole[10].endswith(b"00") else b"01")
    whole[20] = b"rubbish"
    whole[30] = whole[30].partition(b"*")[0]
    whole[40] = b""
    whole[50] = b"# a comment"
    whole[60] = b"$GPGSV,1,1,00*79"
    whole[70] = b"\xff\xfe\x00"
    path = tmp_path / "damaged.nmea"
    path.write_bytes(b"\r\n".join(whole) + b"\r\n")
    (log,) = read_logs(path)
    assert log.lines == 400
    assert sorted(set(range(1, 401)) - with_values(log)) == [11, 21, 31, 41, 51, 61, 71]
    assert len(with_values(log)) + sum(log.faults.values()) == 400
    assert (
        log.faults["blank line"] == log.faults["comment line"] == log.faults["checksum wrong"] == 1
    )


def test_read_and_dropped_are_all_lines_of_a_damaged_bus(tmp_path: Path) -> None:
    rapid = [line for line in lines(LOGS[0]) if b"09F20023#" in line][:400]
    rapid[10] = b"rubbish"
    rapid[20] = b""
    rapid[30] = b"# a comment"
    rapid[40] = rapid[40].replace(
        b"09F20023", b"0DF50B23"
    )  # depth, which is read, of bytes that are none
    rapid[50] = rapid[50].replace(b"09F20023", b"09FFFF23")  # a group that is not read
    rapid[60] = rapid[60][:-3]
    path = tmp_path / "damaged.candump"
    path.write_bytes(b"\n".join(rapid) + b"\n")
    (log,) = read_logs(path)
    assert log.lines == 400
    assert len(with_values(log)) + sum(log.faults.values()) == 400
    assert log.faults["line that is no message"] == 2
