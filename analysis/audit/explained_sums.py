"""Which slip would explain that a figure does not follow from others, that parts miss their total, or that
one quantity is stated twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from slackwater.analysis.audit.book import Known
from slackwater.analysis.audit.consistency import usual_rounding
from slackwater.analysis.audit.explanations import (
    UNLIKELY,
    Explanation,
    best,
    reading_words,
    readings,
)
from slackwater.analysis.audit.identities import Identity, unit_of
from slackwater.analysis.audit.rounding import (
    Span,
    bounded,
    half_width,
    in_unit,
    nominal,
    span_of,
    total_of,
)
from slackwater.analysis.audit.slips import coarser
from slackwater.protocol.claims.figure import Figure


def explain_identity(
    identity: Identity, known: Mapping[str, Known], rounding: str, others: Mapping[str, Known]
) -> list[Explanation]:
    """What would explain that a figure does not follow from the others, best first.

    Parameters
    ----------
    identity : Identity
    known : mapping
        The figures of the identity, result included.
    rounding : str
    others : mapping
        The same parts with the other configuration, in case they were mixed up.
    """
    keys = (*identity.parts, identity.result)

    def spans(changed: Mapping[str, Known]) -> dict[str, Span]:
        return {key: changed[key].span(key, rounding) for key in keys}

    def fit(changed: Mapping[str, Known], rule: Callable[[Mapping[str, Span]], Span]) -> Decimal:
        exactly = {key: _printed(changed[key], key) for key in keys}
        figure = changed[identity.result].figure
        usual = usual_rounding(figure, unit_of(identity.result), rule(spans(changed)))
        return abs(rule(exactly).middle - exactly[identity.result].middle) / usual

    def holds(changed: Mapping[str, Known], rule: Callable[[Mapping[str, Span]], Span]) -> bool:
        found = spans(changed)
        return rule(found).meets(found[identity.result])

    out: list[Explanation] = []
    for way in identity.ways:
        if holds(known, way.rule):
            out.append(Explanation(way.code, way.words, fit(known, way.rule)))
    for key in keys:
        if key == "engine_speed" and known[key].where.endswith(", at"):
            continue  # the place itself
        for code, read in readings(known[key].figure, signs=False):
            changed = {**known, key: replace(known[key], figure=read)}
            if holds(changed, identity.rule):
                words = f"{reading_words(code, known[key].figure, read)} ({known[key].where})"
                # What is said of the boat is copied from a data sheet, seldom typed anew.
                extra = UNLIKELY if known[key].claim < 0 else Decimal(0)
                out.append(Explanation(code, words, fit(changed, identity.rule) + extra))
    out += _early_parts(identity, known)
    for key, other in others.items():
        changed = {**known, key: other}
        if identity.check == "range" and holds(changed, identity.rule):
            words = f"the {key.replace('_', ' ')} of the other configuration was used"
            out.append(Explanation("range", words, fit(changed, identity.rule)))
    return best(out)


def _printed(known: Known, key: str) -> Span:
    return nominal(known.figure, unit_of(key) or known.figure.unit)


def _early_parts(identity: Identity, known: Mapping[str, Known]) -> Iterator[Explanation]:
    """One part rounded a digit too early before the figure was worked out."""
    exactly = {key: _printed(known[key], key) for key in identity.parts}
    figure = known[identity.result].figure
    unit = unit_of(identity.result)
    half = half_width(figure)
    scale = in_unit(Span(half, half), figure.unit, unit).middle
    printed = _printed(known[identity.result], identity.result).middle
    for key in identity.parts:
        part = known[key].figure
        if part.is_span or part.about:
            continue
        for value in coarser(part.low, part.step):
            if value == part.low or value == 0:
                continue
            early = in_unit(Span(value, value), part.unit, unit_of(key) or part.unit)
            found = identity.rule({**exactly, key: early})
            off = abs(found.middle - printed)
            if bounded(found) and off <= scale:
                words = f"{known[key].where} had been rounded to {value:f} first"
                yield Explanation("over-rounded", words, off / scale)


def explain_total(total: Figure, parts: tuple[Figure, ...], unit: str) -> list[Explanation]:
    """What would explain that parts do not add up to their total, best first."""
    spans = [span_of(part, unit) for part in parts]
    whole = span_of(total, unit)
    sums = [total_of(spans[:i] + spans[i + 1 :]) for i in range(len(spans))]
    out = [
        Explanation("part-left-out", f"'{parts[i]}' was left out")
        for i, found in enumerate(sums)
        if len(parts) > 1 and found.meets(whole)
    ]
    for figure, others in [(total, None), *((part, i) for i, part in enumerate(parts))]:
        for code, read in readings(figure, signs=False):
            span = span_of(read, unit)
            right = (
                span.meets(total_of(spans))
                if others is None
                else (sums[others] + span).meets(whole)
            )
            if right:
                out.append(Explanation(code, reading_words(code, figure, read)))
    return best(out)


def explain_twice(first: Figure, second: Figure, unit: str) -> list[Explanation]:
    """What would explain that one quantity is stated twice with different figures, best first."""
    out = []
    for one, other in ((first, second), (second, first)):
        for code, read in readings(one, signs=False):
            if span_of(read, unit).meets(span_of(other, unit)):
                out.append(Explanation(code, reading_words(code, one, read)))
    return best(out)
