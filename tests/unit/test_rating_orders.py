"""The order in which raters score items: balanced, and with nothing in it of what is fitted."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from slackwater.analysis.sheet.rating_orders import balanced_rows, rating_orders


@pytest.mark.parametrize("count", [*range(1, 13), 39, 40])
def test_every_item_stands_everywhere_and_follows_every_other_equally_often(count: int) -> None:
    """The property that the design is for, counted; it is its own source."""
    rows = balanced_rows(count)
    assert len(rows) == (count if count % 2 == 0 or count == 1 else 2 * count)
    places = Counter((place, item) for row in rows for place, item in enumerate(row))
    follows = Counter(pair for row in rows for pair in pairwise(row))
    assert len(places) == count * count
    assert len(follows) == count * (count - 1)
    assert len(set(places.values())) == 1
    assert len(set(follows.values())) <= 1


def test_raters_of_a_session_differ_and_each_goes_through_all_rows() -> None:
    orders = rating_orders(3, 12, 5)
    for session in range(12):
        assert len({orders.of(session, rater) for rater in range(6)}) == 6
    for rater in range(6):
        assert set(Counter(orders.of(s, rater) for s in range(12)).values()) == {2}


def test_the_same_plan_has_the_same_orders_and_another_has_others() -> None:
    assert rating_orders(4, 8, 5) == rating_orders(4, 8, 5)
    assert len({rating_orders(4, 8, seed).shifts for seed in range(10)}) > 5
