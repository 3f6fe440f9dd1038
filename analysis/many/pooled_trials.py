"""From the files of trials, or of a pool, to the pool: each trial by the way of every analysis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from slackwater.analysis.many.boats import Entered, LeftOut
from slackwater.analysis.many.outcome_making import outcome_of
from slackwater.analysis.many.pool_result import PoolResult
from slackwater.analysis.many.pooling import pool_outcomes
from slackwater.analysis.wording.progress import progress
from slackwater.protocol.declared.pool import Pool, PooledTrial, load_pool
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.files.kinds import kind_of
from slackwater.protocol.files.model_faults import findings_of
from slackwater.protocol.files.source import document_of, scan_document
from slackwater.protocol.findings import Finding, InputError, Place, Severity

Named = str | Path


def pool_trials(files: Sequence[Named], **asked: object) -> PoolResult:
    """Analyse trials and put them together.

    Parameters
    ----------
    files : sequence of str or Path
        Trials, or one pool file.
    **asked
        Keys of a pool file in place of one: `align`, `at`, `heterogeneity`, `decides`. What is
        None counts as not given.

    Raises
    ------
    InputError
        When the pool cannot be read or no trial is left. A trial that cannot be used is told and
        does not stop the rest.
    """
    given = {key: value for key, value in asked.items() if value is not None}
    return _pool(_asked(list(files), given))


def _asked(files: list[Named], given: dict[str, object]) -> Pool:
    if len(files) == 1 and _is_pool(files[0]):
        if given:
            raise _unfit(str(files[0]), sorted(given))
        return load_pool(files[0])
    data = {"pool": "trials", "trials": [str(file) for file in files], **given}
    try:
        return Pool.model_validate(data)
    except ValidationError as error:
        document = replace(document_of(data), path=Path("the options"))
        raise InputError(findings_of(error, document, Pool)) from None


def _is_pool(file: Named) -> bool:
    document, _ = scan_document(file)
    return document is not None and kind_of(document) == "pool"


def _unfit(file: str, options: Sequence[str]) -> InputError:
    names = ", ".join(f"'{name}'" for name in options)
    message = f"{names} goes with trials that are named one by one, and this is a pool file"
    fix = "write it in the pool file, or leave it out"
    return InputError([Finding("unfit-option", Severity.ERROR, message, fix, Place(file))])


def _pool(asked: Pool) -> PoolResult:
    entered: list[Entered] = []
    unread: list[LeftOut] = []
    for number, one in enumerate(asked.trials, 1):
        path = asked.path_of(one)
        progress(f"trial {number} of {len(asked.trials)}, {path}")
        found = _entered(one, path)
        (entered if isinstance(found, Entered) else unread).append(found)  # type: ignore[arg-type]
    return pool_outcomes(entered, asked, unread)


def _entered(one: PooledTrial, path: Path) -> Entered | LeftOut:
    from slackwater.analysis.pipeline import compute

    name = str(one.trial)
    try:
        outcome = outcome_of(compute(load_trial(path)))
    except InputError as error:
        return LeftOut(name, _why(error.findings))
    return Entered(name, outcome, one.boat, one.baseline, one.modified)


def _why(findings: Sequence[Finding]) -> str:
    """What is wrong with a trial that cannot be used, in a line."""
    first = findings[0]
    where = f" (line {first.place.line})" if first.place and first.place.line else ""
    more = f", and {len(findings) - 1} more; see 'slackwater check'" if len(findings) > 1 else ""
    return f"it cannot be used: {first.message}{where}{more}"
