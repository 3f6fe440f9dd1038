"""Orders of configurations, such as ABBAAB."""

from __future__ import annotations

from itertools import pairwise


def in_one_block(order: str) -> bool:
    """Whether each configuration has all its sessions together, and more than one of them."""
    blocks = 1 + sum(a != b for a, b in pairwise(order))
    return len(set(order)) > 1 and blocks == len(set(order)) < len(order)


def positions(order: str) -> dict[str, float]:
    """Mean position of each configuration in the order, counted from 1."""
    return {
        letter: sum(i for i, one in enumerate(order, 1) if one == letter) / order.count(letter)
        for letter in sorted(set(order))
    }


def alternative(order: str) -> str:
    """An order with the same sessions that mixes the configurations, reversing in turn."""
    letters = sorted(set(order))
    rounds = order.count(letters[0])
    return "".join(
        "".join(letters if number % 2 == 0 else reversed(letters)) for number in range(rounds)
    )
