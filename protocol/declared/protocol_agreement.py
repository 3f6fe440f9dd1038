"""What the parts of a file have to agree on: names and units used in one, declared in another.

This reads the plain texts of the file and not the model, so that a slip in one part does not hide
the slips in another. What is misshapen is passed over here; the model tells of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from slackwater.protocol.catalogue.measures import MEASURES, nearest
from slackwater.protocol.declared.deciding import EQUAL_SPEED, quantity_of
from slackwater.protocol.declared.expected_agreement import expected_findings, fitted_findings
from slackwater.protocol.declared.manoeuvres_agreement import manoeuvre_findings, tried_units
from slackwater.protocol.declared.ratings import POINTS
from slackwater.protocol.declared.ratings_agreement import rated_names, rating_findings
from slackwater.protocol.declared.worthwhile import KEY
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    fitting,
    normal_unit,
    parse_quantity,
    same_dimension,
)

#: Sessions that it takes to allow for a trend.
LEAST_SESSIONS = 6


def protocol_findings(document: Document) -> Iterator[Finding]:
    """Everything on which the parts of a protocol disagree."""
    units = declared_units(document.data)
    rated = rated_names(document.data)
    named = units | dict.fromkeys(rated, POINTS) | tried_units(document.data)
    for name in _keys(document.data.get("loading")):
        if name in _keys(document.data.get("conditions")):
            message = f"'{name}' is limited under 'loading' already"
            yield at(document, ("conditions", name), message, "keep one of the two", key=True)
    yield from _measures(document)
    yield from rating_findings(document, units)
    yield from manoeuvre_findings(document, units, rated)
    yield from _set_points(document, units)
    points = _keys(_keys(document.data.get("runs")).get("set_points"))
    yield from expected_findings(document, units, points.get("values"))
    yield from fitted_findings(document)
    analysis = _keys(document.data.get("analysis"))
    for name, value in _keys(analysis.get("worthwhile")).items():
        loc: Loc = ("analysis", "worthwhile", name)
        one_sided = isinstance(value, dict)
        size = value.get(KEY) if isinstance(value, dict) else value
        yield from _of_quantity(document, loc, (*loc, KEY) if one_sided else loc, size, named)
    yield from _decides(document, analysis.get("decides"), named)
    yield from _trend(document, analysis.get("trend"))
    yield from _loadings(document, _keys(analysis.get("loading")))
    yield from _looks(document, _keys(analysis.get("looks")).get("at_sessions"))
    for name, entry in _keys(document.data.get("noise")).items():
        known = False
        for key in ("between_sessions", "within_session", "session_by_set_point"):
            loc = ("noise", name)
            value = _keys(entry).get(key)
            found = list(_of_quantity(document, loc, (*loc, key), value, named))
            if found and name not in named and name not in MEASURES:
                if not known:  # the name is told of once, not for each value under it
                    yield from found
                known = True
            else:
                yield from found


def _decides(document: Document, figure: object, units: dict[str, str | None]) -> Iterator[Finding]:
    """The deciding figure is of a quantity that is known."""
    if not isinstance(figure, str) or not figure.strip():
        return
    name = quantity_of(figure)
    if name in MEASURES or name in units:
        return
    known = [name.replace("_", " ") for name in (*MEASURES, *units)]
    near = nearest(figure, [*known, *(name + EQUAL_SPEED for name in known)])
    yield at(
        document,
        ("analysis", "decides"),
        f"'{figure}' is not a figure known here",
        f"did you mean '{near}'?" if near else "name a quantity, or one 'at equal speed'",
    )


def _trend(document: Document, trend: object) -> Iterator[Finding]:
    """A trend takes sessions enough to be told from the change."""
    order = _keys(document.data.get("sessions")).get("order")
    if trend != "linear" or not isinstance(order, str) or len(order.strip()) >= LEAST_SESSIONS:
        return
    yield at(
        document,
        ("analysis", "trend"),
        f"a trend is asked for with {len(order.strip())} sessions; it takes {LEAST_SESSIONS}",
        "declare more sessions, or 'trend: none'",
    )


def _loadings(document: Document, loadings: dict[str, Any]) -> Iterator[Finding]:
    """Strengths that are listed are as many as the set points."""
    runs = _keys(document.data.get("runs"))
    values = _keys(runs.get("set_points")).get("values")
    if not isinstance(values, (list, tuple)):
        return
    for name, found in loadings.items():
        if isinstance(found, (list, tuple)) and len(found) != len(values):
            yield at(
                document,
                ("analysis", "loading", name),
                f"{len(found)} strengths stand here for {len(values)} set points",
                "write one for each set point, in their order",
            )


def _looks(document: Document, counts: object) -> Iterator[Finding]:
    """Looks come in order, and the last one is the end of the trial."""
    if (
        not isinstance(counts, (list, tuple))
        or not all(_whole(one) for one in counts)
        or not counts
    ):
        return  # the model tells of it
    found = [int(str(one)) for one in counts]
    loc: Loc = ("analysis", "looks", "at_sessions")
    for position in range(1, len(found)):
        if found[position] <= found[position - 1]:
            message = f"a look at {found[position]} sessions after one at {found[position - 1]}"
            yield at(document, (*loc, position), message, "write the looks in rising order")
    end = _sessions_declared(document)
    if end is not None and found[-1] != end:
        yield at(
            document,
            (*loc, len(found) - 1),
            f"the last look is at {found[-1]} sessions, but the trial ends at {end} sessions with "
            "each configuration",
            f"make the last look {end}, or change sessions: per_configuration and order",
        )


def _sessions_declared(document: Document) -> int | None:
    """Sessions with each configuration as the file has it, where that can be told."""
    sessions = _keys(document.data.get("sessions"))
    count, order = sessions.get("per_configuration"), sessions.get("order")
    if count is not None:
        return int(str(count)) if _whole(count) else None
    if isinstance(order, str) and order.strip():
        return max(1, order.strip().count(order.strip()[0]))
    return None if order is not None else 3


def _whole(value: object) -> bool:
    return isinstance(value, str) and value.strip().isdecimal() and len(value.strip()) < 6


def declared_units(data: dict[str, Any]) -> dict[str, str | None]:
    """The measures that a protocol declares, with their units where these can be told."""
    units: dict[str, str | None] = {}
    for name, entry in _keys(data.get("measures")).items():
        listed = MEASURES.get(name)
        units[name] = listed.unit if listed else None
        written = _keys(entry).get("unit")
        if isinstance(written, str):
            try:
                units[name] = normal_unit(written)
            except QuantityError:
                continue
    return units


def _measures(document: Document) -> Iterator[Finding]:
    for name, entry in _keys(document.data.get("measures")).items():
        listed = MEASURES.get(name)
        loc: Loc = ("measures", name)
        if listed is not None and listed.kind == "derived":
            yield at(
                document,
                loc,
                f"'{name}' is derived from what is measured, not measured itself",
                "declare what the instruments read, such as speed_over_ground or fuel_flow",
                key=True,
            )
            continue
        if listed is None:
            near = nearest(name, MEASURES, 0.85)
            if near:
                yield at(
                    document,
                    loc,
                    f"the measure '{name}' is not in the catalogue",
                    f"did you mean '{near}'?",
                    rule="unknown-key",
                    key=True,
                )
                continue
        if not isinstance(entry, dict):
            continue
        unit = _unit(entry.get("unit"))
        if listed is None and "unit" not in entry:
            yield at(
                document,
                loc,
                f"the measure '{name}' has no unit, and the catalogue does not know it",
                "add 'unit:'",
                rule="missing-key",
                key=True,
            )
        if listed is not None and unit and not same_dimension(unit, listed.unit):
            noun, fit = fitting(listed.unit)
            yield at(
                document,
                (*loc, "unit"),
                f"'{unit}' does not fit {name}; {noun} is needed",
                f"use one of {', '.join(fit)}",
            )
            continue
        working = unit or (listed.unit if listed else None)
        spread = entry.get("standard_uncertainty")
        if working and isinstance(spread, str):
            yield from _fits(document, (*loc, "standard_uncertainty"), spread, working)


def _set_points(document: Document, units: dict[str, str | None]) -> Iterator[Finding]:
    points = _keys(_keys(document.data.get("runs")).get("set_points"))
    base: Loc = ("runs", "set_points")
    of = points.get("of")
    if not isinstance(of, str):
        return
    listed = MEASURES.get(of)
    if of not in units and (listed is None or (of not in {"speed"} and listed.kind == "derived")):
        near = nearest(of, [*units, *(m.name for m in MEASURES.values() if m.kind == "measured")])
        fix = (
            f"did you mean '{near}'?" if near else "name a measure, or declare it under 'measures:'"
        )
        yield at(document, (*base, "of"), f"'{of}' is not a measure that can be held", fix)
        if near is None:
            return
        # What is wrong with the values is told as for the measure most likely meant.
        of, listed = near, MEASURES.get(near)
    unit = units.get(of) or (listed.unit if listed else None)
    values = points.get("values")
    if unit is None or not isinstance(values, (list, tuple)):
        return
    seen: dict[float, str] = {}
    may_be_negative = listed is not None and listed.scale == "difference"
    for position, text in enumerate(values):
        loc = (*base, "values", position)
        try:
            value = _read(text, (unit,)).to(unit).value
        except QuantityError as error:
            yield at(document, loc, error.message, error.fix)
            continue
        if value <= 0 and not may_be_negative:
            yield at(document, loc, f"'{text}' is not above zero", "give a value above zero")
        if value in seen:
            yield at(
                document,
                loc,
                f"the set point '{text}' stands here already",
                "take one of the two away; repeats are set by double_runs",
            )
        seen[value] = str(text)
    hold = points.get("hold")
    if hold is not None:
        yield from _fits(document, (*base, "hold"), hold, unit)


def _of_quantity(
    document: Document, named: Loc, loc: Loc, value: object, units: dict[str, str | None]
) -> Iterator[Finding]:
    """A difference or a scatter of a quantity: is the quantity known, and does the unit fit?

    `named` is where the quantity's name stands, `loc` where the value does.
    """
    name = str(named[-1])
    listed = MEASURES.get(name)
    if listed is None and name not in units:
        near = nearest(name, [*MEASURES, *units])
        yield at(
            document,
            named,
            f"'{name}' is not a quantity known here",
            f"did you mean '{near}'?" if near else "use a derived quantity or a declared measure",
            rule="unknown-key",
            key=True,
        )
        return
    unit = units.get(name) or (listed.unit if listed else None)
    if value is not None and unit is not None:
        yield from _fits(document, loc, value, unit)


def _fits(document: Document, loc: Loc, text: object, unit: str) -> Iterator[Finding]:
    """A difference or tolerance: absolute in the quantity's unit, or a percentage of what has a nought."""
    difference = f"delta_{unit}" if unit in ("degC", "degF") else unit
    alone = unit == POINTS or same_dimension(difference, "%")
    likes = (difference,) if alone else ("%", difference)
    try:
        _read(text, likes)
    except QuantityError as error:
        yield at(document, loc, error.message, error.fix)


def _read(value: object, likes: tuple[str, ...]) -> Quantity:
    if isinstance(value, (dict, list, tuple)) or value is None:
        raise QuantityError("a group stands here; a single value is needed")
    return parse_quantity(str(value), likes)


def _unit(text: object) -> str | None:
    if not isinstance(text, str):
        return None
    try:
        return normal_unit(text)
    except QuantityError:
        return None


def _keys(value: object) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}
