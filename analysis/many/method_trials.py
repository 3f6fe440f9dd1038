"""From the files of trials to how good their method is."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import cast, get_args

from slackwater.analysis.many.method_result import MethodResult, method_of
from slackwater.analysis.many.noise_groups import Kind
from slackwater.analysis.many.outcome_making import outcome_of
from slackwater.protocol.findings import Finding, InputError, Severity


def method_of_trials(
    files: Sequence[str | Path],
    *,
    by: str | None = None,
    reference: str | None = None,
    quantity: str = "speed",
) -> MethodResult:
    """Analyse trials and tell how good their method is; as `api.method`."""
    kinds = get_args(Kind)
    if by is not None and by not in kinds:
        message = f"'{by}' is nothing that trials are grouped by"
        fix = f"one of {', '.join(kinds)}"
        raise InputError([Finding("unfit-option", Severity.ERROR, message, fix)])
    from slackwater.analysis.pipeline import compute_each

    outcomes = [outcome_of(each) for each in compute_each(files)]
    return method_of(outcomes, cast("Kind | None", by), reference, quantity)
