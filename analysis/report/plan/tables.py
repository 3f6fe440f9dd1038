"""The tables of a plan, as text ready to be written."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.analysis.planning.plan_model import Option, Plan, cost
from slackwater.analysis.report.plan.words import (
    detectable_text,
    effect_text,
    scale_of,
    short_design,
)
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, fixed, uncertainty_text
from slackwater.analysis.wording.words import quantity_title

_WIDEST = 9
_LONGEST = 14


def _heading(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name


def thinned(values: Sequence[int], at_most: int, keep: Sequence[int] = ()) -> list[int]:
    """So many of the values, the small ones close and the large ones apart."""
    if len(values) <= at_most:
        return list(values)
    ratio = (len(values) - 1) ** (1 / (at_most - 1))
    picked = {0, len(values) - 1}
    position = 0.0
    for _ in range(at_most):
        position = max(position * ratio, position + 1)
        picked.add(min(round(position), len(values) - 1))
    found = sorted({values[i] for i in sorted(picked)} | {v for v in keep if v in values})
    return found[: at_most - 1] + found[-1:] if len(found) > at_most + len(keep) else found


def matrix(plan: Plan, *, whole: bool = False) -> Sheet:
    """Smallest difference to be seen: sessions down, double runs across."""
    question = plan.question
    known = {(o.sessions_per_configuration, o.double_runs): o for o in plan.options}
    sessions = sorted({n for n, _ in known})
    double_runs = sorted({m for _, m in known})
    chosen = plan.recommended or plan.best
    if not whole:
        keep_n = [chosen.sessions_per_configuration] if chosen else []
        keep_m = [chosen.double_runs] if chosen else []
        sessions = thinned(sessions, _LONGEST, keep_n)
        double_runs = thinned(double_runs, _WIDEST, keep_m)

    bracketed = any(not option.affordable for option in plan.options)
    marked = any(option.reaches for option in plan.options)

    def cell(option: Option) -> str:
        text = detectable_text(question, option)
        if bracketed:
            text = f" {text} " if option.affordable else f"({text})"
        if option == plan.recommended:
            return f"{text}◆"
        return text + ("*" if option.reaches else " " if marked else "")

    rows = tuple(
        (str(n), *(cell(known[n, m]) for m in double_runs if (n, m) in known)) for n in sessions
    )
    notes = []
    if marked:
        goal = fixed(100 * question.power, 0)
        notes.append(f"* has the power of {goal} % for the difference asked about")
    else:
        notes.append("none has the power asked for")
    if plan.recommended is not None:
        notes.append("◆ the cheapest that has")
    if bracketed:
        notes.append("in brackets: beyond what can be afforded")
    note = "; ".join(notes)
    name = _heading("smallest difference seen", scale_of(question).unit)
    return Sheet(
        f"{name}: sessions down, double runs across",
        ("sessions", *(str(m) for m in double_runs)),
        rows,
        frozenset(range(len(double_runs) + 1)),
        f"{note}.",
    )


def supposed(plan: Plan) -> Sheet:
    """What small, middling and large noise would mean."""
    question = plan.question
    scale = scale_of(question)
    rows = []
    for name, each in zip(("small", "middling", "large"), plan.supposed, strict=True):
        option = each.recommended
        rows.append(
            (
                name,
                uncertainty_text(scale.of(each.noise.between_sessions)),
                uncertainty_text(scale.of(each.noise.within_session)),
                detectable_text(question, each.declared),
                "more than asked about" if option is None else short_design(option),
                MISSING if option is None else fixed(option.hours_in_all, 0),
            )
        )
    return Sheet(
        f"Noise of {quantity_title(question.quantity)} that may be met, and what it would mean",
        (
            "noise",
            _heading("between sessions", scale.unit),
            _heading("double runs", scale.unit),
            _heading("seen as declared", scale.unit),
            f"to see {effect_text(question)}",
            "in all [h]",
        ),
        tuple(rows),
        frozenset({1, 2, 3, 5}),
        "Standard deviations, ASSUMED: common practice, no open source gives them for small craft. "
        "Double runs are those of a set point within a session.",
    )


def _row(plan: Plan, option: Option) -> tuple[str, ...]:
    return (
        str(option.sessions_per_configuration),
        str(option.double_runs),
        detectable_text(plan.question, option),
        fixed(100 * option.power, 1 if option.power > 0.99 else 0),
        fixed(option.hours, 1),
        fixed(option.hours_in_all, 1),
        MISSING if option.distance is None else fixed(option.distance, 0),
        MISSING if option.fuel is None else fixed(option.fuel, 0),
        "◆" if option == plan.recommended else "",
    )


def options(plan: Plan, *, whole: bool = False) -> Sheet:
    """The options that nothing cheaper sees as much as; or all of them."""
    found = list(plan.options) if whole else list(plan.efficient())
    if not whole:
        found = _around(plan, found)
    headings: tuple[str, ...] = (
        "sessions",
        "double runs",
        _heading("seen", scale_of(plan.question).unit),
        "power [%]",
        "hours",
        "in all [h]",
        "distance [nmi]",
        "fuel [L]",
        "",
    )
    rows = [_row(plan, option) for option in found]
    unknown = {i for i in (6, 7) if all(row[i] == MISSING for row in rows)}
    if not any(row[8] for row in rows):
        unknown.add(8)
    keep = [i for i in range(len(headings)) if i not in unknown]
    name = "every option" if whole else "options that nothing cheaper sees as much as"
    return Sheet(
        name,
        tuple(headings[i] for i in keep),
        tuple(tuple(row[i] for i in keep) for row in rows),
        frozenset(range(8)),
    )


def _around(plan: Plan, found: list[Option]) -> list[Option]:
    """So many of the options that a page holds, those about the chosen one first."""
    chosen = plan.recommended or plan.best
    if len(found) <= _LONGEST or chosen is None:
        return found
    middle = min(range(len(found)), key=lambda i: abs(cost(found[i])[0] - cost(chosen)[0]))
    start = min(max(middle - _LONGEST // 2, 0), len(found) - _LONGEST)
    return found[start : start + _LONGEST]
