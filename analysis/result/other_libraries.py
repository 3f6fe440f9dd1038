"""The same session values put through two libraries that others maintain, for whoever wants to compare.

No verdict comes from here. A mixed model (statsmodels) fits all set points at once and knows what a
session shares; a t-test (pingouin) takes each set point by itself. Both start from the session
values that the analysis compares, so that a reader sees which part of an answer is ours.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.analysis.result.analysed import Analysed
    from slackwater.analysis.verdict.judgement import Judged


def cross_check_rows(analysed: Analysed) -> list[dict[str, Any]]:
    """Rows of the result's table `cross_check`, for every sweep over set points.

    Needs two sessions of each configuration; sweeps with fewer, and figures that are one value a
    session, are left out.
    """
    rows: list[dict[str, Any]] = []
    for judged in analysed.judged:
        table = judged.table
        if judged.differences is None or table.kind != "set points" or len(table.positions) < 2:
            continue
        pair = judged.rows[0].baseline, judged.rows[0].modified
        values = _long(judged, analysed.configurations, *pair)
        if values.groupby("fitted")["session"].nunique().min() < 2:
            continue
        mixed = _mixed_model(values, table.scale)
        for p, row in enumerate(judged.rows):
            if row.change is None:
                continue
            here = values[values["point"] == p]
            rows.append(
                {
                    "baseline": pair[0],
                    "modified": pair[1],
                    "quantity": table.quantity,
                    "at": table.labels[p],
                    "change": row.change,
                    "standard_error": _natural_error(judged, p),
                    "mixed_model_change": mixed.get(p, (None, None))[0],
                    "mixed_model_error": mixed.get(p, (None, None))[1],
                    **_t_test(here, table.scale),
                }
            )
    return rows


def _long(
    judged: Judged, configurations: tuple[str, ...], base: str, modified: str
) -> pd.DataFrame:
    import pandas as pd

    values = judged.table.on_scale()
    return pd.DataFrame(
        [
            (session, configurations[s], p, values[s, p], float(configurations[s] == modified))
            for s, session in enumerate(judged.table.sessions)
            for p in range(values.shape[1])
            if configurations[s] in (base, modified) and np.isfinite(values[s, p])
        ],
        columns=["session", "fitted", "point", "value", "modified"],
    )


def _natural(value: float, scale: str) -> float:
    return float(np.expm1(value)) if scale == "ratio" else float(value)


def _natural_error(judged: Judged, p: int) -> float | None:
    found = judged.differences
    if found is None or not np.isfinite(found.standard_error[p]):
        return None
    # On the logarithmic scale a small standard error is a fraction as it stands.
    return float(found.standard_error[p])


def _mixed_model(values: pd.DataFrame, scale: str) -> dict[int, tuple[float, float]]:
    """Difference and its standard error at each set point, by restricted maximum likelihood."""
    import statsmodels.formula.api as smf

    with warnings.catch_warnings():
        # A variance that ends at zero is told by a warning; the estimate stands.
        warnings.simplefilter("ignore")
        try:
            fitted = smf.mixedlm(
                "value ~ 0 + C(point) + C(point):modified", values, groups="session"
            ).fit(reml=True)
        except (ValueError, np.linalg.LinAlgError):
            return {}
    found = {}
    for p in sorted(values["point"].unique()):
        name = f"C(point)[{p}]:modified"
        if name in fitted.fe_params and np.isfinite(fitted.bse_fe[name]):
            found[int(p)] = (_natural(fitted.fe_params[name], scale), float(fitted.bse_fe[name]))
    return found


def _t_test(here: pd.DataFrame, scale: str) -> dict[str, float | None]:
    """Welch's t-test of the session values at one set point, by itself."""
    import pingouin

    after = here.loc[here["modified"] == 1, "value"]
    before = here.loc[here["modified"] == 0, "value"]
    if min(len(after), len(before)) < 2:
        return {"t_test_low": None, "t_test_high": None, "t_test_p": None}
    from scipy.stats import ttest_ind

    p = float(pingouin.ttest(after, before, correction=True)["p_val"].iloc[0])
    # pingouin rounds its interval to two decimals; scipy's does not.
    ends = ttest_ind(after, before, equal_var=False).confidence_interval()
    return {
        "t_test_low": _natural(ends.low, scale),
        "t_test_high": _natural(ends.high, scale),
        "t_test_p": p,
    }
