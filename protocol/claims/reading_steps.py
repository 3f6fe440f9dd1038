"""The step that an instrument or a reader reads to, where it is coarser than the last digit printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import Quantity, conversion, same_dimension


def read_to(figure: Figure, quantity: str, steps: Mapping[str, Quantity]) -> Figure:
    """The figure with the step that its quantity is said to be read to, if that is the coarser one."""
    step = steps.get(quantity)
    if step is None or not same_dimension(step.unit, figure.unit):
        return figure
    size = Decimal(repr(step.value)) * Decimal(repr(conversion(step.unit, figure.unit)))
    return replace(figure, step=max(figure.step, size))
