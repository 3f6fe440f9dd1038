"""The unit of a column, and the line from it to the working one, as the page for a tablet reads what is typed."""

from __future__ import annotations

from slackwater.analysis.intake.headings import split_heading
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import QuantityError, convert, normal_unit


def unit_line(text: str, working: str) -> tuple[str, str, float, float]:
    """A heading without its unit, the unit, and the line from it to the working one.

    Raises
    ------
    InputError
        When the trial gives the column a unit that is not known or does not fit.
    """
    heading, written = split_heading(text)
    try:
        unit = normal_unit(written or working)
        if unit == working:
            return heading, unit, 1.0, 0.0
        # Two points make the line, so that temperatures keep their offset.
        offset = convert(0.0, unit, working)
        return heading, unit, convert(1.0, unit, working) - offset, offset
    except QuantityError as error:
        message = f"column '{text}': {error.message}"
        fix = error.fix or f"give it in {working}, in the trial's 'columns:' or 'units:'"
        raise InputError([Finding("unit-unfit", Severity.ERROR, message, fix)]) from error
