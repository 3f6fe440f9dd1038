"""Where the outside checks find measured data, and how a trial is written for them.

The data stay outside the repository. The folder is named by SLACKWATER_DATA; without it,
`../shared/data` beside the checkout is tried. What needs it and does not find it is skipped, and a
line at the end of the test run says so.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]
SETTING = "SLACKWATER_DATA"
LACKING = f"no measured data: {SETTING} names no folder that has them"


def data_folder() -> Path:
    return Path(os.environ.get(SETTING) or CHECKOUT.parent / "shared" / "data")


@pytest.fixture(scope="session")
def measured() -> Callable[[str], Path]:
    """The one measured file of a pattern within the data folder; skips when it is not there."""

    def find(pattern: str) -> Path:
        found = sorted(data_folder().glob(pattern))
        if len(found) != 1:
            pytest.skip(f"{LACKING} ({data_folder() / pattern})")
        return found[0]

    return find


Write = Callable[[str, Sequence[str], Sequence[Sequence[object]]], Path]


@pytest.fixture
def write_trial(tmp_path: Path) -> Write:
    """Write a trial and its run table into a folder of their own; returns the trial's path."""

    def write(trial: str, heading: Sequence[str], rows: Sequence[Sequence[object]]) -> Path:
        lines = [",".join(heading), *(",".join(str(cell) for cell in row) for row in rows)]
        (tmp_path / "runs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        path = tmp_path / "trial.yaml"
        path.write_text(trial, encoding="utf-8")
        return path

    return write


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    skipped = [
        report
        for report in terminalreporter.stats.get("skipped", [])
        if isinstance(report.longrepr, tuple) and LACKING in report.longrepr[2]
    ]
    if skipped:
        terminalreporter.write_sep("!", "CHECKS AGAINST MEASURED DATA WERE NOT RUN", red=True)
        terminalreporter.write_line(
            f"{len(skipped)} checks were skipped: there is no data in {data_folder()}. "
            f"Set {SETTING} to the folder that has it."
        )
