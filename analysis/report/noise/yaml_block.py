"""The block `noise:` that a protocol takes in, made from a noise budget."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.planning.noise_budget import BETWEEN, SPECIFIC, Budget
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.wording.numbers import uncertainty_text


def amount(budget: Budget, value: float) -> str:
    """A standard deviation as a protocol writes it: a percentage, or in the quantity's unit."""
    if budget.scale == "ratio" or budget.unit in ("", "1"):
        return f"{uncertainty_text(100 * value)} %"
    unit = f"delta_{budget.unit}" if budget.unit in ("degC", "degF") else budget.unit
    return f"{uncertainty_text(value)} {unit}"


def loading_line(budget: Budget) -> str:
    """The loading of one quantity as a protocol declares it under `analysis`."""
    found = budget.loading
    if found is None or found.shape == "even":
        return ""
    if found.shape == "by set point":
        strengths = ", ".join(uncertainty_text(each) for each in found.strengths)
        return f"loading: {{{budget.quantity}: [{strengths}]}}"
    return f"loading: {{{budget.quantity}: {found.shape}}}"


def _loading_lines(noise: NoiseResult) -> list[str]:
    """What to declare of the loading, as comments: it belongs to another block of the protocol."""
    found = [line for budget in noise.budgets if (line := loading_line(budget))]
    if not found:
        return []
    return [
        "# The noise is not even along the sweep. Under 'analysis':",
        *(f"#   {x}" for x in found),
    ]


def block(noise: NoiseResult) -> str:
    """The block as YAML text, with the trials' ids in a comment."""
    lines = [
        f"# Noise of earlier trials ({', '.join(noise.trials)}), estimated by slackwater {__version__}.",
        "# sessions: degrees of freedom between sessions, plus one.",
    ]
    entries = []
    for budget in noise.budgets:
        between = budget.component(BETWEEN).value
        if between is None or budget.between_df < 1:
            lines.append(
                f"# {budget.quantity}: left out; no configuration was run in two sessions, so "
                "nothing tells how sessions differ"
            )
            continue
        parts = [
            f"between_sessions: {amount(budget, between)}",
            f"sessions: {round(budget.between_df) + 1}",
        ]
        if budget.within_session is not None:
            parts.append(f"within_session: {amount(budget, budget.within_session)}")
        specific = budget.component(SPECIFIC).value
        if specific is not None:
            parts.append(f"session_by_set_point: {amount(budget, specific)}")
        entries.append(f"  {budget.quantity}: {{{', '.join(parts)}}}")
    if not entries:
        return "\n".join([*lines, *_loading_lines(noise), ""])
    return "\n".join([*lines, *_loading_lines(noise), "noise:", *entries, ""])
