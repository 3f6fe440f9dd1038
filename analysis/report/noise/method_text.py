"""How good a method is, as plain text: the reference boat first, then noise group by group."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater import __version__
from slackwater.analysis.many.method_result import MethodResult, between_of
from slackwater.analysis.many.reference_boat import ReferenceChart, ReferencePrecision
from slackwater.analysis.report.noise.crew_words import crew_sentence
from slackwater.analysis.report.noise.yaml_block import block
from slackwater.analysis.report.text_table import Sheet, columns, paragraph
from slackwater.analysis.wording.numbers import (
    MISSING,
    Scale,
    change_scale,
    decimals_for,
    fixed,
    range_text,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, listed, quantity_title


def render(result: MethodResult) -> str:
    """The answer, the tables, and the block for a protocol."""
    parts: list[str] = []
    if result.chart is not None:
        parts += map(paragraph, _chart(result.chart))
    if result.precision is not None and result.chart is not None:
        scale = change_scale(result.chart.series.scale, result.chart.series.unit)
        parts += map(paragraph, _precision(result.precision, scale))
    parts += [paragraph(crew_sentence(each)) for each in result.crews]
    parts += [paragraph(f"{remark[:1].upper()}{remark[1:]}.") for remark in result.remarks]
    if result.by is not None:
        sheet = _groups(result)
        parts.append(f"\n{sheet.name}\n{columns(sheet)}\n{paragraph(sheet.note, indent=2)}")
        if result.ungrouped:
            told = f"Nothing tells the group of {listed(list(result.ungrouped))}."
            parts.append(paragraph(told))
    parts += map(paragraph, _scatter(result))
    left = [f"{name} ({why})" for name, why in result.plans.left_out]
    if left:
        parts.append(paragraph(f"No part of the noise below: {'; '.join(left)}."))
    parts.append(f"\nFor a protocol, of all trials that tell:\n\n{block(result.plans.noise)}")
    parts.append(f"slackwater {__version__}")
    return "\n".join(parts) + "\n"


def _chart(found: ReferenceChart) -> Iterator[str]:
    series, chart = found.series, found.chart
    scale = change_scale(series.scale, series.unit)
    title = f"{series.boat}, {series.configuration}, {quantity_title(series.quantity)}"
    sessions = count_of(len(series.points), "session")
    if chart.shift is None:
        yield (
            f"{title}: steady over {sessions} from {series.points[0].day} to "
            f"{series.points[-1].day}; no lasting shift is told."
        )
    else:
        shift = chart.shift
        decimals = decimals_for(scale.width(shift.low, shift.high))
        size = fixed(scale.of(shift.size), decimals, signed=True)
        ends = range_text(scale.of(shift.low), scale.of(shift.high), decimals)
        yield (
            f"{title}: SHIFTED. The level lies {with_unit(size, scale.unit)} ({ends}) off since "
            f"{found.shift_begins}; it was told on {found.shift_told}. {sessions}, the first "
            f"{chart.reference} for the state in control."
        )
    beyond = [series.points[i].day for i in chart.beyond]
    if beyond:
        yield f"Single sessions beyond their limits: {listed(beyond)}."
    deviation = with_unit(uncertainty_text(scale.of(chart.deviation)), scale.unit)
    yield (
        f"Sessions scatter by {deviation} (from moving ranges). Charts by ISO 7870: individuals and "
        "moving range, cumulative sums (slack 0.5, decision 5 standard deviations), moving average."
    )


def _precision(found: ReferencePrecision, scale: Scale) -> Iterator[str]:
    def size(value: float) -> str:
        return with_unit(uncertainty_text(scale.of(value)), scale.unit)

    precision = found.precision
    yield (
        f"By ISO 5725-2, over {count_of(len(found.occasions), 'trial')} of her: repeatability "
        f"{size(precision.repeatability)}, reproducibility {size(precision.reproducibility)} (standard "
        f"deviations); two sessions of two trials differ by {size(precision.reproducibility_limit)} at "
        "most, 95 times of 100."
    )
    out = [each.trial for each in found.occasions if each.h_remark]
    wild = [each.trial for each in found.occasions if each.k_remark]
    told = [
        f"Mandel's {letter} remarks on {listed(names)}"
        for letter, names in (("h", out), ("k", wild))
        if names
    ]
    told += [
        f"{test}: p {p:.2g} ({name})"
        for test, p, name in (
            ("Cochran", found.cochran_p, found.scatters_most),
            ("Grubbs", found.grubbs_p, found.furthest),
        )
    ]
    if found.furthest_two:  # asked where one alone is no outlier, as the standard has it
        told.append(f"Grubbs, two: p {found.grubbs_two_p:.2g} ({listed(list(found.furthest_two))})")
    yield "; ".join(told) + "."


def _groups(result: MethodResult) -> Sheet:
    names = list(dict.fromkeys(b.quantity for group in result.groups for b in group.budgets))
    rows = []
    for group in result.groups:
        for budget in group.budgets:
            scale = change_scale(budget.scale, budget.unit)
            found = between_of(group, budget.quantity)
            value = MISSING if found is None else uncertainty_text(scale.of(found[0]))
            ends = MISSING
            if found is not None and found[1] is not None and found[2] is not None:
                decimals = decimals_for((scale.of(found[2]) or 0.0) / 2)
                low, high = (fixed(scale.of(each), decimals) for each in found[1:])
                ends = f"{low} to {high}"
            title = f"{quantity_title(budget.quantity)} [{scale.unit}]"
            trials = str(len(group.trials))
            rows.append((names.index(budget.quantity), (title, group.name, trials, value, ends)))
    rows.sort(key=lambda row: row[0])
    return Sheet(
        f"What sessions differ by, by {result.by}",
        ("quantity", "group", "trials", "sd", "interval"),
        tuple(cells for _, cells in rows),
        frozenset((2, 3, 4)),
        "Standard deviations between sessions with nothing changed, with 95 % intervals.",
    )


def _scatter(result: MethodResult) -> Iterator[str]:
    for each in result.plans.scatter:
        if each.stands_out:
            yield (
                f"{each.trial}: sessions scatter {fixed(each.times, 1)} times as much as those of the "
                f"other trials in {quantity_title(each.quantity)} (p {each.p_value:.1g}); look into it."
            )
