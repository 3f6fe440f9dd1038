"""The deciding figure: the one quantity that answers a protocol's question, declared beforehand."""

from __future__ import annotations

EQUAL_SPEED = " at equal speed"


def plain_figure(text: str) -> str:
    """A figure's name as tables are known by: `fuel flow at equal speed` is `fuel_flow at equal speed`."""
    words = " ".join(text.replace("_", " ").split())
    ends = words.endswith(EQUAL_SPEED)
    name = words.removesuffix(EQUAL_SPEED) if ends else words
    return name.replace(" ", "_") + (EQUAL_SPEED if ends else "")


def quantity_of(figure: str) -> str:
    """The quantity that a figure is of."""
    return plain_figure(figure).removesuffix(EQUAL_SPEED)


def decides(figure: str | None, key: str, quantity: str, kind: str) -> bool:
    """Whether a table of session values is the deciding figure.

    Parameters
    ----------
    figure : str or None
        As declared.
    key, quantity, kind : str
        Of the table.
    """
    if figure is None:
        return False
    named = plain_figure(figure)
    return named == key or (kind == "whole sweep" and named == quantity)
