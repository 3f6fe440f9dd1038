"""Less data never says more: what is cut off is told, or adds no verdict to the figure that decides.

Whole trials on files, analysed as users do. Of each a session is then taken away, or its tail from
some run on, and whatever verdict that adds must come with a finding that names the session.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from slackwater.analysis import analyse
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.verdicts import Word

ORDER = "ABBAAB"
RPM = np.array([1200, 1800, 2400, 3000, 3600, 4200])
SPEED = np.array([6.0, 8.0, 11.0, 16.0, 21.0, 25.0])  # kn
FLOW = np.array([6.0, 13.0, 24.0, 38.0, 55.0, 76.0])  # L/h
LOST = {"session-without-runs", "runs-missing", "run-without-partner"}
NOTHING_SAID = {Word.WITHIN_NOISE, Word.UNTESTABLE}

TRIAL = """
trial: invented
protocol:
  protocol: invented
  runs:
    set_points: {of: engine_speed, values: [%s]}
    double_runs: 1
  measures: {speed_over_ground: {unit: kn, shared: true}, fuel_flow: {unit: L/h, shared: true}}
  sessions: {order: ABBAAB}
  analysis: {decides: %s, worthwhile: {economy: {no_loss: 2 %%}}}
configurations: {bare: {}, fitted: {}}
sessions:
%s
runs: runs.csv
"""


def rows_of(rng: np.random.Generator) -> list[str]:
    """The run table of a trial: 2 % less fuel, 0.6 % between sessions, one double run."""
    rows = []
    for s, letter in enumerate(ORDER, start=1):
        shared = 0.006 * rng.standard_normal(2)
        for p in range(len(RPM)):
            run = 2 * p
            speed = SPEED[p] * np.exp(shared[0] + 0.003 * rng.standard_normal())
            flow = FLOW[p] * np.exp(shared[1] + 0.003 * rng.standard_normal())
            flow *= 0.98 if letter == "B" else 1.0
            for k, (way, current) in enumerate((("out", 0.6), ("back", -0.6))):
                clock = f"2031-06-{s:02d} 09:{3 * (run + k):02d}"
                over_ground = speed + current + 0.05 * rng.standard_normal()
                rows.append(f"S{s},{RPM[p]},1,{way},{clock},{over_ground:.3f},{flow:.3f}")
    return rows


def result_of(folder: Path, decides: str, rows: list[str]) -> Result:
    head = "session,set_point [rpm],double_run,direction,start"
    head += ",speed_over_ground [kn],fuel_flow [L/h]"
    (folder / "runs.csv").write_text("\n".join([head, *rows, ""]), encoding="utf-8")
    names = {"A": "bare", "B": "fitted"}
    sessions = [
        f"  - {{id: S{s}, configuration: {names[letter]}}}" for s, letter in enumerate(ORDER, 1)
    ]
    values = ", ".join(f"{rpm} rpm" for rpm in RPM)
    path = folder / "trial.yaml"
    path.write_text(TRIAL % (values, decides, "\n".join(sessions)), encoding="utf-8")
    return analyse(path)


def said(result: Result) -> set[tuple[str, Word]]:
    """What the figure that decides says, and where."""
    return {
        (row.at, row.verdict)
        for row in result.compared
        if row.deciding and row.verdict not in NOTHING_SAID
    }


def told_lost(result: Result, session: str) -> bool:
    """Whether a finding says that runs of the session are missing."""
    return any(
        each.rule in LOST and session in each.message
        for each in (*result.deviations, *result.findings)
    )


def cut(rows: list[str], session: str, rng: np.random.Generator) -> list[str]:
    """Without a session, or without what it ran from some run on."""
    mine = [row for row in rows if row.startswith(f"{session},")]
    kept = 0 if rng.random() < 0.3 else int(rng.integers(1, len(mine)))
    gone = set(mine[kept:])
    return [row for row in rows if row not in gone]


def unexplained(folder: Path, seeds: range) -> tuple[list[str], int]:
    """Trials in which a cut added a verdict and nothing told of it; and in how many one was added."""
    found, added = [], 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        decides = ("economy at equal speed", "economy", "fuel flow at equal speed")[seed % 3]
        rows = rows_of(rng)
        whole = result_of(folder, decides, rows)
        session = f"S{rng.integers(1, len(ORDER) + 1)}"
        less = result_of(folder, decides, cut(rows, session, rng))
        more = said(less) - said(whole)
        added += bool(more)
        if told_lost(whole, session) or (more and not told_lost(less, session)):
            found.append(f"seed {seed}: {sorted(more)} after {session} was cut")
    return found, added


def test_a_cut_is_told(tmp_path: Path) -> None:
    found, _ = unexplained(tmp_path, range(6))
    assert not found


@pytest.mark.full
def test_a_cut_is_told_in_500_trials(tmp_path: Path) -> None:
    found, added = unexplained(tmp_path, range(500))
    print(f"a verdict was added in {added} of 500, each with a finding that names the session")
    assert not found
    assert added > 0  # else nothing was put to the test
