"""Which trials of a pool count, and on which boats: doubles out, trials of one boat joined.

A boat is what a pool counts. Several trials of one boat are joined first, by the inverse of their
variances, and where they differ more than their errors account for, the joined error is widened by as
much; however many they are, they stay one boat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from slackwater.analysis.many.alignment import Placed
from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.statistics.crossed import connected
from slackwater.analysis.wording.words import count_of, listed
from slackwater.protocol.findings import Finding, Severity


@dataclass(frozen=True, slots=True)
class Member:
    """A trial that may be pooled.

    Attributes
    ----------
    name : str
        The file, or what else it is known by.
    outcome : Outcome
    boat : str
    pair : (str, str)
        Ids of the configurations that are compared.
    """

    name: str
    outcome: Outcome
    boat: str
    pair: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Entered:
    """A trial as it is entered: what is declared of it beside its own file.

    Attributes
    ----------
    name : str
    outcome : Outcome
    boat, baseline, modified : str or None
        Where they are declared.
    """

    name: str
    outcome: Outcome
    boat: str | None = None
    baseline: str | None = None
    modified: str | None = None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A trial that is no part of the pool, and why."""

    name: str
    reason: str


def members_of(entered: Sequence[Entered]) -> tuple[list[Member], list[LeftOut]]:
    """The trials that count, and those that do not."""
    members: list[Member] = []
    left: list[LeftOut] = []
    for one in entered:
        twin = next((m for m in members if _same_runs(m.outcome, one.outcome)), None)
        if twin is not None:
            reason = (
                f"its runs are those of {twin.name}; a trial counts once, whatever it is called"
            )
            left.append(LeftOut(one.name, reason))
            continue
        pair = _pair_of(one)
        if isinstance(pair, str):
            left.append(LeftOut(one.name, pair))
            continue
        boat = one.boat or one.outcome.boat or f"boat of {one.outcome.trial}"
        members.append(Member(one.name, one.outcome, " ".join(boat.split()), pair))
    return members, left


def _same_runs(one: Outcome, other: Outcome) -> bool:
    return one.runs_sha256 == other.runs_sha256 or one.content == other.content


def _pair_of(one: Entered) -> tuple[str, str] | str:
    """The comparison that is pooled, or why there is none."""
    pairs = list(dict.fromkeys((c.baseline, c.modified) for c in one.outcome.changes))
    fitting = [
        pair
        for pair in pairs
        if one.baseline in (None, pair[0]) and one.modified in (None, pair[1])
    ]
    if len(fitting) == 1:
        return fitting[0]
    if not pairs:
        return "it compares nothing"
    told = listed([f"{modified} against {baseline}" for baseline, modified in pairs])
    if not fitting:
        wanted = " against ".join(name for name in (one.modified, one.baseline) if name)
        return f"it has no comparison of {wanted}; it compares {told}"
    return f"it compares {told}: say which, by 'baseline' and 'modified' in a pool file"


def joined(shown: Sequence[Placed]) -> Placed:
    """Trials of one boat as one.

    Parameters
    ----------
    shown : sequence of Placed
        One at least.
    """
    weights = [1 / one.standard_error**2 for one in shown]
    whole = sum(weights)
    value = sum(w * one.value for w, one in zip(weights, shown, strict=True)) / whole
    scatter = sum(w * (one.value - value) ** 2 for w, one in zip(weights, shown, strict=True))
    widened = max(scatter / (len(shown) - 1), 1.0) if len(shown) > 1 else 1.0
    parts = sum((w / whole) ** 2 / one.df for w, one in zip(weights, shown, strict=True))
    return Placed(value, sqrt(widened / whole), 1 / parts)


def boats_of(members: Sequence[Member]) -> dict[str, list[int]]:
    """The trials of each boat, by their number; names that differ in case alone are one boat."""
    found: dict[str, tuple[str, list[int]]] = {}
    for number, member in enumerate(members):
        found.setdefault(member.boat.casefold(), (member.boat, []))[1].append(number)
    return dict(found.values())


def findings_on(members: Sequence[Member], left: Sequence[LeftOut]) -> list[Finding]:
    """What there is to know of the trials before they are put together."""
    found = [_left_out(each) for each in left]
    for boat, numbers in boats_of(members).items():
        if len(numbers) > 1:
            names = listed([members[n].name for n in numbers])
            found.append(
                _told(
                    "trials-of-one-boat",
                    f"{names} are trials of one boat, {boat}; they are joined first and count as "
                    "one boat",
                    "name the boats apart in a pool file if they are several",
                    Severity.ADVICE,
                )
            )
    nameless = [m.name for m in members if m.boat == f"boat of {m.outcome.trial}"]
    if nameless:
        found.append(
            _told(
                "boat-without-name",
                f"{listed(nameless)} {'name' if len(nameless) > 1 else 'names'} no boat; each is "
                "taken for a boat of its own",
                "give the boat a title in the trial, or name it in a pool file",
            )
        )
    found += _differing(members)
    found += _by_crews(members)
    return found


def _left_out(each: LeftOut) -> Finding:
    return _told("trial-left-out", f"{each.name} is left out: {each.reason}", "")


def _told(rule: str, message: str, fix: str, severity: Severity = Severity.WARNING) -> Finding:
    return Finding(rule, severity, message, fix)


def _differing(members: Sequence[Member]) -> list[Finding]:
    """Where trials are not alike in what they declare."""
    found = []
    changes = _kinds({m.outcome.configurations.get(m.pair[1], m.pair[1]) for m in members})
    if len(changes) > 1:
        found.append(
            _told(
                "changes-named-apart",
                f"the trials call the change {listed([repr(c) for c in changes])}; the pool takes "
                "them for the same change, which nothing in the files can show",
                "leave out the trials of another change",
            )
        )
    protocols = _kinds({f"{m.outcome.protocol} {m.outcome.version}" for m in members})
    if len(protocols) > 1:
        found.append(
            _told(
                "protocols-differ",
                f"the trials were run to {count_of(len(protocols), 'protocol')} "
                f"({listed(protocols)}); what differs in the methods counts as differing boats",
                "",
                Severity.ADVICE,
            )
        )
    tools = _kinds({m.outcome.tool for m in members})
    if len(tools) > 1:
        found.append(
            _told(
                "tool-versions-differ",
                f"the outcomes were made by versions {listed(tools)} of slackwater",
                "analyse all trials anew with one version",
            )
        )
    return found


def _by_crews(members: Sequence[Member]) -> list[Finding]:
    """Where crews and boats cannot be told apart, so that what is said of boats holds crews as well."""
    pairs = [(m.boat.casefold(), crew) for m in members for crew in m.outcome.crews]
    crews = sorted({crew for _, crew in pairs})
    if not crews:
        return []
    if len(crews) == 1:
        message = f"all trials that name a crew are by {crews[0]}: what another crew would find nothing tells"
        return [_told("one-crew", message, "", Severity.ADVICE)]
    parts = connected(*zip(*pairs, strict=True))
    if len(parts) < 2:
        return []
    message = (
        f"the crews {listed(crews)} do not all share boats: crews and boats cannot be told apart, and "
        "what differs between boats holds what differs between crews"
    )
    return [
        _told(
            "crews-and-boats", message, "let two crews try the change on one boat", Severity.ADVICE
        )
    ]


def _kinds(names: set[str]) -> list[str]:
    return sorted(names, key=str.casefold)
