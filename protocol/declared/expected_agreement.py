"""What is expected of the boat at the set points, and what the letters of the order stand for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from slackwater.protocol.catalogue.measures import MEASURES, nearest
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import QuantityError, parse_quantity


def expected_findings(
    document: Document, units: Mapping[str, str | None], set_points: object
) -> Iterator[Finding]:
    """One value a set point, of a quantity that the runs will have, in a unit of its kind."""
    expected = document.data.get("expected")
    known: dict[str, str | None] = {"speed": MEASURES["speed"].unit, **units}
    for name, values in (expected if isinstance(expected, dict) else {}).items():
        loc: Loc = ("expected", name)
        if name not in known:
            near = nearest(name, known)
            message = f"'{name}' is neither the speed nor a measure of this protocol"
            fix = f"did you mean '{near}'?" if near else f"known here: {', '.join(known)}"
            yield at(document, loc, message, fix, rule="unknown-key", key=True)
            continue
        if not isinstance(values, (list, tuple)):
            continue  # the model tells of it
        if isinstance(set_points, (list, tuple)) and len(values) != len(set_points):
            yield at(
                document,
                loc,
                f"{len(values)} values of {name} are expected at {len(set_points)} set points",
                "write one for each set point, in their order",
            )
        yield from _values(document, loc, values, known[name])


def _values(document: Document, loc: Loc, values: Any, unit: str | None) -> Iterator[Finding]:
    for position, text in enumerate(values):
        try:
            value = parse_quantity(str(text), unit) if unit and isinstance(text, str) else None
        except QuantityError as error:
            yield at(document, (*loc, position), error.message, error.fix)
            continue
        if value is not None and value.value <= 0:
            message = f"'{text}' is not above zero, as it is under way"
            yield at(document, (*loc, position), message, "give a value above zero")


def fitted_findings(document: Document) -> Iterator[Finding]:
    """Each letter of the order has a name of its own, and no other letter has one."""
    sessions = document.data.get("sessions")
    fitted = sessions.get("fitted") if isinstance(sessions, dict) else None
    order = sessions.get("order", "ABBAAB") if isinstance(sessions, dict) else ""
    if not isinstance(fitted, dict) or not isinstance(order, str):
        return
    for letter in sorted({*order} - set(fitted)):
        if letter.isalpha():
            message = f"the order has {letter}, and no name is given for it"
            yield at(document, ("sessions", "fitted"), message, f"add '{letter}: NAME'")
    seen: dict[str, str] = {}
    for letter, name in fitted.items():
        loc: Loc = ("sessions", "fitted", letter)
        if letter not in order:
            message = f"the order {order} has no {letter}"
            yield at(document, loc, message, "take it away, or change the order", key=True)
        if str(name) in seen:
            message = f"'{name}' is the name of {seen[str(name)]} already"
            yield at(document, loc, message, "give each configuration a name of its own")
        seen.setdefault(str(name), letter)
