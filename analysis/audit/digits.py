"""Whether published figures carry more digits than can be meant, and percentages that mislead.

Findings only: none of this makes a claim false.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.consistency import figures_of, implied_change
from slackwater.analysis.audit.outcome import FINDING, Reason
from slackwater.analysis.audit.rounding import Span, bounded, in_unit
from slackwater.analysis.audit.sources import DIGITS, PRACTICE, UNCERTAINTY_DIGITS
from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import Quantity, same_dimension

_SPACING = Decimal("0.05")  # of a standard uncertainty; a finer step says nothing more


def check_digits(
    claim: Claim, rounding: str, instruments: Mapping[str, Quantity]
) -> Iterator[Reason]:
    """Findings on the digits of one claim.

    Parameters
    ----------
    claim : Claim
    rounding : str
        "nearest" or "down".
    instruments : mapping
        Standard uncertainty by quantity, absolute or a percentage.
    """
    for name, figure in claim.stated.figures.items():
        uncertainty = instruments.get(claim.quantity)
        if uncertainty is not None and name in ("baseline", "modified", "difference"):
            yield from _beyond_instrument(name, figure, uncertainty)
        if figure.assumed:
            settle = "which unit is meant"
            yield Reason("unit-read", FINDING, f"{figure.assumed}.", settle=settle)
        if figure.uncertainty is not None:
            yield from _uncertainty_digits(figure)
    yield from _change(claim, rounding)


def _beyond_instrument(name: str, figure: Figure, uncertainty: Quantity) -> Iterator[Reason]:
    size = Decimal(repr(uncertainty.value))
    if uncertainty.unit == "%" and not same_dimension(figure.unit, "%"):
        limit = abs(figure.middle) * size / 100
    elif same_dimension(uncertainty.unit, figure.unit):
        limit = in_unit(Span(size, size), uncertainty.unit, figure.unit).middle
    else:
        return
    if limit > 0 and figure.step < limit * _SPACING:
        message = (
            f"The {name} '{figure}' is printed to {figure.step.normalize():f}"
            f"{shown.unit_of(figure.unit)}, while the instrument is good to "
            f"{shown.number(limit)}{shown.unit_of(figure.unit)} (standard uncertainty)."
        )
        yield Reason("more-digits-than-carried", FINDING, message, source=DIGITS)


def _uncertainty_digits(figure: Figure) -> Iterator[Reason]:
    spread = figure.uncertainty
    if spread is None or spread == 0:
        return
    step = Decimal(1).scaleb(int(spread.as_tuple().exponent))
    digits = len(str(int(spread / step)))
    if digits > 2 or figure.step != step:
        message = (
            f"'{figure}': an uncertainty carries two digits at most, and its value as many "
            "decimals as the uncertainty."
        )
        yield Reason("uncertainty-digits", FINDING, message, source=UNCERTAINTY_DIGITS)


def _change(claim: Claim, rounding: str) -> Iterator[Reason]:
    figures = figures_of(claim, rounding)
    change = figures.figures.get("change")
    measure = CLAIMED.get(claim.quantity)
    if change is not None and measure is not None and measure.scale == "difference":
        message = (
            f"'{change}' is a percentage of a quantity that is compared by differences"
            + (", a percentage of a percentage" if measure.unit in ("1", "%") else "")
            + "; the difference itself should be stated."
        )
        yield Reason("percentage-of-a-percentage", FINDING, message, source=PRACTICE)
    spans = {k: v for k, v in figures.spans().items() if k != "change"}
    found = implied_change(figures, spans)
    if found is None or not bounded(found) or change is None:
        return
    if change.step * 20 < found.width and not change.about:
        message = (
            f"'{change}' is printed to {change.step.normalize():f} %, while the values it comes "
            f"from leave {shown.span(found, '%', signed=True)} open."
        )
        yield Reason("more-digits-than-carried", FINDING, message, source=DIGITS)
    if found.width > abs(found.middle):
        message = (
            "The percentage is one of a small difference: the rounding of the values alone leaves "
            f"{shown.span(found, '%', signed=True)} open."
        )
        settle = "the values to one more digit"
        yield Reason("small-difference", FINDING, message, settle=settle, source=DIGITS)
