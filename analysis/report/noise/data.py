"""A noise budget as JSON carries it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slackwater import __version__
from slackwater.analysis.planning.noise_budget import Budget


def noise_dict(budgets: Sequence[Budget], trials: Sequence[str]) -> dict[str, Any]:
    """Every budget: standard deviations as fractions, or in the unit of a difference."""
    return {
        "schema": 1,
        "tool": {"name": "slackwater", "version": __version__},
        "trials": list(trials),
        "noise": [
            {
                "quantity": budget.quantity,
                "component": each.name,
                "value": each.value,
                "low": each.low,
                "high": each.high,
                "degrees_of_freedom": each.df,
                "part": each.part,
                "sessions": budget.sessions,
                "unit": budget.unit,
            }
            for budget in budgets
            for each in budget.components
        ],
        "precision": [
            {
                "quantity": budget.quantity,
                "unit": budget.unit,
                "within_session": budget.within_session,
                "repeatability": budget.repeatability,
                "reproducibility": budget.reproducibility,
                "repeatability_limit": budget.limits[0],
                "reproducibility_limit": budget.limits[1],
                "double_runs": budget.double_runs,
                "between_sessions_degrees_of_freedom": budget.between_df,
            }
            for budget in budgets
        ],
        "trends": [
            {
                "quantity": budget.quantity,
                "unit": budget.unit,
                "kind": trend.kind,
                "subject": trend.subject,
                "value": trend.value,
                "low": trend.low,
                "high": trend.high,
                "p_value": trend.p_value,
                "found": trend.found,
            }
            for budget in budgets
            for trend in budget.trends
        ],
    }
