"""The noise of past trials as an answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.planning.noise_budget import BETWEEN, Budget
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, repr=False)
class NoiseResult(Answer):
    """What the scatter of past trials is made of.

    Attributes
    ----------
    budgets : tuple of Budget
        One for each quantity.
    trials : tuple of str
        Ids of the trials.
    """

    kind: ClassVar[str] = "noise"
    budgets: tuple[Budget, ...]
    trials: tuple[str, ...]

    @property
    def table(self) -> pd.DataFrame:
        """A row for each component of each quantity."""
        import pandas as pd

        return pd.DataFrame(self.to_dict()["noise"])

    @property
    def summary(self) -> str:
        """Between sessions, for each quantity that tells it. [fraction, or its unit]"""
        told = [
            f"{budget.quantity} {value:.3g} {budget.unit}".rstrip()
            for budget in self.budgets
            if (value := budget.component(BETWEEN).value) is not None
        ]
        return f"between sessions {', '.join(told)}" if told else "nothing between sessions"

    def to_dict(self) -> dict[str, Any]:
        """Every budget: standard deviations as fractions, or in the unit of a difference."""
        return {
            **head(),
            "trials": list(self.trials),
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
                for budget in self.budgets
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
                for budget in self.budgets
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
                for budget in self.budgets
                for trend in budget.trends
            ],
            "loading": [
                {
                    "quantity": budget.quantity,
                    "shape": found.shape,
                    "labels": list(found.labels),
                    "strengths": list(found.strengths),
                    "evenness": found.evenness,
                    "fit": found.fit,
                    "degrees_of_freedom": found.df,
                    "trials": found.trials,
                }
                for budget in self.budgets
                if (found := budget.loading) is not None
            ],
        }
