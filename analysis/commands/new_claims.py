"""Start a file of claims: about a trial, from a published table, or with neither."""

from __future__ import annotations

import os
from pathlib import Path

from slackwater.protocol.findings import Finding, InputError, Place, Severity


def started(base: str | None, path: Path) -> str:
    """The text of a file of claims.

    Parameters
    ----------
    base : str or None
        A trial's YAML, a published table as CSV, or None.
    path : Path
        Where the claims will stand.

    Raises
    ------
    InputError
        When what they are to start from cannot be used.
    """
    from slackwater.protocol.starting_claims import claims_text

    if base is None:
        return claims_text()
    from slackwater.analysis.intake.readers import by_suffix

    if by_suffix(base) is not None:
        from slackwater.analysis.intake.claims_table import claims_yaml, read_claims_table

        return claims_yaml(read_claims_table(base))
    if not Path(base).suffix:
        raise InputError(
            [
                Finding(
                    "option-unfit",
                    Severity.ERROR,
                    f"--from: '{base}' is neither a trial's file nor a published table",
                    "name the trial's YAML file, or a table ending in .csv",
                    Place(base),
                )
            ]
        )
    from slackwater.analysis.pipeline import compute
    from slackwater.protocol.declared.trial import load_trial

    trial = load_trial(base)
    told = dict.fromkeys(table.quantity for table in compute(trial).tables.values())
    return claims_text(trial, os.path.relpath(base, path.parent or "."), list(told))
