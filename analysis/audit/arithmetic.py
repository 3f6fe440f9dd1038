"""Published figures held against each other, each as an interval of its rounding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.consistency import (
    ClaimFigures,
    agree,
    agree_cut_off,
    figures_of,
    implied_change,
    implied_difference,
    of_baseline,
)
from slackwater.analysis.audit.explained_sums import explain_total
from slackwater.analysis.audit.explanations import explain_claim, explained
from slackwater.analysis.audit.one_place import within_a_place
from slackwater.analysis.audit.outcome import AGREES, DISAGREES, FINDING, OPEN, Reason
from slackwater.analysis.audit.rounding import (
    ENDLESS,
    Span,
    can_be_counted,
    coarseness,
    in_unit,
    nearest_counts,
    span_of,
    total_of,
)
from slackwater.analysis.audit.sources import GRIM, ROUNDING
from slackwater.protocol.claims.claim import Claim, Claims
from slackwater.protocol.claims.figure import Figure


def check_arithmetic(claims: Claims) -> list[list[Reason]]:
    """Hold the figures of every claim against themselves and against those of the others.

    Returns
    -------
    list of list of Reason
        For each claim in order. A claim is inconsistent when one of its outcomes is "disagrees".
    """
    out: list[list[Reason]] = [[] for _ in claims.claims]
    for index, claim in enumerate(claims.claims):
        out[index] += within_claim(figures_of(claim, claims.rounding))
        out[index] += _totals(claim, claims.rounding)
        out[index] += _counted(claim)
    for index, reason in within_a_place(claims):
        out[index].append(reason)
    return out


def within_claim(claim: ClaimFigures) -> list[Reason]:
    """Whether baseline, modified, difference and percentage of one claim agree."""
    if len(claim.figures) < 2:
        return []
    reasons = list(_pairwise(claim))
    if agree(claim):
        return [*reasons, *_base_open(claim)]
    bad = [r for r in reasons if r.outcome == DISAGREES]
    if agree(claim, wide=True):
        listed = ", ".join(f"'{f}'" for f in claim.figures.values())
        message = (
            f"The figures {listed} agree only if some of them are round figures (to fives, tens or "
            "hundreds); read to the last digit they do not."
        )
        settle = "the figures at full precision"
        return [
            *(r for r in reasons if r.outcome == AGREES),
            Reason("round-figures", FINDING, message, settle=settle, source=ROUNDING),
        ]
    if agree_cut_off(claim):
        listed = ", ".join(f"'{f}'" for f in claim.figures.values())
        message = (
            f"The figures {listed} agree when their last digits were cut off instead of rounded; "
            "rounded, they do not."
        )
        settle = "whether digits were rounded or cut off (rounding: down)"
        return [
            *(r for r in reasons if r.outcome == AGREES),
            Reason("cut-off", FINDING, message, settle=settle, source=ROUNDING),
        ]
    found = explain_claim(claim)
    if not bad:
        listed = ", ".join(f"{name} '{f}'" for name, f in claim.figures.items())
        message = f"No pair of true values rounds to all of these at once: {listed}."
        bad = [Reason("all-at-once", DISAGREES, message, source=ROUNDING)]
        reasons.extend(bad)
    return [explained(r, found) if r in bad else r for r in reasons]


def _base_open(claim: ClaimFigures) -> Iterator[Reason]:
    """A percentage that the printed values give exactly of the other base."""
    values = {n: claim.figures[n] for n in ("baseline", "modified") if n in claim.figures}
    change = claim.figures.get("change")
    if change is None or len(values) < 2 or change.bound or change.about or change.is_span:
        return
    given = {name: Span(v, v) for name in values if (v := claim.nominal(name)) is not None}
    printed, half = claim.nominal("change"), change.step / 2
    found = {}
    for base in ("baseline", "modified"):
        exactly = implied_change(replace(claim, change_of=base), given)
        if exactly is None:
            return
        found[base] = exactly.middle
    other = "modified" if claim.change_of == "baseline" else "baseline"
    off = {base: abs(value - printed) for base, value in found.items()}
    if off[other] <= half < off[claim.change_of]:
        message = (
            f"The printed values give {shown.number(found[claim.change_of], 2, signed=True)} % of "
            f"the {claim.change_of} and {shown.number(found[other], 2, signed=True)} % of the "
            f"{other}; '{change}' is printed. Rounding leaves both open, so this is no fault yet."
        )
        yield Reason("base", FINDING, message, settle="what the percentage is of")


def _pairwise(claim: ClaimFigures) -> Iterator[Reason]:
    spans = claim.spans()
    difference = implied_difference(spans)
    figures = claim.figures
    if difference is not None and "difference" in spans:
        printed = figures["difference"]
        step = in_unit(Span(printed.step, printed.step), printed.unit, claim.unit).middle
        yield _follows(
            "difference",
            f"the difference '{printed}'",
            f"'{figures['baseline']}' and '{figures['modified']}'",
            spans["difference"].meets(difference),
            shown.span(difference, claim.unit, signed=True),
            shown.printable_values(difference, step, claim.unit, signed=True)
            if printed.unit == claim.unit
            else "",
        )
    if "change" not in spans:
        return
    change = figures["change"]
    base = {"baseline": "the baseline", "modified": "the modified value"}[claim.change_of]
    pairs = (("baseline", "modified"), ("baseline", "difference"), ("modified", "difference"))
    for names in pairs:
        if not set(names) <= spans.keys() or (names[1] == "difference" and len(spans) > 3):
            continue
        found = implied_change(claim, {name: spans[name] for name in names})
        if found is None or claim.figures[names[0]].low == 0:
            continue
        yield _follows(
            "percentage",
            f"the percentage '{change}', of {base},",
            " and ".join(f"'{figures[name]}'" for name in names),
            spans["change"].meets(found),
            shown.span(found, "%", signed=True),
            shown.printable_values(found, change.step, "%", signed=True),
        )


def _follows(check: str, what: str, of: str, holds: bool, gives: str, agreeing: str) -> Reason:
    if holds:
        message = f"{what[:1].upper()}{what[1:]} follows from {of}: they leave {gives} open."
        return Reason(check, AGREES, message, source=ROUNDING)
    message = f"{what[:1].upper()}{what[1:]} does not follow from {of}: they give {gives}"
    message += f", so {agreeing} would agree." if agreeing else "."
    return Reason(check, DISAGREES, message, source=ROUNDING)


def _totals(claim: Claim, rounding: str) -> Iterator[Reason]:
    for side in ("baseline", "modified"):
        parts: tuple[Figure, ...] = getattr(claim.parts, side)
        total = claim.stated.figures.get(side)
        if not parts:
            continue
        if total is None:
            yield _no_total(side, parts, rounding)
        else:
            yield _total(total, parts, rounding)


def _listed(parts: tuple[Figure, ...]) -> str:
    listed = " + ".join(part.text for part in parts[:8])
    return listed + (f" and {len(parts) - 8} more" if len(parts) > 8 else "")


def _sum_of(parts: tuple[Figure, ...], unit: str, rounding: str) -> Span:
    return total_of(span_of(part, unit, rounding=rounding) for part in parts)


def _no_total(side: str, parts: tuple[Figure, ...], rounding: str) -> Reason:
    unit = parts[0].unit
    gives = shown.span(_sum_of(parts, unit, rounding), unit)
    message = (
        f"The parts {_listed(parts)} of the {side} add up to {gives}, and no total is stated that "
        "could be held against it."
    )
    return Reason("total", OPEN, message, settle=f"the {side} that the parts add up to")


def _total(total: Figure, parts: tuple[Figure, ...], rounding: str) -> Reason:
    found = _sum_of(parts, total.unit, rounding)
    gives, listed = shown.span(found, total.unit), _listed(parts)
    if found.meets(span_of(total, rounding=rounding)):
        return Reason("total", AGREES, f"'{total}' is the total of {listed}: {gives}.")
    if found.meets(span_of(total, rounding=rounding, coarse=coarseness([total]))):
        message = f"'{total}' is the total of {listed} ({gives}) only as a round figure."
        return Reason("total", FINDING, message, source=ROUNDING)
    if _sum_of(parts, total.unit, "down").meets(span_of(total, rounding="down")):
        message = f"'{total}' is the total of {listed} only when digits were cut off."
        return Reason("cut-off", FINDING, message, source=ROUNDING)
    agreeing = shown.printable_values(found, total.step, total.unit)
    message = (
        f"'{total}' is not the total of {listed}: they give {gives}, so {agreeing} would agree."
    )
    reason = Reason("total", DISAGREES, message, source=ROUNDING)
    return explained(reason, explain_total(total, parts, total.unit))


def _counted(claim: Claim) -> Iterator[Reason]:
    if claim.counts is None:
        return
    of, items = claim.counts.of, claim.counts.items
    for name, figure in claim.stated.figures.items():
        if name not in ("baseline", "modified", "change") or (
            name == "change" and len(claim.stated.figures) > 1
        ):
            continue
        whole = f"{of} whole numbers" if items == 1 else f"{of} means of {items} whole numbers"
        if can_be_counted(figure, of, items):
            message = f"'{figure}' can be a mean or share of {whole}."
            yield Reason("granularity", AGREES, message, source=GRIM)
        else:
            near = nearest_counts(figure, of, items)
            ends = " or ".join(f"{shown.number(v)}{shown.unit_of(figure.unit)}" for v in near)
            message = f"'{figure}' cannot be a mean or share of {whole}; the nearest are {ends}."
            yield Reason(
                "granularity", DISAGREES, message, "granularity", "the counts themselves", GRIM
            )


def stated_change(claim: Claim, rounding: str = "nearest") -> Span | None:
    """The change that a claim states, as a percentage of the baseline. [%]

    What is printed as a percentage of the modified value is turned over. None when the claim's own
    figures do not give one, or leave every change open: "at least 16 kn" before and after.
    """
    found = _stated_change(claim, rounding)
    return None if found is not None and found.low <= -100 and found.high >= ENDLESS else found


def _stated_change(claim: Claim, rounding: str) -> Span | None:
    figures = figures_of(claim, rounding)
    spans = figures.spans()
    plain = replace(figures, change_of="baseline")
    implied = implied_change(plain, spans)
    change = spans.get("change")
    if change is not None:
        change = of_baseline(change, figures.change_of)
    if change is None or implied is None or not implied.meets(change):
        return change if change is not None else implied
    named = figures.figures["change"]
    if named.spread or named.bound:
        return change  # what is said of the change itself is the claim; the values only go with it
    # Both are stated, so both hold: "about 5 %" beside 14.0 and 14.7 kn is no wider than these.
    return Span(max(change.low, implied.low), min(change.high, implied.high))
