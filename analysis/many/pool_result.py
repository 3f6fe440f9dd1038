"""A pool as an answer: the mean over boats and the next boat, each with its verdict."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of, quantity_title
from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatChange:
    """What one boat showed at a place. Changes are fractions, or differences in the row's unit.

    Attributes
    ----------
    boat : str
    trials : int
        Joined in it.
    change, low, high : float
        With the 95 % interval that her own trials give by themselves.
    weight : float
        Her part of the mean. [1]
    """

    boat: str
    trials: int
    change: float
    low: float
    high: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOneOut:
    """The mean without one boat."""

    boat: str
    change: float
    low: float
    high: float
    verdict: Word


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledPlace:
    """One quantity at one place, over all boats.

    Attributes
    ----------
    mean, next_boat : Compared
        Rows with their verdicts; those of the next boat are about a single boat like these.
    boats : tuple of BoatChange
    heterogeneity : float or None
        Standard deviation of the boats' own changes. [fraction or unit]
    heterogeneity_low, heterogeneity_high : float or None
        Its 95 % interval by the profile of Q.
    q, q_p_value : float or None
        Cochran's Q, and how often boats that change alike give as large a one. [1]
    inconsistency : float or None
        Part of the scatter that is more than the trials' errors. [1]
    without : tuple of LeftOneOut
    """

    mean: Compared
    next_boat: Compared
    boats: tuple[BoatChange, ...]
    heterogeneity: float | None
    heterogeneity_low: float | None
    heterogeneity_high: float | None
    q: float | None
    q_p_value: float | None
    inconsistency: float | None
    without: tuple[LeftOneOut, ...] = ()

    @property
    def leans_on(self) -> tuple[str, ...]:
        """Boats without which the verdict on the mean would be another."""
        return tuple(each.boat for each in self.without if each.verdict != self.mean.verdict)


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledSweep:
    """One quantity over its places.

    Attributes
    ----------
    key, quantity, kind : str
        As in `SessionValues`.
    deciding : bool or None
        The figure declared to decide.
    places : tuple of PooledPlace
    """

    key: str
    quantity: str
    kind: str
    deciding: bool | None
    places: tuple[PooledPlace, ...]

    @property
    def title(self) -> str:
        """As people read it: 'economy at equal speed'."""
        where = self.key.removeprefix(self.quantity)
        return f"{quantity_title(self.quantity)}{where}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialOfPool:
    """A trial and what became of it.

    Attributes
    ----------
    name : str
        The file.
    trial, boat, protocol, tool, runs_sha256 : str
        Empty for one that could not be read.
    baseline, modified : str
        Titles of the configurations compared.
    state : str
        "pooled" or "left out".
    reason : str
        Why it was left out.
    """

    name: str
    trial: str = ""
    boat: str = ""
    protocol: str = ""
    tool: str = ""
    runs_sha256: str = ""
    baseline: str = ""
    modified: str = ""
    state: str = "pooled"
    reason: str = ""


@dataclass(frozen=True, slots=True, repr=False, kw_only=True)
class PoolResult(Answer):
    """What trials of the same change on several boats come to together.

    Attributes
    ----------
    pool, title : str
    trials : tuple of TrialOfPool
    boats : tuple of str
    alignment : str
        What makes places on different boats the same, in words.
    heterogeneity : str
        How the variance between boats is estimated.
    confidence : float
    decides : str or None
    baseline, modified : str
        Ids that claims may name the two sides by.
    sweeps : tuple of PooledSweep
        The deciding one first.
    findings : tuple of Finding
    invented : bool
        Any of the trials is.
    """

    kind: ClassVar[str] = "pool"
    pool: str
    title: str
    trials: tuple[TrialOfPool, ...]
    boats: tuple[str, ...]
    alignment: str
    heterogeneity: str
    confidence: float
    decides: str | None
    baseline: str
    modified: str
    sweeps: tuple[PooledSweep, ...]
    findings: tuple[Finding, ...]
    invented: bool = False

    @property
    def compared(self) -> tuple[Compared, ...]:
        """The means over boats, a row each."""
        return tuple(place.mean for sweep in self.sweeps for place in sweep.places)

    @property
    def table(self) -> pd.DataFrame:
        """A row for each quantity and place: the mean, and the next boat."""
        import pandas as pd

        return pd.DataFrame(self.to_dict()["pooled"])

    @property
    def summary(self) -> str:
        """How many means have which verdict."""
        counts: dict[str, int] = {}
        for row in self.compared:
            counts[str(row.verdict)] = counts.get(str(row.verdict), 0) + 1
        told = ", ".join(f"{count} {word}" for word, count in counts.items())
        return f"{count_of(len(self.boats), 'boat')}, {told or 'nothing compared'}"

    def to_dict(self) -> dict[str, Any]:
        """The pool as JSON carries it; described by the schema that the package ships."""
        return {
            **head(),
            "pool": self.pool,
            "title": self.title,
            "invented": self.invented,
            "trials": [asdict(each) for each in self.trials],
            "boats": list(self.boats),
            "alignment": self.alignment,
            "heterogeneity": self.heterogeneity,
            "confidence": self.confidence,
            "decides": self.decides,
            "pooled": [_row(sweep, place) for sweep in self.sweeps for place in sweep.places],
            "findings": [finding.to_dict() for finding in self.findings],
        }


#: What is told of the mean over boats, and of the next one, under the same names.
SIDES = (
    "change",
    "low",
    "high",
    "p_value",
    "noise_floor",
    "verdict",
    "worth",
    "reason",
    "degrees_of_freedom",
    "family",
    "equivalence_p",
    "no_loss_p",
    "no_loss_bound",
)


def _row(sweep: PooledSweep, place: PooledPlace) -> dict[str, Any]:
    row = place.mean
    return {
        "quantity": sweep.quantity,
        "kind": sweep.kind,
        "deciding": sweep.deciding,
        "at": row.at,
        "position": row.position,
        "unit": row.unit,
        "scale": row.scale,
        "better": row.better,
        "worthwhile": row.worthwhile,
        "confidence": row.confidence,
        "simultaneous": row.simultaneous,
        "boats": [asdict(each) for each in place.boats],
        "mean": {name: _plain(getattr(row, name)) for name in SIDES},
        "next_boat": {name: _plain(getattr(place.next_boat, name)) for name in SIDES},
        "heterogeneity": place.heterogeneity,
        "heterogeneity_low": place.heterogeneity_low,
        "heterogeneity_high": place.heterogeneity_high,
        "q": place.q,
        "q_p_value": place.q_p_value,
        "inconsistency": place.inconsistency,
        "without": [{**asdict(each), "verdict": str(each.verdict)} for each in place.without],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return str(value) if isinstance(value, str) else value
