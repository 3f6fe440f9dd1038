"""Towing-tank series run twice: what repeats within a run does not repeat between days.

Data: tow-tank-rm2/Perf-*.csv, see the SOURCE.md beside it (P. Bachant, M. Wosnik, B. Gunawan,
V. S. Neary (2016), reduced dataset, doi 10.6084/m9.figshare.1373899). Nothing was changed between
the two passes of a series, so no difference between them may be called real, however far beyond
the uncertainty stated within a run it is. SOURCE.md counts 9 of 29, 17 of 27 and 6 of 23 such
differences in the drag coefficient.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from slackwater.analysis import analyse

SERIES = ("0.4", "0.8", "1.0")  # tow speeds [m/s]
HEADING = ("session", "set_point [1]", "double_run", "direction", "drag [1]")
CONFIGURATIONS = "configurations: {first: {title: First pass}, second: {title: Second pass}}"


@pytest.fixture
def series(measured):
    """Both passes of each series, joined at their nominal speed ratios."""

    def read(name):
        return pd.read_csv(measured(f"tow-tank-rm2/Perf-{name}.csv"))

    return {
        name: read(name).merge(read(f"{name}-b"), on="tsr_nom", suffixes=("", "_b"))
        for name in SERIES
    }


def trial(ratios, sessions, block="none", noise=""):
    values = ", ".join(f"{ratio:g}" for ratio in ratios)
    return f"""
trial: tank-series
protocol:
  protocol: series-run-twice
  runs:
    set_points: {{of: speed_ratio, values: [{values}]}}
    directions: one_way
    double_runs: 1
  sessions: {{per_configuration: 1, order: AB, block: {block}}}
  measures:
    speed_ratio: {{unit: "1"}}
    drag: {{unit: "1", better: less}}
  analysis: {{current: none}}
{noise}
{CONFIGURATIONS}
sessions:
{sessions}
"""


TWO_SESSIONS = "  - {id: P1, configuration: first}\n  - {id: P2, configuration: second}"


def rows(both, first="P1", second="P2"):
    return [
        (session, f"{ratio:g}", 1, "out", drag)
        for session, column in ((first, "mean_cd"), (second, "mean_cd_b"))
        for ratio, drag in zip(both["tsr_nom"], both[column], strict=True)
    ]


@pytest.mark.parametrize(
    ("name", "beyond", "of"), [("0.4", 9, 29), ("0.8", 17, 27), ("1.0", 6, 23)]
)
def test_two_passes_alone_cannot_be_judged(series, write_trial, name, beyond, of):
    both = series[name]
    difference = (both["mean_cd_b"] - both["mean_cd"]).to_numpy()
    stated = np.hypot(both["exp_unc_cd"], both["exp_unc_cd_b"]).to_numpy()
    assert (int((np.abs(difference) > stated).sum()), len(both)) == (beyond, of)

    result = analyse(write_trial(trial(both["tsr_nom"], TWO_SESSIONS), HEADING, rows(both)))
    found = result.comparisons
    assert len(found) == of
    assert set(found["verdict"]) == {"untestable"}
    assert found["low"].isna().all()
    # The difference on the day is told all the same, with the noise that would account for it.
    change = (both["mean_cd_b"] / both["mean_cd"] - 1).to_numpy()
    np.testing.assert_allclose(found["change"].astype(float), change, rtol=1e-9)
    vanishes = np.expm1(np.abs(np.log1p(change)) / (1.959964 * np.sqrt(2)))
    np.testing.assert_allclose(found["vanishes_at"].astype(float), vanishes, rtol=1e-5)


@pytest.mark.parametrize("name", SERIES)
def test_with_the_noise_of_the_other_series_none_is_real(series, write_trial, name):
    """The two other series tell how much a second pass differs when nothing was changed."""
    logs = [
        np.log(series[other]["mean_cd_b"] / series[other]["mean_cd"])
        for other in SERIES
        if other != name
    ]
    between = np.sqrt(np.mean([each.mean() ** 2 for each in logs]) / 2)
    own = np.sqrt(np.mean([each.var(ddof=1) for each in logs]) / 2)
    noise = (
        f"  noise: {{drag: {{between_sessions: {100 * between:.3f} %, sessions: 3, "
        f"session_by_set_point: {100 * own:.3f} %}}}}"
    )
    both = series[name]
    text = trial(both["tsr_nom"], TWO_SESSIONS, noise=noise)
    result = analyse(write_trial(text, HEADING, rows(both)))
    assert set(result.comparisons["verdict"]) == {"within noise"}
    # Two differences are all there is behind the prior, so the floor is high; it is not a wall.
    planted = both.assign(mean_cd_b=1.3 * both["mean_cd_b"])
    result = analyse(write_trial(text, HEADING, rows(planted)))
    assert set(result.comparisons["verdict"]) == {"loss"}


def test_three_pairs_of_passes_as_blocks(series, write_trial):
    """All six passes together, each tow speed a block; some ratios are missing in one or two.

    At ratio 1, the first run of every pass, the second pass gave 5, 4 and 8 % more drag: three of
    three. Whether that is chance or what a first run does nobody knows; it may be named, and
    nothing else may. Where one pass alone has both runs, nothing can be said.
    """
    sessions, lines = [], []
    for day, (name, both) in enumerate(series.items(), start=1):
        ids = f"F{day}", f"S{day}"
        lines += rows(both, *ids)
        for id_, configuration in zip(ids, ("first", "second"), strict=True):
            sessions.append(
                f"  - {{id: {id_}, configuration: {configuration}, date: 2014-01-0{day}, "
                f"note: 'tow speed {name} m/s; the date is invented'}}"
            )
    ratios = sorted({float(line[1]) for line in lines})
    result = analyse(write_trial(trial(ratios, "\n".join(sessions), "day"), HEADING, lines))
    found = result.comparisons
    assert len(found) == len(ratios)
    named = found[~found["verdict"].isin(["within noise", "untestable"])]
    assert set(named["at"]) <= {"1"}
    once = found[found["sessions_baseline"] == 1]
    assert set(once["verdict"]) == {"untestable"}
    assert len(once) < 4
    # The uncertainty stated within a run is 0.3 to 3.4 %, in the middle 0.5 to 1.2 %.
    assert (found["noise_floor"].dropna() > 0.03).all()


def test_replicates_within_a_pass_are_not_replicates(measured, write_trial):
    """Perf-tsr_0: twelve speeds, three runs each, twice. A t-test on the runs names differences;
    with one session a pass, the verdict is that none can be given."""
    lines, sure = [], []
    passes = {
        session: pd.read_csv(measured(f"tow-tank-rm2/{name}.csv"))
        for session, name in (("P1", "Perf-tsr_0"), ("P2", "Perf-tsr_0-b"))
    }
    speeds = sorted(set(passes["P1"]["tow_speed_nom"]) - {0.2})  # a run at 0.2 has a drag below 0
    for speed in speeds:
        drags = []
        for session, table in passes.items():
            drag = table.loc[table["tow_speed_nom"] == speed, "mean_cd"].to_numpy()
            assert drag.size == 3
            drags.append(drag)
            lines += [(session, speed, k, "out", value) for k, value in enumerate(drag, start=1)]
        sure.append(stats.ttest_ind(*drags).pvalue < 0.05)
    assert sum(sure) >= 3
    result = analyse(write_trial(trial(speeds, TWO_SESSIONS), HEADING, lines))  # speeds in m/s
    assert set(result.comparisons["verdict"]) == {"untestable"}
    assert result.runs.used == len(lines)
