"""Real TCX and FIT files, the broken ones too: counts and figures as SOURCE.md beside them has them."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import slackwater
from slackwater.analysis.logs.channels import Log


def log_of(path: Path) -> Log:
    return slackwater.logs(path).logs[0]


def test_a_canal_both_ways(measured: Callable[[str], Path]) -> None:
    """1 368 points with position and distance, and no speed."""
    log = log_of(measured("rowing-gps-impeller/2x2km.tcx"))
    assert (log.form, log.lines) == ("TCX", 1368)
    assert {c.quantity for c in log.channels} >= {"latitude", "longitude", "distance"}
    assert not list(log.of("speed_over_ground"))


@pytest.mark.parametrize("name", ["testtcs_210614.tcx", "recover.tcx", "invalidchar.tcx"])
def test_broken_files_give_what_can_be_read(name: str, measured: Callable[[str], Path]) -> None:
    """Blanks before the declaration; a prefix never bound; NUL bytes after all track points."""
    path = measured(f"broken-real-files/{name}")
    whole = path.read_bytes()
    log = log_of(path)
    assert log.lines == len(re.findall(rb"</Trackpoint>", whole)) > 10
    assert not log.notes
    assert next(log.of("distance")).values.size > 10


def test_records_at_one_time(measured: Callable[[str], Path]) -> None:
    """795 records, 83 steps of zero length."""
    pytest.importorskip("fitdecode")
    log = log_of(measured("rowing-gps-impeller/cottwich.fit"))
    assert (log.form, log.lines) == ("FIT", 795)
    assert log.faults["point at the time of the one before"] == 83
    assert all((np.diff(c.seconds) > 0).all() for c in log.channels)


def test_a_fit_file_whose_lengths_do_not_go_together(
    measured: Callable[[str], Path], tmp_path: Path
) -> None:
    whole = measured("rowing-gps-impeller/cottwich.fit").read_bytes()[:6000]
    (tmp_path / "a.fit").write_bytes(whole.replace(b"\x86", b"9" * 30, 20))
    (log,) = slackwater.logs(tmp_path / "a.fit").logs
    assert "the file is not whole" in " ".join(log.notes)


def test_a_fit_file_cut_off(measured: Callable[[str], Path], tmp_path: Path) -> None:
    pytest.importorskip("fitdecode")
    whole = measured("rowing-gps-impeller/davidfit.fit").read_bytes()
    assert log_of(measured("rowing-gps-impeller/davidfit.fit")).lines == 4609
    cut = tmp_path / "cut.fit"
    cut.write_bytes(whole[: len(whole) // 2])
    assert 1000 < log_of(cut).lines < 4609
