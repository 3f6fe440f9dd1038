"""Claims that cannot all be true: the smallest sets of them, and what would explain each.

No claim of such a set is blamed by itself, for the figures alone do not tell which of them is wrong.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from slackwater.analysis.audit.book import place_of
from slackwater.analysis.audit.explanations import Explanation, best, readings_of
from slackwater.analysis.audit.network import Tie, possible
from slackwater.analysis.audit.outcome import DISAGREES, Conflict, Reason
from slackwater.analysis.audit.sources import ROUNDING
from slackwater.analysis.audit.tied import (
    LEFT,
    Given,
    best_somewhere,
    given_by,
    given_by_boat,
    given_by_places,
    speaks_of_one_place,
    ties,
)
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.catalogue.recipes import at_a_session
from slackwater.protocol.claims.claim import Claim, Claims

_MEASURED = frozenset(name for name, one in MEASURES.items() if one.kind == "measured")
_LARGEST_SET = 4
_SEARCHED = 12  # claims of one place; above it claims are left out one by one


@dataclass
class _Group:
    """The claims of one place, with what ties them."""

    claims: Claims
    indices: list[int]
    _ties: dict[int, list[Tie]] = field(default_factory=dict)

    def possible(
        self,
        indices: Sequence[int],
        changed: Mapping[int, Claim] | None = None,
        *,
        bounds: bool = True,
    ) -> bool:
        """Whether some of the claims can all be true, with others in the place of some.

        Without `bounds` only what has to be equal counts, and not what may not exceed.
        """
        chosen = [(changed or {}).get(i, self.claims.claims[i]) for i in indices]
        given: Given = [g for claim in chosen for g in given_by(claim, self.claims.rounding)]
        names = list(dict.fromkeys(n for c in chosen for n in (c.baseline, c.modified)))
        given += given_by_boat(self.claims, names) + given_by_places(chosen)
        tied: dict[Tie, None] = {}
        for index in indices:
            if index not in self._ties:
                self._ties[index] = ties([self.claims.claims[index]])
            tied |= dict.fromkeys(t for t in self._ties[index] if bounds or not t.most)
        if not bounds:
            given = [(node, interval) for node, interval in given if node != LEFT]
        return possible(given, tied)


def conflicts_of(claims: Claims) -> list[tuple[list[int], Conflict]]:
    """Every smallest set of claims that cannot all be true, with the claims' indices."""
    found: dict[tuple[int, ...], Conflict] = {}
    for indices in _groups(claims):
        group = _Group(claims, indices)
        left = [i for i in indices if group.possible([i])]
        while len(left) > 1 and not group.possible(left):
            smallest = _smallest(group, left)
            if tuple(smallest) not in found:
                found[tuple(smallest)] = _conflict(group, smallest)
            left = [i for i in left if i not in smallest]
    return [(list(indices), conflict) for indices, conflict in found.items()]


def impossible_alone(claims: Claims) -> Iterator[tuple[int, Reason]]:
    """Claims whose own figures, with those beside them, cannot all be true."""
    for index, claim in enumerate(claims.claims):
        if speaks_of_one_place(claim) and not _Group(claims, [index]).possible([index]):
            message = f"Its figures cannot all be true at once: {_stated(claim)}."
            yield index, Reason("all-at-once", DISAGREES, message, source=ROUNDING)


def _groups(claims: Claims) -> Iterator[list[int]]:
    """The claims of each place, with those that hold for the boat as a whole."""
    places: dict[tuple[str, str], list[int]] = defaultdict(list)
    whole: list[int] = []
    for index, claim in enumerate(claims.claims):
        if at_a_session(claim.quantity):
            whole.append(index)
        elif not best_somewhere(claim):
            places[(place_of(claim, "baseline"), place_of(claim, "modified"))].append(index)
    if not places:
        yield whole
    for indices in places.values():
        if len(indices) + len(whole) > 1:
            yield sorted([*indices, *whole])


def _smallest(group: _Group, indices: list[int]) -> list[int]:
    if len(indices) <= _SEARCHED:
        for count in range(2, min(_LARGEST_SET, len(indices)) + 1):
            for chosen in combinations(indices, count):
                if not group.possible(chosen):
                    return list(chosen)
    kept = list(indices)
    for index in indices:  # leave out what is not needed for the conflict
        rest = [i for i in kept if i != index]
        if len(rest) > 1 and not group.possible(rest):
            kept = rest
    return kept


def _conflict(group: _Group, indices: list[int]) -> Conflict:
    claims = group.claims.claims
    found = best(_explanations(group, indices))
    ids = tuple(claims[i].id for i in indices)
    both = "cannot both be true" if len(ids) == 2 else "cannot all be true"
    stated = "; ".join(_stated(claims[i]) for i in indices)
    message = f"{_listed(ids)} {both}: {stated}."
    if all(claims[i].place is None and not at_a_session(claims[i].quantity) for i in indices):
        message += " They name no place, so they are taken to speak of the same one."
    if found:
        message += f" They could be if this were so: {found[0].words}."
    return Conflict(
        ids, message, found[0].code if found else "unexplained", found[0].words if found else ""
    )


def _listed(ids: Sequence[str]) -> str:
    return f"{', '.join(ids[:-1])} and {ids[-1]}"


def _stated(claim: Claim) -> str:
    figures = ", ".join(f"{name} '{figure}'" for name, figure in claim.stated.figures.items())
    beside = ", ".join(
        f"{name.replace('_', ' ')} '{figure}'"
        for side in (claim.beside.baseline, claim.beside.modified)
        for name, figure in side.items()
    )
    return f"{claim.id} states {claim.quantity.replace('_', ' ')} {figures}" + (
        f" beside {beside}" if beside else ""
    )


def _explanations(group: _Group, indices: list[int]) -> Iterator[Explanation]:
    """The slips in one figure of one claim with which all could be true.

    A bound that is broken does not tell by which slip. What is worked out from other figures is
    looked at before what is measured.
    """
    if group.possible(indices, bounds=False):
        return
    claims = group.claims.claims
    for index in sorted(indices, key=lambda i: claims[i].quantity in _MEASURED):
        claim = claims[index]
        for name, figure in claim.stated.figures.items():
            for code, words, read in readings_of(name, figure):
                figures = claim.stated.model_copy(update={name: read})
                changed = claim.model_copy(update={"stated": figures})
                if group.possible(indices, {index: changed}):
                    yield Explanation(code, f"{words} ({claim.id}, {name})")


def reasons_of(
    claims: Claims, found: Sequence[tuple[list[int], Conflict]]
) -> Iterator[tuple[int, Reason]]:
    """The conflicts as reasons on each claim of them, none of which makes it false by itself."""
    for indices, conflict in found:
        reason = Reason(
            "together",
            DISAGREES,
            conflict.message,
            conflict.explanation,
            "which of these claims is right",
            ROUNDING,
            conflict.likely,
            across=True,
        )
        for index in indices:
            yield index, reason
