"""One trial as the statistics of many trials take it: a few frozen records, easily kept.

An outcome holds what a trial showed and nothing of how it is reported: its changes with their
standard errors, the values of its sessions, what it tells of noise, and what it is known by. It is
made once, from a trial that is analysed (`outcome_of`), and can be written to a store and read back
(`Outcome.to_dict`, `outcome_from`) without any difference.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import asdict, dataclass, fields
from functools import lru_cache
from typing import Any, TypeVar, cast, get_type_hints

from slackwater.analysis.planning.noise_sums import NoiseSums
from slackwater.analysis.planning.run_deviations import Scatter


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a trial found at one position: a comparison as many trials take it together.

    Attributes
    ----------
    baseline, modified : str
        Ids of the configurations.
    quantity, kind : str
        `kind` is "set points", "equal speed" or "whole sweep".
    at : str
        The position as text with its unit.
    position : float or None
        The same as a number. [axis_unit]
    axis_unit : str
        Empty for a figure of the whole sweep.
    speed : float or None
        Of the baseline at this position: the mean of its sessions, or the speed compared at. [m/s]
    unit, scale, better
        Of the quantity, as in `SessionValues`.
    value : float or None
        Modified against baseline: a log ratio where the scale is "ratio", else a difference.
        [1 or unit]
    standard_error : float or None
        Of `value`, errors of instruments and curves that do not cancel included; None where the
        trial cannot tell it. [1 or unit]
    df : float or None
        Degrees of freedom of `standard_error` (Satterthwaite). [1]
    worthwhile : float or None
        Smallest difference that was declared to matter. [fraction or unit]
    one_sided : bool
        It matters on the side of a loss alone.
    confidence : float
        That the trial was judged with, its share of the error taken off. [1]
    simultaneous : bool
    deciding : bool or None
        Of the figure declared to decide.
    sessions_baseline, sessions_modified : int
    verdict, reason : str
    """

    baseline: str
    modified: str
    quantity: str
    kind: str
    at: str
    position: float | None
    axis_unit: str
    speed: float | None
    unit: str
    scale: str
    better: str | None
    value: float | None
    standard_error: float | None
    df: float | None
    worthwhile: float | None
    one_sided: bool
    confidence: float
    simultaneous: bool
    deciding: bool | None
    sessions_baseline: int
    sessions_modified: int
    verdict: str
    reason: str

    @property
    def key(self) -> str:
        """What tells its sweep from the others of a trial, as `SessionValues.key` does."""
        if self.kind == "set points":
            return self.quantity
        where = "at equal speed" if self.kind == "equal speed" else f"by {self.at}"
        return f"{self.quantity} {where}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLevel:
    """The values of one session in one quantity at the set points.

    Attributes
    ----------
    session, configuration : str
    day : str
        ISO 8601, empty where none is noted.
    crew : str
        That took the boat out; empty where nothing says.
    quantity, unit, scale : str
    at : tuple of str
        The set points, with their unit.
    values : tuple of float or None
        One for each set point; None where missing. [unit]
    """

    session: str
    configuration: str
    day: str
    quantity: str
    unit: str
    scale: str
    at: tuple[str, ...]
    values: tuple[float | None, ...]
    crew: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One trial as the statistics of many trials take it.

    Attributes
    ----------
    trial, title, boat : str
        Id, title, and the boat's title.
    protocol, version, protocol_sha256 : str
    tool : str
        Version of slackwater that made it.
    trial_sha256, runs_sha256 : str
        Of the bytes of the files.
    content : str
        SHA-256 of what the runs say (when, where, how fast), whatever the file looks like.
    waterline_length : float or None
        [m]
    length_overall : float or None
        [m]
    displacement : float or None
        [kg]
    wave_height : float or None
        Median over the sessions that note it. [m]
    first_day, last_day : str
        Of the sessions, ISO 8601; empty where none is noted.
    invented : bool
        Nothing was measured.
    confidence : float
        That the protocol declares, before any share of the error is taken off. [1]
    decides : str or None
        The figure declared to decide.
    configurations : dict of str
        Title by id.
    crews : tuple of str
        That took the boat out, sorted; empty where nothing says.
    changes : tuple of Change
    levels : tuple of SessionLevel
    noise : tuple of NoiseSums
        One a quantity.
    """

    trial: str
    title: str
    boat: str
    protocol: str
    version: str
    protocol_sha256: str
    tool: str
    trial_sha256: str
    runs_sha256: str
    content: str
    waterline_length: float | None
    length_overall: float | None
    displacement: float | None
    wave_height: float | None
    first_day: str
    last_day: str
    invented: bool
    confidence: float
    decides: str | None
    configurations: dict[str, str]
    changes: tuple[Change, ...]
    levels: tuple[SessionLevel, ...]
    noise: tuple[NoiseSums, ...]
    crews: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The outcome as JSON carries it: numbers, texts, lists; no NaN."""
        return asdict(self)


Made = TypeVar("Made")


def outcome_from(data: Mapping[str, Any]) -> Outcome:
    """The outcome that `Outcome.to_dict` gave, from JSON or any other store.

    Raises
    ------
    TypeError
        When a field is missing: it was written by another version, and is to be made anew.
    """
    whole = dict(data)
    whole["changes"] = tuple(_made(Change, each) for each in whole["changes"])
    whole["levels"] = tuple(_made(SessionLevel, each) for each in whole["levels"])
    whole["noise"] = tuple(
        _made(NoiseSums, {**each, "scatter": _made(Scatter, each["scatter"])})
        for each in whole["noise"]
    )
    return _made(Outcome, whole)


def _made(kind: type[Made], data: Mapping[str, Any]) -> Made:
    """A record from its fields; lists become tuples where it holds tuples."""
    hints = _hints(cast(Hashable, kind))
    known = {
        each.name: data[each.name]
        for each in fields(kind)  # type: ignore[arg-type]
        if each.name in data
    }
    for name, value in known.items():
        if isinstance(value, list) and hints[name].startswith("tuple"):
            known[name] = tuple(value)
    return kind(**known)


@lru_cache(maxsize=16)
def _hints(kind: Hashable) -> dict[str, str]:
    """What each field is said to be, found once: an archive reads thousands of records."""
    return {name: str(hint) for name, hint in get_type_hints(kind).items()}
