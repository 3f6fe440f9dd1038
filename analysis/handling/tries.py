"""Tries of manoeuvres in one session's channels: found, read, and what was left out, with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from slackwater.analysis.handling.circles_found import Circles, LeftOut, circles_of
from slackwater.analysis.handling.found_try import FoundTry, whole
from slackwater.analysis.handling.own_values import read_own
from slackwater.analysis.handling.path import Path
from slackwater.analysis.handling.try_planing import planing
from slackwater.analysis.handling.try_speeds import speeds, stops
from slackwater.analysis.handling.try_straights import straights
from slackwater.analysis.handling.try_turns import HALF_TURN, turns
from slackwater.analysis.handling.wanted import Wanted
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import NoTrack


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one session's channels: tries in order of time, what was left out, what is to be said."""

    tries: tuple[FoundTry, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = field(default=())


def tries_of(channels: Sequence[Channel], wanted: Sequence[Wanted], terms: CutTerms) -> Tried:
    """All tries of the manoeuvres of a protocol in one session's channels, from one channel for each quantity."""
    circles = circles_of(channels, HALF_TURN)
    found: list[FoundTry] = []
    left: list[LeftOut] = []
    notes: list[str] = []
    for each in wanted:
        why = each.why_not or circles.why_none
        if circles.path is None or each.why_not:
            notes.append(f"{each.name} is not looked for: {why}")
            continue
        try:
            made = list(_sought(each, circles.path, circles, channels, terms))
        except NoTrack as error:
            notes.append(f"{each.name} is not looked for: {error}")
            continue
        found += [_read(one, each, channels) for one in made if isinstance(one, FoundTry)]
        left += [one for one in made if isinstance(one, LeftOut)]
        if each.by_hand:
            notes.append(
                f"{each.name}: logs do not tell {', '.join(each.by_hand)}; write it in by hand, or declare in the protocol "
                "how it is read ('from_log:')"
            )
    return Tried(
        tuple(sorted(found, key=lambda one: one.start)),
        tuple(sorted(left, key=lambda one: one.start)),
        tuple(notes),
    )


def _read(one: FoundTry, wanted: Wanted, channels: Sequence[Channel]) -> FoundTry:
    """The try with the protocol's own values beside those that it was found by."""
    own = {each.name: read_own(each, channels, one.start, one.end) for each in wanted.own}
    return whole(one, own)


def _sought(
    wanted: Wanted, path: Path, circles: Circles, channels: Sequence[Channel], terms: CutTerms
) -> Iterator[FoundTry | LeftOut]:
    """What is found of one manoeuvre, by its sort."""
    if wanted.sort == "turn":
        return turns(wanted, circles)
    if wanted.sort == "stop":
        return stops(wanted, path, circles, channels)
    if wanted.sort == "speed":
        return speeds(wanted, path, circles, channels)
    if wanted.sort == "planing":
        return planing(wanted, path, circles, channels)
    return straights(wanted, channels, terms)
