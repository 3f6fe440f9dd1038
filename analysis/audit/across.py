"""Figures of several claims held against each other: what follows from what, what is said twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.consistency import figures_of
from slackwater.analysis.audit.explanations import explain_identity, explain_twice, explained
from slackwater.analysis.audit.identities import IDENTITIES, Book, Identity, Known, collect, unit_of
from slackwater.analysis.audit.outcome import AGREES, DISAGREES, FINDING, ROUNDING, Reason
from slackwater.analysis.audit.rounding import coarseness, in_unit, span_of
from slackwater.protocol.claims.claim import Claims

#: Quantities of which a boat has one, wherever in the text it stands.
_SINGLE = ("top_speed", "planing_threshold", "best_economy_speed")


def across_claims(claims: Claims) -> Iterator[tuple[int, Reason]]:
    """Every check between figures of one configuration, with the index of the claim it falls on."""
    book = collect(claims)
    yield from _identities(book, claims)
    yield from _twice(book, claims)
    yield from _changes_twice(claims)


def _identities(book: Book, claims: Claims) -> Iterator[tuple[int, Reason]]:
    for (configuration, place), entry in book.items():
        done: set[tuple[str, int]] = set()
        for identity in IDENTITIES:
            if identity.check == "range-at-most" and (
                "fuel_reserve" in entry or "fuel_reserve_volume" in entry
            ):
                continue
            if not all(part in entry for part in identity.parts):
                continue
            for result in entry.get(identity.result, ()):
                key = (identity.result, id(result))
                if result.claim < 0 or key in done:
                    continue
                done.add(key)
                known = {part: entry[part][0] for part in identity.parts}
                known[identity.result] = result
                others = _other_side(book, configuration, place, identity)
                yield result.claim, _identity(identity, known, claims.rounding, others)


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
    agreeing = shown.printable_values(back, result.figure.step, result.figure.unit)
    message = (
        f"{where} does not follow from {listed}: {identity.formula} gives {gives}, so {agreeing} "
        "would agree."
    )
    across = any(one.claim not in (result.claim, -1) for one in known.values())
    reason = Reason(identity.check, DISAGREES, message, source=ROUNDING, across=across)
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
            if first.figure == other.figure:
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
        Reason(
            "stated-twice",
            DISAGREES,
            message,
            source=ROUNDING,
            across=first.claim != other.claim,
        ),
        explain_twice(first.figure, other.figure, unit),
    )
    for index in sorted({first.claim, other.claim} - {-1}):
        yield index, reason


def _changes_twice(claims: Claims) -> Iterator[tuple[int, Reason]]:
    """Differences and percentages of one and the same comparison, stated in two claims."""
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for index, claim in enumerate(claims.claims):
        at = "" if claim.at is None else str(claim.at)
        other = "" if claim.at_modified is None else str(claim.at_modified)
        if at or claim.quantity in _SINGLE:
            key = (claim.quantity, claim.baseline, claim.modified, at, other)
            groups[(*key, claim.stated.change_of)].append(index)
    for indices in groups.values():
        for second in indices[1:]:
            yield from _change_twice(claims, indices[0], second)


def _change_twice(claims: Claims, first: int, second: int) -> Iterator[tuple[int, Reason]]:
    both = [claims.claims[i] for i in (first, second)]
    prepared = [figures_of(claim, claims.rounding) for claim in both]
    for name in ("difference", "change"):
        if not all(name in claim.figures for claim in prepared):
            continue
        one, other = (claim.figures[name] for claim in prepared)
        unit = prepared[0].own_unit(name)
        if span_of(one, unit, rounding=claims.rounding).meets(
            span_of(other, unit, rounding=claims.rounding)
        ):
            continue
        message = (
            f"The same {name} is stated twice: '{one}' ({both[0].id}) and '{other}' ({both[1].id})."
        )
        reason = explained(
            Reason("stated-twice", DISAGREES, message, source=ROUNDING, across=True),
            explain_twice(one, other, unit),
        )
        yield first, reason
        yield second, reason
