"""Whether the claims were fixed before the data: what a seal says, and what the protocol declared."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from slackwater.analysis.audit.outcome import AGREES, FINDING, Reason
from slackwater.analysis.audit.sources import PRACTICE, SWITCHED
from slackwater.protocol.catalogue.recipes import changes_as
from slackwater.protocol.claims.claim import Claim, Claims

if TYPE_CHECKING:
    from slackwater.analysis.audit.with_data import TrialBehind

_SOURCE = f"{SWITCHED}; {PRACTICE}"


def sealed_beforehand(claims: Claims, behind: TrialBehind) -> tuple[bool, list[Reason]]:
    """What a seal says of the claims.

    Returns
    -------
    beforehand : bool
        A seal made before the first run fits them.
    reasons : list of Reason
        Empty where no seal speaks of them.
    """
    if not claims.document.sha256:
        return False, []
    from slackwater.protocol.sealing.seal import made_before, moment, seal_status

    trial = behind.analysed.trial
    status = seal_status(claims.document, trial.folder)
    if status.state == "none":
        return False, []
    if not status.kept or status.seal is None:
        message = f"There is a seal, but {status.message}."
        return False, [Reason("seal", FINDING, message, source=_SOURCE)]
    days = [s.start if isinstance(s.start, datetime) else s.date for s in trial.sessions]
    first = min((day for day in days if day is not None), key=str, default=None)
    made = moment(status.seal.made)
    if made_before(status.seal.made, first):
        message = f"The claims were sealed on {made}, before the first run, by the maker's clock."
        return True, [Reason("seal", AGREES, message, source=_SOURCE)]
    message = f"The claims were sealed on {made}, which is not before the first run."
    return False, [Reason("seal", FINDING, message, source=_SOURCE)]


def undeclared(claim: Claim, behind: TrialBehind) -> Iterator[Reason]:
    """A claim on a quantity for which the protocol declared nothing that would matter."""
    declared = behind.protocol.analysis.worthwhile
    if declared and not {claim.quantity, changes_as(claim.quantity)[0]} & declared.keys():
        listed = ", ".join(name.replace("_", " ") for name in declared)
        message = (
            f"The protocol declares what would be worthwhile for {listed}; "
            f"{claim.quantity.replace('_', ' ')} is not among them."
        )
        yield Reason("not-declared", FINDING, message, source=_SOURCE)
