"""Whether a trial that was run to one version of a protocol satisfies another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.rules._outcome import Looked, Outcome

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True)
class TrialHeld:
    """A trial held against the newer version.

    Parameters
    ----------
    file, id : str
    run_to : bool
        It was run to the older version: to a protocol with its very bytes.
    broken : tuple of Finding
        What departs from the newer version, advice left out.
    unseen : tuple of str
        The rules on the trial and its runs that could not look.
    """

    file: str
    id: str
    run_to: bool
    broken: tuple[Finding, ...]
    unseen: tuple[str, ...]

    @property
    def satisfies(self) -> bool:
        """Nothing departs from it, as far as the rules could look."""
        return not self.broken

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "file": self.file,
            "trial": self.id or None,
            "run_to_the_old": self.run_to,
            "satisfies": self.satisfies,
            "broken": [finding.to_dict() for finding in self.broken],
            "could_not_look": list(self.unseen),
        }


def held(file: str, old: Protocol, new: Protocol) -> TrialHeld:
    """A trial's file held against the newer version.

    Raises
    ------
    InputError
        When the file is no trial, or cannot be used.
    """
    from slackwater.protocol.declared.trial import build_trial, load_trial

    trial = load_trial(file)
    run_to = trial.protocol.document.sha256 == old.document.sha256
    document = trial.document
    anew, faults = build_trial(replace(document, data={**document.data, "protocol": new}))
    if anew is None:
        return TrialHeld(file, trial.trial, run_to, tuple(faults), ())
    return _looked_at(file, trial, anew, run_to)


def _looked_at(file: str, before: Trial, trial: Trial, run_to: bool) -> TrialHeld:
    from slackwater.analysis.checking.applying import deviations
    from slackwater.analysis.steady.trial_runs import runs_of

    known = {(one.rule, one.message) for one in runs_of(before).findings}
    try:
        runs = runs_of(trial)
    except InputError as error:
        return TrialHeld(file, trial.trial, run_to, error.findings, ())
    # What the table says of itself under either version is no matter of the versions.
    read = [one for one in runs.findings if (one.rule, one.message) not in known]
    rows = deviations(trial, runs).looked
    broken = [one for one in (*read, *_found(rows)) if one.severity is not Severity.ADVICE]
    return TrialHeld(file, trial.trial, run_to, tuple(broken), tuple(_unseen(rows)))


def _found(rows: tuple[Looked, ...]) -> list[Finding]:
    return [one for row in rows if row.outcome is Outcome.BROKEN for one in row.found]


def _unseen(rows: tuple[Looked, ...]) -> list[str]:
    return [row.rule.id for row in rows if row.outcome is Outcome.UNSEEN]
