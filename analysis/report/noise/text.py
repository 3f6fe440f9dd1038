"""A noise budget as plain text: what was found first, then where the scatter arises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from slackwater import __version__
from slackwater.analysis.planning.noise_budget import BETWEEN, Budget, Component
from slackwater.analysis.planning.noise_loading import LEVEL, LoadingFound
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.planning.noise_trend import Trend
from slackwater.analysis.planning.plan_model import plural
from slackwater.analysis.report.noise.yaml_block import block, loading_line
from slackwater.analysis.report.text_table import Sheet, columns, paragraph
from slackwater.analysis.wording.numbers import (
    MISSING,
    Scale,
    change_scale,
    decimals_to_match,
    fixed,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, listed, quantity_title


def scale_of(budget: Budget) -> Scale:
    """How the standard deviations of a quantity are printed."""
    return change_scale(budget.scale, budget.unit)


def _size(budget: Budget, value: float | None) -> str:
    scale = scale_of(budget)
    return with_unit(uncertainty_text(scale.of(value)), scale.unit)


def _own_words(budget: Budget, text: str) -> str:
    """What is repeated within a session in its own word: raters of a rating, tries of a manoeuvre."""
    if budget.repeats == "double run":
        return text
    text = text.replace("double runs", plural(budget.repeats))
    return text.replace(" within a session by", " in a session by")


def headline(budget: Budget) -> str:
    """What one quantity scatters by, in a sentence."""
    return _own_words(budget, _headline(budget))


def _between(budget: Budget, component: Component) -> str:
    """How sessions differ, and how well that is known: a few tell little, least of all that it is nought."""
    if not component.value:
        return f"{_size(budget, component.high)} at most, and perhaps not at all"
    ends = f"{_ends(budget, component)} {scale_of(budget).unit}".rstrip()
    return f"{_size(budget, component.value)} ({ends})"


def _headline(budget: Budget) -> str:
    title = quantity_title(budget.quantity)
    between = budget.component(BETWEEN)
    within = budget.within_session
    if between.value is None:
        return (
            f"{title}: no configuration was run in more than one session, so nothing tells how "
            "sessions differ"
            + (
                ", nor how double runs of one session do."
                if within is None
                else f"; double runs of one session differ by {_size(budget, within)}."
            )
        )
    parts = {c.name: c.part for c in budget.components if c.part is not None}
    text = f"{title}: sessions with nothing changed differ by {_between(budget, between)}" + (
        " (standard deviation), and nothing tells how double runs of one session do"
        if within is None
        else f", double runs within a session by {_size(budget, within)} (standard deviations)"
    )
    if parts:
        largest = max(parts, key=lambda name: parts[name] or 0.0)
        share = fixed(100 * (parts[largest] or 0.0), 0)
        text += f"; {share} % of the variance of a session value arises {largest}"
    return f"{text}."


def trend_sentences(budgets: Sequence[Budget]) -> Iterator[str]:
    """Every drift and shift that is more than noise; or that none is, and how sure that is."""
    found = [(budget, trend) for budget in budgets for trend in budget.trends if trend.found]
    for budget, trend in found:
        yield f"FOUND, {trend_text(budget, trend)}. {_advice(trend)}"
    drifts = [(b, t) for b in budgets for t in b.trends if t.kind == "drift" and not t.found]
    shifts = [(b, t) for b in budgets for t in b.trends if t.kind == "shift" and not t.found]
    for words, held in (("drift", drifts), ("shift between trials", shifts)):
        if held:
            listed = "; ".join(trend_text(budget, trend) for budget, trend in held)
            yield f"No {words} that the sessions do not account for: {listed}."
    if not drifts and not shifts and not found:
        yield (
            "Drift and shift could not be looked for: that takes three dated sessions with one "
            "configuration repeated, or trials that share a configuration and set points."
        )


def loading_sentences(budgets: Sequence[Budget]) -> Iterator[str]:
    """How the noise between sessions lies along the sweep, and what to declare of it."""
    even: list[str] = []
    unlike: list[str] = []
    dark: list[str] = []
    for budget in budgets:
        title = quantity_title(budget.quantity)
        if budget.loading is None:
            dark.append(title)
        elif budget.loading.shape == "even":
            held = even if budget.loading.evenness > LEVEL else unlike
            held.append(f"{title} (p {budget.loading.evenness:.2g})")
        else:
            yield (
                f"FOUND, sessions differ {_unevenness(budget.loading)} in {title} (p "
                f"{budget.loading.evenness:.2g} were it even). To allow for it declare "
                f"'{loading_line(budget)}' under 'analysis' of the next protocol."
            )
    if even:
        yield f"No set point where sessions differ more than elsewhere: {'; '.join(even)}."
    if unlike:
        yield (
            f"Set points scatter less alike than chance would have them: {'; '.join(unlike)}. Yet what "
            "sessions add to the scatter of runs is alike as far as can be told: there is no loading to "
            "declare."
        )
    if dark:
        yield (
            f"Whether sessions differ alike along the sweep could not be looked for: {'; '.join(dark)}. "
            "That takes two set points, with four degrees of freedom between sessions at each."
        )


def _unevenness(found: LoadingFound) -> str:
    if found.shape == "constant":
        return "by as much in its unit everywhere, and not by the same part of the value,"
    if found.shape == "slope":
        return "more where the curve over the set points is steep"
    at = max(range(len(found.strengths)), key=lambda p: found.strengths[p])
    return f"most at {found.labels[at]}, {fixed(found.strengths[at], 1)} times the typical,"


def trend_text(budget: Budget, trend: Trend) -> str:
    """A drift or shift with its interval."""
    scale = scale_of(budget)
    half = scale.of((trend.high - trend.low) / 2) or 0.0
    decimals = decimals_to_match(half) if half > 0 else None
    low, value, high = (
        fixed(scale.of(v), decimals, signed=True) for v in (trend.low, trend.value, trend.high)
    )
    where = trend.subject if trend.kind == "drift" else f"({trend.subject})"
    return (
        f"{quantity_title(budget.quantity)} {value} {scale.unit} {where} "
        f"({low} to {high} {scale.unit})"
    )


def _advice(trend: Trend) -> str:
    if trend.kind == "drift":
        return (
            "Drift: alternate the configurations (ABBA), so that it falls on both alike; find its "
            "cause, such as fouling."
        )
    return (
        "Shift: the components here are those within the trials and leave it out. Compare "
        "configurations within one trial, never across the two."
    )


def _ends(budget: Budget, component: Component) -> str:
    """The interval of a component, with as many decimals as its value."""
    scale = scale_of(budget)
    if component.low is None or component.high is None:
        return MISSING
    decimals = decimals_to_match(scale.of(component.value) or scale.of(component.high) or 1.0)
    low, high = (fixed(scale.of(v), decimals) for v in (component.low, component.high))
    return f"{low} to {high}"


def _component_row(budget: Budget, component: Component) -> tuple[str, ...]:
    value, ends = scale_of(budget).of(component.value), _ends(budget, component)
    part = MISSING if component.part is None else fixed(100 * component.part, 0)
    df = fixed(component.df, 0) if component.df else MISSING
    return _own_words(budget, component.name), uncertainty_text(value), ends, part, df


def sheet(budget: Budget) -> Sheet:
    """The components of one quantity as a table."""
    unit = scale_of(budget).unit
    rows = tuple(_component_row(budget, component) for component in budget.components)
    headings = (
        quantity_title(budget.quantity),
        f"sd [{unit}]" if unit else "sd",
        "interval",
        "part [%]",
        "df",
    )
    repeated, reproduced = budget.limits
    behind = f"{count_of(budget.sessions, 'session')} in {count_of(budget.trials, 'trial')}"
    notes = [f"{behind}, {fixed(budget.double_runs, 1)} double runs to a session value"]
    if repeated is not None:
        text = f"two double runs of one session differ by {_size(budget, repeated)} at most"
        if reproduced is not None:
            text += f", of two sessions by {_size(budget, reproduced)}"
        notes.append(f"{text}, 95 times of 100 (repeatability and reproducibility limits)")
    note = _own_words(budget, "; ".join(notes) + ".")
    return Sheet(budget.quantity, headings, rows, frozenset((1, 2, 3, 4)), note)


def render(noise: NoiseResult) -> str:
    """The budgets as text, with the block for a protocol at the end."""
    budgets = noise.budgets
    repeats = listed([plural(each) for each in dict.fromkeys(one.repeats for one in budgets)])
    parts = [paragraph(f"{text[0].upper()}{text[1:]}") for text in map(headline, budgets)]
    parts += [paragraph(text) for text in trend_sentences(budgets)]
    parts += [paragraph(text) for text in loading_sentences(budgets)]
    for budget in budgets:
        made = sheet(budget)
        parts.append(f"\n{columns(made)}\n{paragraph(made.note, indent=2)}")
    parts.append(
        "\n"
        + paragraph(
            "Standard deviations with 95 % intervals; 'part' is what each adds to the variance of a session value. "
            "Repeatability and reproducibility are those of ISO 5725, with sessions in the place of "
            f"laboratories and {repeats} in that of replicates. They hold for boats, crews and "
            "waters like those of these trials."
        )
    )
    parts.append(f"\nFor a protocol:\n\n{block(noise)}")
    parts.append(f"slackwater {__version__}")
    return "\n".join(parts) + "\n"
