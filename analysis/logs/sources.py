"""One source of each quantity for a whole trial, by criteria that are told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from slackwater.analysis.logs.channels import Channel, Numbers
from slackwater.analysis.logs.engines import engines_in_order
from slackwater.analysis.logs.joining import Span, smoothed, within
from slackwater.protocol.findings import Finding, InputError, Severity

DEAD_BAND = 0.9  # of the values that repeat the one before; more tells next to nothing
FEWER = 0.5  # of the seconds of the source that has most
NOISIER = 3.0  # times the quietest; less may be a filter that makes it late
OVER = 9  # [s]; what is left of a value beside the mean around it is noise, waves and all
LEAST_SECONDS = 30  # fewer tell no noise
_EACH_ENGINE = "the trial has a column for each engine"
CRITERIA = (
    "the more sessions it was recorded in; then no dead band (at most 90 % of the values repeat the one before); then "
    "values in half of the seconds at least that the fullest source has; then at most three times the noise of the "
    "quietest; then, of courses and positions, the receiver that the speed over ground is taken from; then its name"
)
#: What a receiver tells besides its speed: of two that differ, or are late by different times, one is taken whole.
_RECEIVED = ("course_over_ground", "course_over_ground_magnetic", "latitude", "longitude")


@dataclass(frozen=True, slots=True)
class Judged:
    """A source with what it is judged by.

    Parameters
    ----------
    quantity, source : str
    sessions : int
        In which it has values.
    seconds : int
        In which it has a value, in all sessions.
    repeats : float
        Values that repeat the one before. [1]
    noise : float or None
        Standard deviation of its values about their mean over 9 s, waves and all; None where too few tell it, or
        where repeats hide it. [unit of the quantity]
    against : tuple of str
        What speaks against it beside others, weightiest first.
    """

    quantity: str
    source: str
    sessions: int
    seconds: int
    repeats: float
    noise: float | None
    against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """The source that a quantity is taken from, in all sessions alike.

    Parameters
    ----------
    quantity, source : str
    others : tuple of str
        Sources that were not taken.
    sessions, seconds, repeats, noise :
        As it was judged.
    by_user : bool
        Whether it was asked for.
    why : str
        In words.
    offered : tuple of Judged
        All sources that have values, this one too, the best first.
    """

    quantity: str
    source: str
    others: tuple[str, ...]
    sessions: int
    seconds: int
    repeats: float
    by_user: bool = False
    noise: float | None = None
    why: str = ""
    offered: tuple[Judged, ...] = field(default=())


def choose(
    channels: Sequence[Channel],
    quantities: Iterable[str],
    spans: Sequence[Span],
    asked: Mapping[str, Sequence[str]],
    engines: Mapping[str, Sequence[str]] | None = None,
) -> list[Choice]:
    """Choose a source of each quantity that was recorded; several where several engines are asked for.

    `engines` has the columns of quantities that have one for each engine: all their sources are taken.

    Raises
    ------
    InputError
        When a source is asked for that is not there, or of a quantity that is not taken, or when there are
        not as many as columns.
    """
    engines = engines or {}
    quantities = tuple(dict.fromkeys(quantities))
    _stop_on_needless(asked, quantities)
    found: list[Choice] = []
    for quantity in sorted(quantities, key=lambda each: each in _RECEIVED):
        speed = next((c.source for c in found if c.quantity == "speed_over_ground"), "")
        near = device_of(speed) if quantity in _RECEIVED else ""
        judged = ranked([c for c in channels if c.quantity == quantity], spans, near)
        everyone = sorted(c.source for c in channels if c.quantity == quantity)
        if quantity in asked and len(engines.get(quantity, asked[quantity])) != len(
            asked[quantity]
        ):
            engines_in_order(quantity, asked[quantity], engines[quantity])  # which says so
        if quantity in asked:
            taken = [_asked(quantity, source, judged) for source in asked[quantity]]
            found += [_choice(each, everyone, judged, by_user=True) for each in taken]
        elif judged and quantity in engines:
            by_name = {each.source: each for each in judged}
            ordered = engines_in_order(quantity, list(by_name), engines[quantity])
            found += [
                _choice(by_name[each], everyone, judged, why=_EACH_ENGINE) for each in ordered
            ]
        elif judged:
            found.append(_choice(judged[0], everyone, judged))
    return sorted(found, key=lambda each: quantities.index(each.quantity))


def device_of(source: str) -> str:
    """What sent a source: its address on the bus, or the talker of a sentence."""
    return source.rpartition(" from ")[2] if " from " in source else source.partition(" ")[0]


def _choice(
    judged: Judged,
    everyone: Sequence[str],
    offered: Sequence[Judged],
    *,
    by_user: bool = False,
    why: str = "",
) -> Choice:
    return Choice(
        judged.quantity,
        judged.source,
        tuple(each for each in everyone if each != judged.source),
        judged.sessions,
        judged.seconds,
        judged.repeats,
        by_user,
        judged.noise,
        why or _why(judged, offered, by_user=by_user),
        tuple(offered),
    )


def ranked(channels: Sequence[Channel], spans: Sequence[Span], near: str = "") -> list[Judged]:
    """The sources of one quantity that have values, the best first, each with what speaks against it.

    Of those that are as good, the ones of the device `near` come first.
    """
    judged = [each for c in channels if (each := _judged(c, spans)).sessions]
    if not judged:
        return []
    most = max(each.sessions for each in judged), max(each.seconds for each in judged)
    noises = [each.noise for each in judged if each.noise]
    quietest = min(noises) if noises else None
    flags = {id(each): _against(each, most, quietest) for each in judged}
    ordered = sorted(
        judged,
        key=lambda each: (
            _rank(each, flags[id(each)]), bool(near) and device_of(each.source) != near, each.source,
        ),
    )  # fmt: skip
    return [
        Judged(
            each.quantity, each.source, each.sessions, each.seconds, each.repeats, each.noise,
            tuple(text for text in flags[id(each)] if text),
        )
        for each in ordered
    ]  # fmt: skip


def judged_data(each: Judged) -> dict[str, Any]:
    """A source with what it was judged by, as data."""
    return {
        "source": each.source,
        "sessions": each.sessions,
        "seconds": each.seconds,
        "repeats": round(each.repeats, 4),
        "noise": None if each.noise is None else float(f"{each.noise:.3g}"),
        "against": list(each.against),
    }


def _rank(judged: Judged, flags: Sequence[str]) -> tuple[int, bool, bool, bool]:
    return -judged.sessions, bool(flags[1]), bool(flags[2]), bool(flags[3])


def _judged(channel: Channel, spans: Sequence[Span]) -> Judged:
    parts = [within(channel, span) for span in spans]
    seconds = sum(np.unique(np.floor(part.seconds)).size for part in parts)
    count = sum(int((np.diff(part.values) == 0).sum()) for part in parts)
    steps = sum(max(part.values.size - 1, 0) for part in parts)
    repeats = count / steps if steps else 0.0
    return Judged(
        channel.quantity,
        channel.source,
        sum(part.seconds.size > 0 for part in parts),
        seconds,
        repeats,
        noise_of(parts) if repeats <= DEAD_BAND else None,
    )


def noise_of(parts: Sequence[Channel]) -> float | None:
    """What values stray from the mean around them, standard deviation; None where too few tell it.

    It is read off the fifth that strays most, so that neither repeats nor single wild values are taken for it.
    """
    strays = [_strays(part) for part in parts if part.seconds.size]
    whole = np.concatenate(strays) if strays else np.empty(0)
    if whole.size < LEAST_SECONDS:
        return None
    found = float(np.quantile(np.abs(whole), 0.8)) / 1.2816  # of a normal distribution
    return found or None


def _strays(part: Channel) -> Numbers:
    """Means of a second less the mean over 9 s around them."""
    values = np.unwrap(part.values, period=360.0) if part.circular else part.values
    second, at = np.unique(np.floor(part.seconds), return_inverse=True)
    means = np.bincount(at, weights=values) / np.bincount(at)
    if second.size < OVER:
        return np.empty(0)
    even = np.interp(np.arange(second[0], second[0] + min(second[-1] - second[0], 1e6)), second, means)  # fmt: skip
    return even - smoothed(even, OVER)


def _against(judged: Judged, most: tuple[int, int], quietest: float | None) -> tuple[str, ...]:
    """What speaks against a source, one text for each criterion; empty where nothing does."""
    sessions, seconds = most
    return (
        f"recorded in {judged.sessions} of {sessions} sessions" if judged.sessions < sessions else "",
        f"{judged.repeats:.0%} of its values repeat the one before" if judged.repeats > DEAD_BAND else "",
        f"values in {judged.seconds} s, where another has {seconds} s"
        if judged.seconds < FEWER * seconds
        else "",
        f"{judged.noise / quietest:.1f} times as noisy as the quietest"
        if judged.noise and quietest and judged.noise > NOISIER * quietest
        else "",
    )  # fmt: skip


def _first_of(judged: Judged, equal: Sequence[str]) -> str:
    """By what one of several that are as good was taken."""
    if len(equal) < 2:
        return ""
    by = "by name" if judged.source == min(equal) else "of the receiver that speed is taken from"
    return f"; of {len(equal)} such the first {by}"


def _why(judged: Judged, offered: Sequence[Judged], *, by_user: bool) -> str:
    """Why it was taken."""
    if by_user:
        return "asked for"
    if len(offered) == 1:
        return "the only one"
    if judged.against:
        return f"none is better, though {' and '.join(judged.against)}"
    equal = [each.source for each in offered if not each.against]
    return f"nothing speaks against it{_first_of(judged, equal)}"


def _stop_on_needless(asked: Iterable[str], quantities: Sequence[str]) -> None:
    for quantity in asked:
        if quantity not in quantities:
            message = f"no run is cut by '{quantity}', so there is no source of it to take"
            fix = f"quantities taken: {', '.join(quantities)}"
            raise InputError([Finding("source-unknown", Severity.ERROR, message, fix)])


def _asked(quantity: str, source: str, judged: Sequence[Judged]) -> Judged:
    for each in judged:
        if each.source == source:
            return each
    there = ", ".join(f"'{each.source}'" for each in sorted(judged, key=lambda j: j.source)) or "none"  # fmt: skip
    raise InputError(
        [
            Finding(
                "source-unknown",
                Severity.ERROR,
                f"no source '{source}' has values of {quantity} in the sessions",
                f"sources that have: {there}; 'slackwater logs LOG' lists all",
            )
        ]
    )
