"""Columns that are not understood, and columns that are missing: what is told of either, and the mend."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from slackwater.analysis.intake.everyday import engine_of, meant_by
from slackwater.analysis.intake.grid import Row, quoted
from slackwater.analysis.intake.headings import Wanted, close_name, split_heading, squash
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.findings import Severity
from slackwater.protocol.units.quantity import QuantityError, same_dimension

#: Columns without which nothing that counts is lost.
HARMLESS = ("note", "configuration")
Unknown = Sequence[tuple[int, str]]
Mapped = dict[str, list[str]]


def tell_unknown(
    unknown: Unknown, found: Collection[str], header: Row, wanted: Wanted, problems: Problems
) -> None:
    """Everything about headings that are not read and columns that are needed and not there."""
    free = [name for name in wanted.names if name not in found and name not in wanted.columns]
    mapped, left = everyday_columns(unknown, free, wanted)
    if mapped:
        _tell_mapped(mapped, _needed(mapped, found, wanted), header, problems)
    missed = _tell_left(left, [n for n in free if n not in mapped], found, header, wanted, problems)
    _tell_missing({*found, *mapped, *missed}, left, header, wanted, problems)
    if "set_point" not in {*found, *mapped, *missed, *wanted.columns}:
        _tell_no_set_point(mapped, header, wanted, problems)


def everyday_columns(
    unknown: Unknown,
    free: Collection[str],
    wanted: Wanted,
    passed_over: Collection[str] = HARMLESS,
) -> tuple[Mapped, list[tuple[int, str]]]:
    """Headings in everyday words, by the column they most likely stand for; and those left over.

    Several stand together where each engine has a column, or a start its date and its time.
    """
    mapped: Mapped = {}
    left: list[tuple[int, str]] = []
    for index, heading in unknown:
        name = meant_by(heading, [n for n in free if _fits_or_bare(heading, wanted.unit(n))])
        if name and name not in passed_over and _joins(heading, mapped.get(name, []), name):
            mapped.setdefault(name, []).append(heading)
        else:
            left.append((index, heading))
    return mapped, left


def _joins(heading: str, others: Sequence[str], name: str) -> bool:
    """Whether a heading may stand beside those found for the same column."""
    if not others:
        return True
    if name == "start":
        return len(others) == 1 and "date" in squash(others[0]) and "time" in squash(heading)
    engines = [engine_of(each) for each in (*others, heading)]
    return all(engines) and len(set(engines)) == len(engines) and name in MEASURES


def own_words(mapped: Mapping[str, Sequence[str]]) -> str:
    """What goes under the trial's `columns:`, on one line."""
    return (
        f"columns: {{{', '.join(f'{name}: {_listed(texts)}' for name, texts in mapped.items())}}}"
    )


def _listed(texts: Sequence[str]) -> str:
    own = [f'"{split_heading(text)[0]}"' for text in texts]
    return own[0] if len(own) == 1 else f"[{', '.join(own)}]"


def _needed(mapped: Mapped, found: Collection[str], wanted: Wanted) -> bool:
    """Whether the table cannot be used without one of these columns."""
    have = {*found, *wanted.columns}
    needed = {"session", "set_point"} - have
    if wanted.reciprocal and not {"direction", "heading"} & have:
        needed |= {"direction", "heading"}
    if not set(wanted.measures) & have:
        needed |= set(wanted.measures)
    return bool(needed & mapped.keys())


def _tell_mapped(mapped: Mapped, needed: bool, header: Row, problems: Problems) -> None:
    headings = [quoted(each) for texts in mapped.values() for each in texts]
    are = "column is" if len(headings) == 1 else "columns are"
    problems.add(
        "heading-unknown",
        Severity.ERROR if needed else Severity.WARNING,
        f"{len(headings)} {are} headed in words of their own, and not read: {', '.join(headings)}",
        f"if this is what they hold, write it into the trial: {own_words(mapped)}; "
        f"'slackwater new trial --runs {problems.file}' proposes a whole trial",
        row=header,
    )


def _tell_left(
    left: Unknown,
    free: Sequence[str],
    found: Collection[str],
    header: Row,
    wanted: Wanted,
    problems: Problems,
) -> set[str]:
    """Columns that are not read: a near miss is an error. Gives the names that were missed."""
    missed: set[str] = set()
    for index, heading in left:
        base, unit = split_heading(heading)
        listed = squash(base) in map(squash, MEASURES)
        near = "" if listed else close_name(base, [n for n in free if n not in missed])
        if near and near not in HARMLESS:
            missed.add(near)
            head = f"{near} [{unit}]" if unit else near
            problems.error(
                "heading-unknown",
                f"column {quoted(heading)} is not known",
                f"did you mean '{head}'? Rename it; if it is something else, give it another name",
                row=header,
                index=index,
            )
            continue
        taken = " (another column is headed so)" if squash(base) in map(squash, found) else ""
        problems.warning(
            "column-ignored",
            f"column {quoted(heading)} is ignored{taken}: it is neither part of a run table nor a "
            "measure that the protocol declares",
            _use_of(base, near),
            row=header,
            index=index,
        )
    return missed


def _use_of(base: str, near: str) -> str:
    """What may be done with a column that is not read."""
    if near:
        return f"did you mean '{near}'?"
    measure = next((n for n in MEASURES if squash(n) == squash(base)), "") or meant_by(
        base, list(MEASURES)
    )
    if measure:
        own = (
            ""
            if squash(measure) == squash(base)
            else f', and map it: columns: {{{measure}: "{base}"}}'
        )
        return (
            f"if it is {measure}, declare that under the protocol's measures:{own}; else leave it"
        )
    return "it does no harm; declare it under the protocol's measures: if it is to be compared"


def _tell_missing(
    found: Collection[str], left: Unknown, header: Row, wanted: Wanted, problems: Problems
) -> None:
    """Columns that are needed and not there."""
    found = {*found, *wanted.columns}
    if wanted.reciprocal and not {"direction", "heading"} & found:
        problems.error(
            "direction-missing",
            "no column is headed direction or heading, and the protocol's runs are reciprocal; "
            "without it the current cannot be taken out",
            "add a column 'direction' with out or back in every row, or 'heading [deg]'",
            row=header,
        )
    missing = [name for name in wanted.measures if name not in found]
    for name in missing:
        fix = _where_it_may_be(name, left, wanted.measures[name])
        if len(missing) == len(wanted.measures):
            problems.error(
                "column-missing", f"no column holds the declared measure {name}", fix, row=header
            )
        else:
            problems.warning(
                "measure-missing",
                f"no column holds the declared measure {name}; nothing that needs it can be told",
                fix,
                row=header,
            )


def _where_it_may_be(name: str, left: Unknown, unit: str) -> str:
    hints = [h for _, h in left if _fits(split_heading(h)[1], unit)]
    if hints:
        own = split_heading(hints[0])[0]
        return f'is it {quoted(hints[0])}? Then say so in the trial: columns: {{{name}: "{own}"}}'
    return f"add a column '{name} [{unit}]', or map one in the trial (columns: {{{name}: \"…\"}})"


def _tell_no_set_point(mapped: Mapped, header: Row, wanted: Wanted, problems: Problems) -> None:
    unit = wanted.set_point_unit
    held = next((texts[0] for name, texts in mapped.items() if wanted.unit(name) == unit), "")
    fix = f"add a column 'set_point [{unit}]'"
    if held:
        own = split_heading(held)[0]
        fix += f', or, if {quoted(held)} is what was aimed at, map that: columns: {{set_point: "{own}"}}'
    problems.error(
        "column-missing",
        "no column is headed set_point; each run needs the value that was held",
        fix,
        row=header,
    )


def _fits(unit: str | None, working: str) -> bool:
    try:
        return bool(unit) and same_dimension(unit or "", working)
    except QuantityError:
        return False


def _fits_or_bare(heading: str, working: str) -> bool:
    """Whether the unit in brackets, where there is one, is of the column's kind."""
    unit = split_heading(heading)[1]
    return not unit or not working or _fits(unit, working)
