"""Figures of one claim and its place held against each other: what follows from what, what is said twice.

What several claims have to do with each other is told in `conflicts`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.book import Book, Known, collect
from slackwater.analysis.audit.explained_sums import explain_identity, explain_twice
from slackwater.analysis.audit.explanations import explained
from slackwater.analysis.audit.identities import Identity, identities, unit_of
from slackwater.analysis.audit.outcome import AGREES, DISAGREES, FINDING, Reason
from slackwater.analysis.audit.rounding import coarseness, in_unit
from slackwater.analysis.audit.sources import ROUNDING
from slackwater.protocol.claims.claim import Claims

#: Quantities of which a boat has one, wherever in the text it stands.
_SINGLE = ("top_speed", "planing_threshold", "best_economy_speed")


def within_a_place(claims: Claims) -> Iterator[tuple[int, Reason]]:
    """Every check between figures of one claim and configuration, with the index of the claim."""
    book = collect(claims)
    yield from _identities(book, claims)
    yield from _twice(book, claims)


def _identities(book: Book, claims: Claims) -> Iterator[tuple[int, Reason]]:
    for (configuration, place), entry in book.items():
        done: set[tuple[str, int]] = set()
        for identity in identities():
            if identity.check == "range-at-most" and (
                "fuel_reserve" in entry or "fuel_reserve_volume" in entry
            ):
                continue
            for result in entry.get(identity.result, ()):
                key = (identity.result, id(result))
                known = _of_one_claim(entry, identity, result)
                if result.claim < 0 or key in done or known is None:
                    continue
                done.add(key)
                others = _other_side(book, configuration, place, identity)
                yield result.claim, _identity(identity, known, claims.rounding, others)


def _of_one_claim(
    entry: Mapping[str, list[Known]], identity: Identity, result: Known
) -> dict[str, Known] | None:
    """The figures of an identity that stand in one claim, or are said of the boat; None where one lacks."""
    known = {identity.result: result}
    for part in identity.parts:
        own = [one for one in entry.get(part, ()) if one.claim in (result.claim, -1)]
        if not own:
            return None
        known[part] = own[0]
    return known


def _other_side(book: Book, configuration: str, place: str, identity: Identity) -> dict[str, Known]:
    for (other, at), entry in book.items():
        if other != configuration and at == place:
            return {p: entry[p][0] for p in identity.parts if p in entry and entry[p][0].claim >= 0}
    return {}


def _identity(
    identity: Identity, known: Mapping[str, Known], rounding: str, others: Mapping[str, Known]
) -> Reason:
    result = known[identity.result]
    unit = unit_of(identity.result) or result.figure.unit
    spans = {key: one.span(key, rounding) for key, one in known.items()}
    found = identity.rule(spans)
    listed = ", ".join(f"{p.replace('_', ' ')} '{known[p].figure}'" for p in identity.parts)
    back = in_unit(found, unit, result.figure.unit)
    gives = shown.span(back, result.figure.unit)
    title = identity.result.replace("_", " ")
    where = f"The {title} '{result.figure}' ({result.where})"
    if found.meets(spans[identity.result]):
        message = f"{where} follows from {listed}: {identity.formula} gives {gives}."
        return Reason(identity.check, AGREES, message, source=ROUNDING)
    wide = result.span(identity.result, rounding, coarseness([result.figure]))
    if found.meets(wide):
        message = f"{where} follows from {listed} ({gives}) only as a round figure."
        return Reason(identity.check, FINDING, message, source=ROUNDING)
    cut = {key: one.span(key, "down") for key, one in known.items()}
    if identity.rule(cut).meets(cut[identity.result]):
        message = f"{where} follows from {listed} only when digits were cut off instead of rounded."
        return Reason("cut-off", FINDING, message, source=ROUNDING)
    agreeing = shown.printable_values(back, result.figure.step, result.figure.unit)
    message = (
        f"{where} does not follow from {listed}: {identity.formula} gives {gives}, so {agreeing} "
        "would agree."
    )
    reason = Reason(identity.check, DISAGREES, message, source=ROUNDING)
    if identity.check == "range-at-most":
        return explained(reason, [])  # a bound that is broken does not tell by which slip
    return explained(reason, explain_identity(identity, known, rounding, others))


def _twice(book: Book, claims: Claims) -> Iterator[tuple[int, Reason]]:
    groups: dict[tuple[str, str, str], list[Known]] = defaultdict(list)
    for (configuration, place), entry in book.items():
        for quantity, found in entry.items():
            single = quantity in _SINGLE
            if single or not place.startswith("#"):
                groups[(configuration, "" if single else place, quantity)] += found
            elif len(found) > 1:
                groups[(configuration, place, quantity)] += found
    for (_, _, quantity), found in groups.items():
        first = found[0]
        unit = unit_of(quantity) or first.figure.unit
        for other in found[1:]:
            if first.figure == other.figure or first.claim != other.claim:
                continue
            yield from _two(first, other, quantity, unit, claims.rounding)


def _two(
    first: Known, other: Known, quantity: str, unit: str, rounding: str
) -> Iterator[tuple[int, Reason]]:
    spans = [one.span(quantity, rounding, coarseness([one.figure])) for one in (first, other)]
    title = quantity.replace("_", " ")
    if spans[0].meets(spans[1]):
        return
    message = (
        f"The same {title} is stated twice: '{first.figure}' ({first.where}) and "
        f"'{other.figure}' ({other.where})."
    )
    reason = explained(
        Reason("stated-twice", DISAGREES, message, source=ROUNDING),
        explain_twice(first.figure, other.figure, unit),
    )
    for index in sorted({first.claim, other.claim} - {-1}):
        yield index, reason
