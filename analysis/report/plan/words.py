"""A plan in sentences: the answer first, then how sure it is and what would change it."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.analysis.planning.plan_model import SURE, Option, Plan, Question
from slackwater.analysis.wording.numbers import (
    MISSING,
    Scale,
    change_scale,
    fixed,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, quantity_title


def scale_of(question: Question) -> Scale:
    """How differences of the quantity are printed."""
    return change_scale(question.scale, question.unit)


def size(question: Question, value: float | None) -> str:
    """A difference or a standard deviation with its unit, never flattered by rounding."""
    scale = scale_of(question)
    return with_unit(uncertainty_text(scale.of(value)), scale.unit)


def effect_text(question: Question) -> str:
    """The difference asked about, as short as it was given."""
    scale = scale_of(question)
    value = scale.of(question.natural(question.effect)) or 0.0
    return with_unit(f"{value:.4g}", scale.unit)


def per_cent(share: float) -> str:
    """A chance in whole per cent, the last one never rounded up to certainty."""
    if share > 0.995:
        return f"over {with_unit('99', '%')}"
    return with_unit(fixed(100 * share, 0), "%")


def hours_text(hours: float) -> str:
    """Hours at one decimal."""
    return with_unit(fixed(hours, 1), "h")


def design_text(option: Option) -> str:
    """ "4 sessions with each configuration and 3 double runs at each set point"."""
    sessions = count_of(option.sessions_per_configuration, "session")
    return (
        f"{sessions} with each configuration and {count_of(option.double_runs, 'double run')} "
        "at each set point"
    )


def short_design(option: Option) -> str:
    """ "4 sessions with 3 double runs"."""
    sessions = count_of(option.sessions_per_configuration, "session")
    return f"{sessions} with {count_of(option.double_runs, 'double run')}"


def cost_text(option: Option) -> str:
    """What an option costs, in a clause."""
    parts = [f"{hours_text(option.hours)} on the water"]
    if option.changes:
        parts.append(
            f"{hours_text(option.hours_in_all)} with {count_of(option.changes, 'change')} "
            "of configuration"
        )
    if option.distance is not None:
        parts.append(with_unit(fixed(option.distance, 0), "nmi"))
    if option.fuel is not None:
        parts.append(f"{with_unit(fixed(option.fuel, 0), 'L')} of fuel")
    return ", ".join(parts)


def title(question: Question) -> str:
    """What is asked, in a clause."""
    return (
        f"To see a difference of {effect_text(question)} in {quantity_title(question.quantity)} "
        f"with a chance of {per_cent(question.power)}"
    )


def assumed_mark(question: Question) -> str:
    """A word that goes with every figure resting on assumed noise."""
    return " (noise assumed)" if question.assumed else ""


def declared_sentence(plan: Plan) -> str:
    """What the design that the protocol declares would see."""
    question, option = plan.question, plan.declared
    what = f"a difference in {quantity_title(question.quantity)}"
    start = f"As declared, {design_text(option)}"
    verb = "sees" if option.sessions_per_configuration == 1 else "see"
    if option.detectable is None:
        return (
            f"{start} {verb} nothing of {what}: one session each does not tell how much sessions "
            "differ by themselves."
        )
    chance = f"with a chance of {per_cent(question.power)}"
    if plan.supposed:
        seen = [size(question, each.declared.detectable) for each in plan.supposed]
        return (
            f"{start} {verb} {what} of {_from_to(seen)} {chance}: no noise is known, and that is what "
            f"small to large noise would mean."
        )
    seen_now = size(question, option.detectable)
    return (
        f"{start} {verb} {what} of {seen_now} {chance}{assumed_mark(question)}, and one of "
        f"{effect_text(question)} with a chance of {per_cent(option.power)}."
    )


def _from_to(texts: list[str]) -> str:
    """ "0.79 to 3.2 %" from sizes with one unit."""
    first, last = texts[0], texts[-1]
    unit = last.rpartition("\N{NO-BREAK SPACE}")[2] if "\N{NO-BREAK SPACE}" in last else ""
    bare = first.removesuffix(unit).rstrip("\N{NO-BREAK SPACE} ") if unit else first
    return f"{bare} to {last}"


def hangs_on(plan: Plan) -> Iterator[str]:
    """Which answer hangs on the noise that is not known, and how to come to know it."""
    found = [each.recommended for each in plan.supposed]
    if not found:
        return
    effect = effect_text(plan.question)
    numbers = list(dict.fromkeys(o.sessions_per_configuration if o else None for o in found))
    if numbers == [None]:
        yield (
            f"Whichever noise holds, nothing that was asked about sees {effect}: ask for a larger "
            "difference, or for more sessions (--sessions)."
        )
    elif len(numbers) == 1:
        yield (
            f"The number of sessions does not hang on the noise: {numbers[0]} with each configuration "
            f"see {effect} with small noise and with large."
        )
    else:
        told = _or(
            [f"more than {plan.question.sessions[1]}" if n is None else str(n) for n in numbers]
        )
        yield (
            f"The number of sessions hangs on the noise: to see {effect} takes {told} with each "
            "configuration, from small noise to large. Run the unchanged boat in a few sessions first: "
            "'slackwater noise' makes of them the figures that this plan lacks, and --noise takes them."
        )


def _or(texts: list[str]) -> str:
    """ "3, 6 or 10"."""
    return " or ".join([", ".join(texts[:-1]), texts[-1]]) if len(texts) > 1 else texts[0]


def headline(plan: Plan) -> str:
    """The plan in a line."""
    mark = assumed_mark(plan.question)
    if plan.supposed:
        mark = " (middling noise assumed)"
    if plan.recommended is not None:
        return f"{design_text(plan.recommended)}{mark}."
    return f"Nothing that was asked about will do{mark}."


def support(plan: Plan) -> str:
    """What the plan sees and costs; or what the best of the options would."""
    question, option = plan.question, plan.recommended
    if option is not None:
        return (
            f"A difference of {effect_text(question)} in {quantity_title(question.quantity)} at "
            f"one set point is established with a chance of {per_cent(option.power)}. Order "
            f"{option.order}; {cost_text(option)}."
        )
    if plan.best is None:
        return f"{title(question)}: no option keeps within what can be afforded."
    return (
        f"{title(question)} more is needed. The best of it, {short_design(plan.best)} "
        f"({cost_text(plan.best)}), sees {size(question, plan.best.detectable)} with that chance, "
        f"and {effect_text(question)} with one of {per_cent(plan.best.power)}."
    )


def noise_sentence(question: Question) -> str:
    """The noise supposed, and whether it is known or assumed."""
    noise = question.noise
    parts = [
        f"{size(question, noise.between_sessions)} between sessions",
        f"{size(question, noise.session_by_set_point)} of a set point within a session",
        f"{size(question, noise.within_session)} between double runs",
    ]
    text = (
        f"Noise, as a standard deviation, taken as the same at all set points: {', '.join(parts)}"
    )
    if not question.assumed:
        if noise.df is not None:
            text += f"; from {question.noise_source}, {noise.df + 1:g} sessions"
        return f"{text}."
    if question.noise_source == "assumed":
        return (
            f"{text}. ASSUMED, not measured: everything here stands or falls with it. Run an "
            "unchanged boat in several sessions and estimate it with 'slackwater noise'."
        )
    return (
        f"{text}; from {question.noise_source}, but ASSUMED, not measured: "
        f"{', '.join(question.assumed)}."
    )


def details(plan: Plan) -> Iterator[str]:
    """What a reader has to know beside the answer, a paragraph each."""
    question = plan.question
    yield noise_sentence(question)
    if plan.check is not None:
        yield _check(plan)
    if plan.sureness is not None:
        yield _sureness(plan)
    yield from _one_more(plan)
    if question.max_hours is not None or question.max_fuel is not None:
        yield _backwards(plan)
    if plan.recommended is None:
        yield from _out_of_reach(plan)
    if plan.recommended is not None and plan.recommended.double_runs == 1:
        yield (
            "With a single double run a set point is lost as soon as one run is, and a current "
            "that changes much within a session is fitted less well, so that the trial may see "
            "less than shown: two double runs leave a reserve."
        )
    yield from question.notes
    if question.effort.assumed:
        yield f"Times assumed: {'; '.join(question.effort.assumed)}."
    if question.effort.speeds is None or question.effort.flows is None:
        lacking = [
            word
            for word, known in (
                ("distance", question.effort.speeds),
                ("fuel", question.effort.flows),
            )
            if known is None
        ]
        yield (
            f"No {' and '.join(lacking)}: what the boat does at the set points is not known. Declare "
            "it under 'expected:' in the protocol, or give --speed and --fuel-flow, or --levels with "
            "an earlier trial."
        )
    else:
        yield "Distance and fuel are those of runs and turns, without the way out and back."


def _check(plan: Plan) -> str:
    check = plan.check
    if check is None:
        return ""
    error = max(100 * check.error, 0.1)
    return (
        f"Tried out on {check.trials} simulated trials through the analysis itself (seed "
        f"{check.seed}): established in {fixed(100 * check.power, 1)} ± {fixed(error, 1)} % of "
        "them. Where the change is there at every set point, each is established in "
        f"{fixed(100 * check.everywhere, 1)} %."
    )


def _sureness(plan: Plan) -> str:
    sure, question = plan.sureness, plan.question
    if sure is None:
        return ""
    text = (
        f"The noise is itself known from {sure.df:g} degrees of freedom only. The chance that this "
        f"plan truly has a power of {per_cent(question.power)} is {per_cent(sure.chance)}; over "
        f"what the noise may be, {per_cent(sure.expected)} of such trials would see the difference."
    )
    if sure.surer is None:
        return (
            f"{text} Nothing that was asked about and can be afforded makes it "
            f"{per_cent(SURE)} sure."
        )
    if sure.surer == plan.recommended:
        return text
    return (
        f"{text} To be {per_cent(SURE)} sure: {short_design(sure.surer)} ({cost_text(sure.surer)})."
    )


def _one_more(plan: Plan) -> Iterator[str]:
    base, question = plan.recommended or plan.best, plan.question
    parts = []
    for words, other in (
        ("one more session with each configuration", plan.more_session),
        ("one more double run at each set point", plan.more_double_run),
    ):
        if base is None or other is None or base.detectable is None or other.detectable is None:
            continue
        more = other.hours_in_all - base.hours_in_all
        parts.append(
            f"{words} would show {_closely(question, other.detectable)} in place of "
            f"{_closely(question, base.detectable)} for {hours_text(more)} more"
        )
    if parts:
        text = "; ".join(parts)
        yield f"{text[0].upper()}{text[1:]}."


def _closely(question: Question, value: float) -> str:
    """A difference at three digits, for two that lie close together."""
    scale = scale_of(question)
    return with_unit(f"{scale.of(value):#.3g}", scale.unit)


def _backwards(plan: Plan) -> str:
    question, best = plan.question, plan.best
    limits = []
    if question.max_hours is not None:
        limits.append(f"{hours_text(question.max_hours)} in all")
    if question.max_fuel is not None:
        limits.append(f"{with_unit(fixed(question.max_fuel, 0), 'L')} of fuel")
    within = " and ".join(limits)
    if best is None:
        return f"Within {within} no trial can be run that tells anything."
    return (
        f"Within {within} the smallest difference that can be seen with a chance of "
        f"{per_cent(question.power)} is {size(question, best.detectable)}: {short_design(best)} "
        f"({cost_text(best)})."
    )


def _out_of_reach(plan: Plan) -> Iterator[str]:
    if plan.elsewhere is not None:
        yield (
            f"What would do: {short_design(plan.elsewhere)} ({cost_text(plan.elsewhere)}), with a "
            f"chance of {per_cent(plan.elsewhere.power)}."
        )
    if plan.sessions_at_least is not None:
        yield (
            f"Even runs without any noise, at a single set point, would ask for "
            f"{count_of(plan.sessions_at_least, 'session')} with each configuration: the noise "
            "between sessions is not lowered by more runs."
        )


def detectable_text(question: Question, option: Option) -> str:
    """The smallest difference to be seen, without its unit."""
    if option.detectable is None:
        return MISSING
    return uncertainty_text(scale_of(question).of(option.detectable))
