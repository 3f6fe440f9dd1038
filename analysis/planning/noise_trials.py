"""From the files of trials to the noise they tell."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from slackwater.analysis.planning.noise_budget import budgets
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.protocol.findings import Finding, InputError, Place, Severity


def noise_of_trials(files: Sequence[str | Path], *, quantity: str | None = None) -> NoiseResult:
    """Compute trials and tell what their scatter is made of; as `api.noise`."""
    from slackwater.analysis.pipeline import compute_each

    computed = list(compute_each(files))
    found = budgets(computed, quantity)
    if not found:
        known = [budget.quantity for budget in budgets(computed)]
        raise InputError(
            [
                Finding(
                    "unknown-quantity",
                    Severity.ERROR,
                    f"the trials give nothing of {quantity or 'any quantity'}",
                    f"they give {', '.join(known)}"
                    if known
                    else "see what is measured, tried or scored in them, and what of it is set aside",
                    Place("--quantity" if quantity else str(files[0]) if files else "trials"),
                )
            ]
        )
    return NoiseResult(tuple(found), tuple(each.trial.trial for each in computed))
