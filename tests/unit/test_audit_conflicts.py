"""Claims that cannot all be true: the smallest sets, blamed on none of them alone."""

from __future__ import annotations

from typing import Any

import pytest
from audited_claims import audited

from slackwater.analysis.audit.identities import identities
from slackwater.analysis.audit.network import Tie, possible
from slackwater.protocol.catalogue.equations import equations


def on(quantity: str, at: str = "", **stated: str) -> dict[str, Any]:
    return {"quantity": quantity, "stated": stated, **({"at": at} if at else {})}


TANK = {"fuel_capacity": "300 L"}


@pytest.mark.parametrize(
    ("claims", "boat", "together", "explanation"),
    [
        # A fifth less fuel at one speed takes a boat a quarter further, not a fifth.
        (
            [on("fuel_flow", "16 kn", change="-20 %"), on("economy", "16 kn", change="+20 %")],
            {}, ("C1", "C2"), "mirrored",
        ),
        # Figures in per cent alone, three of them, of which any two could be true.
        (
            [
                on("speed", "2400 rpm", change="+5 %"),
                on("fuel_flow", "2400 rpm", change="0 %"),
                on("economy", "2400 rpm", change="+12 %"),
                on("range", "2400 rpm", change="+5 %"),
            ],
            {}, ("C3", "C4"), "unexplained",
        ),
        (
            [
                on("speed", "2400 rpm", change="+5 %"),
                on("fuel_flow", "2400 rpm", change="0 %"),
                on("economy", "2400 rpm", change="+12 %"),
            ],
            {}, ("C1", "C2", "C3"), "unexplained",
        ),
        # 18.4 kn / 22.5 L/h x 300 L is 245 nmi, with an empty tank.
        (
            [on("range", "18.4 kn", baseline="401 nmi"), on("fuel_flow", "18.4 kn", baseline="22.5 L/h")],
            TANK, ("C1", "C2"), "unexplained",
        ),
        (
            [on("top_speed", baseline="26.0 kn"), on("speed", "3500 rpm", baseline="27.1 kn")],
            {}, ("C1", "C2"), "unexplained",
        ),
        # 1 / 1.40 L/nmi is 0.714 nmi/L.
        (
            [
                on("fuel_per_distance", "2400 rpm", baseline="1.40 L/nmi"),
                on("economy", "2400 rpm", baseline="0.83 nmi/L"),
            ],
            {}, ("C1", "C2"), "unexplained",
        ),
        (
            [on("speed", "2400 rpm", change="+5 %"), on("speed", "2400 rpm", change="+9 %")],
            {}, ("C1", "C2"), "unexplained",
        ),
    ],
)  # fmt: skip
def test_the_smallest_set_is_named_and_none_of_it_blamed(
    claims: list[dict[str, Any]], boat: dict[str, Any], together: tuple[str, ...], explanation: str
) -> None:
    found = audited(*claims, boat=boat)
    assert [(c.claims, c.explanation) for c in found.conflicts] == [(together, explanation)]
    assert all(c.verdict == "untestable" for c in found.claims)


@pytest.mark.parametrize(
    ("claims", "boat"),
    [
        ([on("fuel_flow", "16 kn", change="-20 %"), on("economy", "16 kn", change="+25 %")], {}),
        # At one engine speed the boat may also have lost speed.
        ([on("fuel_flow", "2400 rpm", change="-20 %"), on("economy", "2400 rpm", change="+20 %")], {}),
        ([on("range", "18.4 kn", baseline="240 nmi"), on("fuel_flow", "18.4 kn", baseline="22.5 L/h")], TANK),
        ([on("top_speed", baseline="27.0 kn"), on("speed", "3500 rpm", baseline="27.1 kn")], {}),
        ([on("speed", change="up to 5 %"), on("speed", "2400 rpm", change="+9 %")], {}),
        # Of other places, or on average over some: nothing follows.
        ([on("speed", "2400 rpm", change="+5 %"), on("speed", "2500 rpm", change="+9 %")], {}),
        ([on("speed", "2400 to 3000 rpm", change="+5 %"), on("speed", "2500 rpm", change="+9 %")], {}),
    ],
)  # fmt: skip
def test_what_may_all_be_true_is_let_pass(
    claims: list[dict[str, Any]], boat: dict[str, Any]
) -> None:
    found = audited(*claims, boat=boat)
    assert found.conflicts == ()


def test_distance_time_and_speed_of_one_claim() -> None:
    # One nautical mile in 260 s is 13.8 kn.
    beside = {"baseline": {"timed_distance": "1.000 nmi", "elapsed_time": "260 s"}}
    claim = {**on("speed", "2400 rpm", baseline="16.2 kn"), "beside": beside}
    assert audited(claim).claims[0].verdict == "inconsistent"
    claim = {**on("speed", "2400 rpm", baseline="13.8 kn"), "beside": beside}
    assert audited(claim).claims[0].verdict == "untestable"


def test_two_conflicts_are_told_apart() -> None:
    found = audited(
        on("speed", "2000 rpm", change="+5 %"),
        on("speed", "2000 rpm", change="+9 %"),
        on("speed", "3000 rpm", baseline="20.0 kn"),
        on("speed", "3000 rpm", baseline="22.0 kn"),
        on("speed", "3000 rpm", baseline="20.0 kn"),
    )
    assert [c.claims for c in found.conflicts] == [("C1", "C2"), ("C3", "C4")]


def test_a_network_is_possible_until_a_sum_proves_otherwise() -> None:
    a, b, c = ("a",), ("b",), ("c",)
    tie = Tie(((a, 1.0), (b, -1.0), (c, -1.0)))
    assert possible([(a, (2.0, 2.0)), (b, (1.0, 1.0)), (c, (0.5, 1.5))], [tie])
    assert not possible([(a, (2.0, 2.0)), (b, (1.0, 1.0)), (c, (1.5, 2.5))], [tie])
    most = Tie(((a, 1.0), (b, -1.0)), most=True)
    assert possible([(a, (1.0, 2.0)), (b, (1.5, 1.5))], [most])
    assert not possible([(a, (1.6, 2.0)), (b, (1.5, 1.5))], [most])


def test_the_checks_are_those_that_the_catalogue_declares() -> None:
    told = {(e.result, frozenset(e.powers)) for e in equations()}
    assert ("economy", frozenset({"speed", "fuel_flow"})) in told
    assert ("slip", frozenset({"advance", "propeller_pitch"})) in told
    assert ("speed", frozenset({"timed_distance", "elapsed_time"})) in told
    assert not {result for result, _ in told} & {"top_speed", "trip_fuel", "planing_threshold"}
    assert {i.result for i in identities()} == {result for result, _ in told}
