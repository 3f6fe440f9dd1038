"""What an archive tells of the method, in sentences and tables."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.analysis.archive.method import Method
from slackwater.analysis.many.reference_boat import (
    OUTLIER,
    STRAGGLER,
    ReferenceChart,
    ReferencePrecision,
)
from slackwater.analysis.planning.noise_budget import BETWEEN, Budget
from slackwater.analysis.report.noise.crew_words import crew_sentence
from slackwater.analysis.report.noise.text import headline, scale_of
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import (
    MISSING,
    change_scale,
    decimals_for,
    fixed,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, quantity_title

#: What is printed of the noise; the JSON has every quantity.
PRINTED = ("speed", "fuel_flow", "economy", "electric_power")
_CHANCE = "A steady boat is told to have shifted now and then, too: look for what was done by then."


def noise_sentences(method: Method) -> Iterator[str]:
    """What sessions, and crews, differ by with nothing changed, a sentence a quantity compared."""
    for budget in method.plans.noise.budgets:
        if budget.quantity in PRINTED:
            text = headline(budget)
            yield text[:1].upper() + text[1:]
    yield from (crew_sentence(each) for each in method.crews if each.quantity in PRINTED)


def group_sheet(method: Method) -> Sheet:
    """Standard deviation between sessions, by class of boat, sea, season and crew."""
    kinds = {"all": "", "boat": "boats ", "sea": "sea ", "season": "", "crew": "crew "}
    rows = tuple(
        (
            f"{kinds[kind]}{name}",
            quantity_title(budget.quantity),
            str(budget.trials),
            _size(budget, budget.component(BETWEEN).value),
            _interval(budget),
        )
        for kind, name, budgets in method.all_groups()
        for budget in budgets
        if budget.quantity in PRINTED and budget.component(BETWEEN).value is not None
    )
    headings = ("trials", "quantity", "number", "between sessions", "95 % interval")
    return Sheet("Noise by class", headings, rows, frozenset({2, 3}), short=True)


def _size(budget: Budget, value: float | None) -> str:
    scale = scale_of(budget)
    return with_unit(uncertainty_text(scale.of(value)), scale.unit)


def _interval(budget: Budget) -> str:
    found = budget.component(BETWEEN)
    if found.low is None or found.high is None:
        return MISSING
    return f"{_size(budget, found.low)} to {_size(budget, found.high)}"


def chart_sentence(each: ReferenceChart) -> str:
    """Whether the reference boat shifted, when and by how much."""
    series, chart = each.series, each.chart
    what = f"{series.boat}, {quantity_title(series.quantity)}"
    count = count_of(len(series.points), "session")
    outside = len(chart.beyond)
    beyond = (
        f" {count_of(outside, 'session')} of {len(series.points)} "
        f"{'lies' if outside == 1 else 'lie'} beyond the limits."
        if outside
        else ""
    )
    if chart.shift is None:
        return f"{what}: no lasting shift in {count}.{beyond}"
    return (
        f"{what}: a lasting shift of {_shift(each)}, from the session of {each.shift_begins} on; the "
        f"sums told it on {each.shift_told}.{beyond} {_CHANCE}"
    )


def precision_sentence(quantity: str, found: ReferencePrecision, each: ReferenceChart) -> str:
    """Repeatability and reproducibility on the reference boat, and which trials stand out."""
    scale = change_scale(each.series.scale, each.series.unit)

    def size(value: float) -> str:
        return with_unit(uncertainty_text(scale.of(value)), scale.unit)

    whole = found.precision
    text = (
        f"{quantity_title(quantity)[:1].upper()}{quantity_title(quantity)[1:]}: sessions of one trial "
        f"differ by no more than {size(whole.repeatability_limit)}, sessions of different trials by no "
        f"more than {size(whole.reproducibility_limit)}, 95 times of 100 (repeatability and "
        f"reproducibility limit, ISO 5725-2, {count_of(len(found.occasions), 'trial')})."
    )
    marked = [one.trial for one in found.occasions if one.h_remark or one.k_remark]
    if marked:
        text += f" Beyond Mandel's h or k: {', '.join(marked)}."
    return text + "".join(f" {each}" for each in _outliers(found))


def _outliers(found: ReferencePrecision) -> Iterator[str]:
    """What Cochran's and Grubbs' tests name; that for two where one alone is none."""
    tests = [
        ("Cochran's test", found.cochran_p, found.scatters_most),
        ("Grubbs' test", found.grubbs_p, found.furthest),
    ]
    if found.grubbs_p >= STRAGGLER:
        two = " and ".join(found.furthest_two)
        tests.append(("Grubbs' test for two", found.grubbs_two_p, two))
    for test, p, names in tests:
        if p < STRAGGLER:
            kind = "outlier" if p < OUTLIER else "straggler"
            yield f"{test} names {names} as {kind}."


def left_out(method: Method) -> list[str]:
    """What the noise is not made of, and what stands out in it."""
    out = [f"{trial}: {why}." for trial, why in method.plans.left_out]
    out += [
        f"{each.trial} scatters {fixed(each.times, 1)} times as much in "
        f"{quantity_title(each.quantity)} as the others."
        if each.times > 1
        else f"{each.trial} scatters {fixed(1 / each.times, 1)} times less in "
        f"{quantity_title(each.quantity)} than the others."
        for each in method.plans.scatter
        if each.stands_out
    ]
    return out


def shifts(method: Method) -> list[str]:
    """The shifts, for what is to be looked at."""
    return [
        f"The reference boat shifted in {quantity_title(each.series.quantity)} by {_shift(each)}, from "
        f"the session of {each.shift_begins} on."
        for each in method.charts
        if each.chart.shift is not None
    ]


def _shift(each: ReferenceChart) -> str:
    """Size of the shift with its interval; an empty text where there is none."""
    shift, scale = each.chart.shift, change_scale(each.series.scale, each.series.unit)
    if shift is None:
        return ""
    decimals = decimals_for(scale.of((shift.high - shift.low) / 2))
    size, low, high = (
        fixed(scale.of(value), decimals, signed=True)
        for value in (shift.size, shift.low, shift.high)
    )
    return f"{with_unit(size, scale.unit)} ({low} to {with_unit(high, scale.unit)})"
