"""Names and counts in words."""

from __future__ import annotations


def quantity_title(name: str) -> str:
    """The quantity in words."""
    return name.replace("_", " ")


def count_of(number: int, noun: str) -> str:
    """The number with its noun, plural where there is not just one."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
