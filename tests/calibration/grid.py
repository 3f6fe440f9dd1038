"""The cells of the simulation: every kind of trial that the error rates are shown for."""

from __future__ import annotations

from collections.abc import Iterator

from world import SPEEDS, World

ORDERS = ("ABBA", "ABBAAB", "ABBAABBA", "AABB", "AABBB", "AABABBABBB")
GAIN = (0.02,) * 8
PARTLY = (0.0, 0.0, 0.03, 0.05, 0.05, 0.03, 0.0, 0.0)


def null_cells() -> Iterator[tuple[str, World]]:
    """Worlds in which nothing changed."""
    for order in ORDERS:
        for double_runs in (1, 2, 3):
            for tide in (0.0, 1.0, 2.5):
                for between in (0.0, 0.003, 0.006, 0.012):
                    yield "", World(order, double_runs, tide, between)
    for order in ("ABBA", "ABBAAB", "ABBAABBA"):
        for between in (0.0, 0.006):
            yield "no part by set point", World(order, 1, 1.0, between, by_set_point=0.0)
            yield "uneven noise", World(order, 1, 1.0, between, uneven=3.0)
            yield "uneven noise", World(order, 3, 1.0, between, uneven=3.0)
            yield "heavy tails", World(order, 2, 1.0, between, heavy=True)
            yield "double runs missing", World(order, 2, 1.0, between, missing=0.15)
    for order in ("ABBABAAB", "ABBABAABABBA"):
        for between in (0.0, 0.003):
            yield "changed afloat", World(order, 1, 1.0, between, per_day=4, day=0.01)


def effect_cells() -> Iterator[tuple[str, World]]:
    """Worlds with a change: everywhere, or in the middle of the sweep only."""
    for order in ORDERS:
        for between in (0.003, 0.006):
            yield "gain everywhere", World(order, 3, 1.0, between, effect=GAIN)
    for order in ("ABBA", "ABBAAB", "ABBAABBA"):
        yield "gain in the middle", World(order, 3, 1.0, effect=PARTLY)
        yield "gain in the middle, uneven noise", World(order, 3, 1.0, uneven=3.0, effect=PARTLY)


HUMP = (1.0, 1.0, 1.0, 4.0, 1.0, 1.0, 1.0, 1.0)
KNOTS = tuple(0.1 / SPEEDS / 0.006)  # 0.1 kn at every speed


def stress_cells() -> Iterator[tuple[str, World, float]]:
    """Worlds in which nothing changed and the model does not hold, and the false rate allowed."""
    for order in ("ABBA", "ABBAAB", "ABBAABBA", "ABBAABBAABBA"):
        most = 0.07 if len(order) == 4 else 0.06
        yield "noisy hump", World(order, loading=HUMP), most
        yield "constant in knots", World(order, loading=KNOTS), most
    for order in ("ABBA", "ABBAAB", "ABBAABBA"):
        yield "modified noisier", World(order, louder="B", louder_by=3.0), 0.065
    for order, louder in (("AABBB", "A"), ("AABBB", "B"), ("AAAABB", "B")):
        yield f"{louder} noisier, unequal numbers", World(order, louder=louder, louder_by=3.0), 0.06
    for order in ("ABCCBA", "ABCCBAABC"):
        yield "quiet third configuration", World(order, louder="C", louder_by=0.2), 0.06


#: The worlds in which what is found is compared with what an oracle finds, and the least share.
ORACLE = {"ABBA": 0.44, "ABBAAB": 0.73, "ABBAABBA": 0.87}


def oracle_world(order: str) -> World:
    """2 % at every set point, 0.6 % between sessions, 0.3 % by set point, 0.15 kn a run."""
    return World(order, 3, 1.0, 0.006, 0.003, 0.15, effect=GAIN)


#: Two cells for every run of the tests, corners where the rate is most at risk.
SAMPLE = (
    World("AABBB", 2, 1.0, 0.006, missing=0.15),
    World("ABBABAAB", 1, 1.0, 0.003, per_day=4, day=0.01),
)

#: Cells of the stress table for every run of the tests.
STRESS_SAMPLE = (
    (World("ABBAAB", loading=HUMP), 0.06),
    (World("AABBB", louder="A", louder_by=3.0), 0.06),
)
