"""In which order each rater scores the items of a session, so that no item always comes first or after the same one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random


@dataclass(frozen=True, slots=True)
class RatingOrders:
    """Orders of items, dealt out by rater and session; nothing in them depends on what is fitted.

    Parameters
    ----------
    rows : tuple of tuple of int
        Places of items in the protocol's list, an order a row.
    shifts : tuple of int
        Of each session: the row of its first rater; the raters after it take the rows after that.
    """

    rows: tuple[tuple[int, ...], ...]
    shifts: tuple[int, ...]

    def of(self, session: int, rater: int) -> tuple[int, ...]:
        """The order for a rater in a session, both counted from 0."""
        return self.rows[(self.shifts[session] + rater) % len(self.rows)]


def rating_orders(items: int, sessions: int, seed: int) -> RatingOrders:
    """Deal out orders: raters of one session take different rows, and each rater every row in turn by chance.

    The shift of a session is drawn without a look at its configuration, so that an order that comes back tells
    nobody what came back with it.
    """
    rows = balanced_rows(items)
    chance = Random(f"{seed} orders of items")
    shifts: list[int] = []
    while len(shifts) < sessions:
        block = list(range(len(rows)))
        chance.shuffle(block)
        shifts += block
    return RatingOrders(rows, tuple(shifts[:sessions]))


def balanced_rows(count: int) -> tuple[tuple[int, ...], ...]:
    """Orders of so many items in which each stands in every place, and follows every other one, equally often.

    One row from the ends inwards, 0, n - 1, 1, n - 2, …, and those moved on by one each; for an odd number
    the same read backwards as well. The construction is E. J. Williams's (1949; named from memory); a test counts
    places and neighbours.
    """
    ends: Sequence[int] = [(-k // 2) % count if k % 2 else k // 2 for k in range(count)]
    rows = [tuple((place + step) % count for place in ends) for step in range(count)]
    if count % 2 and count > 1:
        rows += [row[::-1] for row in rows]
    return tuple(rows)
