"""Which single slip would explain that published figures disagree.

Every slip is tried as a repair: with it undone, the figures have to agree. Among those that do, the
one under which the printed numbers fit best comes first, and of equals the one people make oftenest.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from slackwater.analysis.audit.consistency import (
    ClaimFigures,
    agree,
    implied_change,
    misfit,
    negated,
)
from slackwater.analysis.audit.outcome import Reason
from slackwater.analysis.audit.rounding import Span, half_width, in_unit
from slackwater.analysis.audit.slips import (
    carry_slips,
    coarser,
    mirrored,
    other_units,
    shifted_point,
    swapped_digits,
)
from slackwater.protocol.claims.figure import Figure

#: The order in which slips are named when the figures cannot tell between them: common practice.
ORDER = (
    "mirrored",
    "wrong-base",
    "points",
    "range",
    "sign",
    "swapped-columns",
    "gear-ratio",
    "inverted",
    "part-left-out",
    "subtraction",
    "over-rounded",
    "read-to",
    "swapped-digits",
    "unit",
    "decimal-point",
)
_FITS = Decimal("1.25")  # of what rounding usually does, that printed numbers may be off
UNLIKELY = Decimal(5)  # added to a slip that is named only when nothing else explains


@dataclass(frozen=True, slots=True)
class Explanation:
    """A slip that would explain a disagreement."""

    code: str
    words: str
    misfit: Decimal = Decimal(0)
    second: str = ""  # a code that goes before this one when both explain

    @property
    def rank(self) -> tuple[bool, float, Decimal]:
        """What explains best sorts first."""
        place = ORDER.index(self.second) + 0.5 if self.second else ORDER.index(self.code)
        return (self.misfit > _FITS, place, self.misfit)


def best(found: Iterable[Explanation]) -> list[Explanation]:
    """The explanations, best first, one of a kind."""
    out: dict[str, Explanation] = {}
    for one in sorted(found, key=lambda e: e.rank):
        out.setdefault(one.code, one)
    return list(out.values())


def explain_claim(claim: ClaimFigures) -> list[Explanation]:
    """What would explain that the figures of one claim disagree, best first."""
    found = [*_bases(claim), *_arithmetic(claim), *_chains(claim)]
    found += [*_points(claim), *_swapped(claim), *_read_to(claim)]
    for name, figure in claim.figures.items():
        for code, read in readings(figure, signs=name in ("difference", "change")):
            repaired = claim.changed(name, read)
            if agree(repaired):
                words = f"{reading_words(code, figure, read)} ({name})"
                found.append(Explanation(code, words, misfit(repaired)))
    return best(found)


def explained(reason: Reason, found: Sequence[Explanation]) -> Reason:
    """A disagreement with the slips that would explain it, the likeliest first."""
    settle = "which of the figures is right"
    if not found:
        return replace(reason, explanation="unexplained", settle=settle)
    words = f" It would follow if this were so: {found[0].words}."
    if len(found) > 1:
        others = "; or ".join(one.words for one in found[1:3])
        words += f" Less likely: {others}."
    return replace(
        reason,
        message=reason.message + words,
        explanation=found[0].code,
        settle=settle,
        likely=found[0].words,
    )


def readings(figure: Figure, *, signs: bool) -> Iterator[tuple[str, Figure]]:
    for read in swapped_digits(figure):
        yield "swapped-digits", read
    for read in other_units(figure):
        yield "unit", read
    for read in shifted_point(figure):
        yield "decimal-point", read
    if signs and figure.low != 0:
        yield "sign", negated(figure)


def readings_of(name: str, figure: Figure) -> Iterator[tuple[str, str, Figure]]:
    """Every slip that one figure of a claim may hold: its code, in words, and the figure without it."""
    if name == "change":
        turned = mirrored(figure)
        if turned is not None:
            words = f"'{figure}' was carried over to the inverse, for which it is {turned.middle:+.1f} %"
            yield "mirrored", words, turned
    for code, read in readings(figure, signs=name in ("difference", "change")):
        yield code, reading_words(code, figure, read), read


def reading_words(code: str, figure: Figure, read: Figure) -> str:
    if code == "swapped-digits":
        return f"two digits are swapped: '{figure}' for {read}"
    if code == "unit":
        return f"the unit is another one: '{figure}' for {read.text}"
    if code == "decimal-point":
        return f"the decimal point is one digit off: '{figure}' for {read}"
    return f"'{figure}' has the wrong sign"


def _bases(claim: ClaimFigures) -> Iterator[Explanation]:
    if "change" not in claim.figures:
        return
    words = {
        "baseline": "the percentage is of the baseline value",
        "modified": "the percentage is of the modified value, not of the baseline",
        "both": "the percentage is of the mean of the two values, which is neither",
    }
    for base, said in words.items():
        other = replace(claim, change_of=base)
        if base == claim.change_of or not agree(other):
            continue
        # Where the printed values give another last digit, early rounding is the likelier slip.
        given = {
            n: Span(v, v)
            for n in ("baseline", "modified", "difference")
            if n in claim.figures and (v := claim.nominal(n)) is not None
        }
        exactly = implied_change(other, given)
        change = claim.figures["change"]
        prints = exactly is not None and (
            abs(exactly.middle - claim.nominal("change")) <= half_width(change)
        )
        yield Explanation("wrong-base", said, misfit(other), "" if prints else "over-rounded")


def _points(claim: ClaimFigures) -> Iterator[Explanation]:
    """A difference in percentage points that was printed as a percentage of the baseline."""
    change = claim.figures.get("change")
    if change is None or claim.unit not in ("1", "%") or "difference" in claim.figures:
        return
    figures = {**claim.without("change").figures, "difference": change}
    read = replace(claim, figures=figures, sizes=claim.sizes | {"difference"}).directed()
    if agree(read):
        words = f"'{change}' is the difference in percentage points, and no percentage"
        yield Explanation("points", words, misfit(read))


def _read_to(claim: ClaimFigures) -> Iterator[Explanation]:
    """Values read to the nearest half or whole unit, and printed to a digit more."""
    names = [n for n in ("baseline", "modified", "difference") if n in claim.figures]
    digits = {claim.figures[n].step for n in names}
    if len(digits) != 1 or "change" not in claim.figures:
        return
    for times in (5, 10):
        step = digits.copy().pop() * times
        if any(claim.figures[n].low % step for n in names):
            continue
        coarse = {n: replace(claim.figures[n], step=step) for n in names}
        read = replace(claim, figures={**claim.figures, **coarse})
        if agree(read):
            unit = claim.figures[names[0]].unit
            words = f"the values were read to the nearest {step.normalize():f} {unit} only"
            yield Explanation("read-to", words, misfit(read))


def _swapped(claim: ClaimFigures) -> Iterator[Explanation]:
    """The values before and after the change in each other's column."""
    if claim.sizes or not {"baseline", "modified"} <= claim.figures.keys():
        return  # a size without a sign fits both ways round
    turned = {"baseline": claim.figures["modified"], "modified": claim.figures["baseline"]}
    read = replace(claim, figures={**claim.figures, **turned}).directed()
    if agree(read):
        yield Explanation("swapped-columns", "baseline and modified are swapped", misfit(read))


def _arithmetic(claim: ClaimFigures) -> Iterator[Explanation]:
    """A difference that was worked out wrongly from the two values."""
    names = claim.figures.keys()
    if not {"baseline", "modified", "difference"} <= names:
        return
    rest = claim.without("difference")
    figure = claim.figures["difference"]
    if not agree(rest):
        return
    printed = figure.middle
    # People subtract what is printed, in the unit it is printed in.
    alike = all(claim.figures[name].unit == figure.unit for name in ("modified", "baseline"))
    if alike:
        values = [claim.figures[name].middle for name in ("modified", "baseline")]
        for wrong, how in carry_slips(values[0], values[1], figure.step):
            right = abs(wrong - values[0] + values[1]) < figure.step
            if abs(wrong - printed) <= figure.step / 2 and not right:
                yield Explanation("subtraction", f"the difference is subtracted wrongly: {how}")
                return
    if "change" in names:
        # Values and percentage agree with each other, so the difference stands alone.
        yield Explanation(
            "subtraction",
            "the difference is subtracted wrongly: the other figures agree without it",
            UNLIKELY,
        )


def _chains(claim: ClaimFigures) -> Iterator[Explanation]:
    """A percentage worked out from figures that had been rounded too early."""
    names = claim.figures.keys()
    if not {"baseline", "modified", "change"} <= names or claim.change_of == "both":
        return
    if not agree(claim.without("change")):
        return
    b, m = claim.nominal("baseline"), claim.nominal("modified")
    steps = {}
    for name in ("baseline", "modified"):
        figure = claim.figures[name]
        steps[name] = in_unit(Span(figure.step, figure.step), figure.unit, claim.unit).middle
    change = claim.figures["change"]
    half = half_width(change)
    printed = claim.nominal("change")
    for words, pairs in (
        ("the values had been rounded first", _early_values(b, m, steps)),
        ("the difference had been rounded first", _early_difference(b, m, steps)),
    ):
        for first, second in pairs:
            base = first if claim.change_of == "baseline" else second
            if base == 0:
                continue
            off = abs((second - first) / base * 100 - printed)
            if off <= half:
                yield Explanation("over-rounded", words, off / half)


def _early_values(
    b: Decimal, m: Decimal, steps: Mapping[str, Decimal]
) -> Iterator[tuple[Decimal, Decimal]]:
    for first in (*coarser(b, steps["baseline"]), b):
        for second in (*coarser(m, steps["modified"]), m):
            if (first, second) != (b, m):
                yield first, second


def _early_difference(
    b: Decimal, m: Decimal, steps: Mapping[str, Decimal]
) -> Iterator[tuple[Decimal, Decimal]]:
    for difference in coarser(m - b, max(steps.values())):
        yield b, b + difference
