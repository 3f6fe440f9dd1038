"""Figures against each other: what agrees, what does not, and which slip explains it."""

from __future__ import annotations

from typing import Any

import pytest

from slackwater.analysis.audit.arithmetic import check_arithmetic
from slackwater.analysis.audit.outcome import AGREES, DISAGREES, FINDING, OPEN, Reason
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of

DRIVE = {"gear_ratio": "1.75", "propeller_pitch": "21 in"}


def reasons(*claims: dict[str, Any], **more: Any) -> list[list[Reason]]:
    entries = [{"id": f"C{i}", "quantity": "speed", **claim} for i, claim in enumerate(claims, 1)]
    found, findings = build_claims(document_of({"claims": entries, **more}))
    assert found is not None, findings
    return check_arithmetic(found)


def wrong(*claims: dict[str, Any], **more: Any) -> list[tuple[str, str]]:
    return [
        (r.check, r.explanation)
        for each in reasons(*claims, **more)
        for r in each
        if r.outcome == DISAGREES
    ]


def stated(**figures: str) -> dict[str, Any]:
    return {"stated": figures}


@pytest.mark.parametrize(
    "figures",
    [
        {"baseline": "16.2 kn", "modified": "17.1 kn", "difference": "0.9 kn", "change": "+5.6 %"},
        {"baseline": "16.2 kn", "modified": "17.1 kn", "change": "+4.9 %"},
        {"baseline": "16.2 kn", "modified": "19.7 mph", "change": "+5.7 %"},
        {"baseline": "17.1 kn", "modified": "16.2 kn", "difference": "0.9 kn", "change": "5.3 %"},
        {"baseline": "16.2 kn", "modified": "17.1 kn", "change": "about 5 %"},
        {"baseline": "16.2 kn", "modified": "17.1 kn", "change": "up to 10 %"},
        {"baseline": "16.2 kn", "modified": "17.1 kn", "change": "at least 5 %"},
        {"baseline": "16.2 kn", "modified": "17 to 18 kn", "change": "5 to 10 %"},
        {"change": "+300 %"},
        {"baseline": "11.5 ± 0.25 kn", "modified": "12.0 ± 0.25 kn", "change": "3.0 ± 2.0 %"},
        {"baseline": "18.4 kn", "modified": "19.2 kn", "change": "over 4 %"},
        {"baseline": "18.5 kn", "modified": "19.0 kn", "change": "4.6 %"},  # to the half knot
        {"baseline": "16.2 kn", "modified": "17.0 kn", "change": "4.30 %"},  # cut off
        {"baseline": "20.0 kn", "modified": "23.9 kn", "change": "a fifth more"},
        {"baseline": "20.0 kn", "modified": "18.7 kn", "change": "no more than 7 % less"},
    ],
)
def test_rounded_figures_agree(figures: dict[str, str]) -> None:
    assert wrong(stated(**figures)) == []


@pytest.mark.parametrize(
    ("figures", "explanation"),
    [
        ({"baseline": "20.0 kn", "modified": "25.0 kn", "change": "+20.0 %"}, "wrong-base"),
        (
            {"baseline": "20.0 kn", "modified": "25.0 kn", "change": "+22.2 %"},
            "wrong-base",  # of the mean of the two: of neither
        ),
        (
            {"baseline": "16.2 kn", "modified": "11.7 kn", "difference": "0.9 kn"}
            | {"change": "+5.6 %"},
            "swapped-digits",
        ),
        (
            {"baseline": "18.7 kn", "modified": "22.4 kn", "difference": "4.7 kn"},
            "subtraction",
        ),
        (
            {"baseline": "18.7 kn", "modified": "22.4 kn", "difference": "16.3 kn"},
            "subtraction",  # in each place the smaller digit from the larger
        ),
        (
            {"baseline": "16.2 kn", "modified": "17.1 mph", "difference": "0.9 kn"}
            | {"change": "+5.6 %"},
            "unit",
        ),
        ({"baseline": "16.4 kn", "modified": "17.6 kn", "change": "+12.5 %"}, "over-rounded"),
        ({"baseline": "16.2 kn", "modified": "17.1 kn", "change": "-5.6 %"}, "sign"),
        ({"baseline": "20.0 kn", "modified": "25.0 kn", "change": "-20.0 %"}, "swapped-columns"),
        ({"baseline": "18.0 kn", "modified": "19.0 kn", "change": "+7.8 %"}, "read-to"),
        ({"baseline": "18.4 kn", "modified": "19.2 kn", "change": "over 5 %"}, "over-rounded"),
        ({"baseline": "200 kn", "modified": "300 kn", "change": "twice"}, "unexplained"),
        ({"baseline": "20.0 kn", "modified": "21.4 kn", "change": "nearly 6 %"}, "unexplained"),
        ({"baseline": "16.2 kn", "modified": "17.1 kn", "change": "+55.6 %"}, "decimal-point"),
        ({"baseline": "16.2 kn", "modified": "17.1 kn", "change": "+47.3 %"}, "unexplained"),
    ],
)
def test_slips_are_named(figures: dict[str, str], explanation: str) -> None:
    found = wrong(stated(**figures))
    assert found
    assert found[0][1] == explanation


def test_the_values_that_would_agree_are_told() -> None:
    found = reasons(stated(baseline="20.0 kn", modified="21.0 kn", change="+8.0 %"))[0]
    assert "+4.5 to +5.5" in found[-1].message


def test_points_printed_as_a_percentage() -> None:
    slip = {"quantity": "slip", **stated(baseline="12.3 %", modified="7.3 %", change="-5 %")}
    assert wrong(slip) == [("percentage", "points")]


def test_cut_off_is_told_and_no_fault() -> None:
    # 16.299 and 17.000 kn, 4.301 %, all cut off.
    figures = stated(baseline="16.2 kn", modified="17.0 kn", change="4.30 %")
    told = [r for r in reasons(figures)[0] if r.check == "cut-off"]
    assert [r.outcome for r in told] == [FINDING]
    assert "rounding: down" in told[0].settle


def test_a_step_that_is_declared() -> None:
    figures = stated(baseline="18.0 kn", modified="19.0 kn", change="+7.8 %")
    assert wrong(figures, read_to={"speed": "0.5 kn"}) == []
    assert wrong(figures) != []


def test_parts_without_their_total_are_told() -> None:
    parts = {"baseline": ["12.2 nmi", "3.1 nmi"]}
    claim = {"quantity": "range", **stated(modified="20 nmi"), "parts": parts}
    told = [r for r in reasons(claim)[0] if r.check == "total"]
    assert [r.outcome for r in told] == [OPEN]
    assert "15.20 to 15.40" in told[0].message


def test_all_at_once_where_each_pair_would_agree() -> None:
    claim = stated(baseline="20.0 kn", modified="21.0 kn", difference="1.08 kn", change="+4.6 %")
    assert [check for check, _ in wrong(claim)] == ["all-at-once"]


def test_round_figures_are_no_fault() -> None:
    found = reasons(
        {"quantity": "range", **stated(baseline="250 nmi", modified="260 nmi", change="5 %")}
    )[0]
    assert "round-figures" in [r.check for r in found if r.outcome == FINDING]
    assert not [r for r in found if r.outcome == DISAGREES]


def test_a_percentage_said_to_be_of_the_modified() -> None:
    claim = stated(baseline="20.0 kn", modified="25.0 kn", change="+20.0 %", change_of="modified")
    assert wrong(claim) == []


def test_a_base_that_rounding_leaves_open_is_told() -> None:
    found = reasons(stated(baseline="16.2 kn", modified="17.1 kn", change="+5.3 %"))[0]
    assert ("base", FINDING) in [(r.check, r.outcome) for r in found]


def test_economy_from_speed_and_flow() -> None:
    beside = {"baseline": {"speed": "16.2 kn", "fuel_flow": "29.5 L/h"}}
    good = {"quantity": "economy", **stated(baseline="0.549 nmi/L"), "beside": beside}
    turned = {"quantity": "economy", **stated(baseline="1.82 nmi/L"), "beside": beside}
    miles = {"quantity": "economy", **stated(baseline="2.39 nmi/gal"), "beside": beside}
    assert wrong(good) == []
    assert wrong(turned) == [("economy", "inverted")]
    # 16.2 kn is 18.64 mph, and 29.5 L/h is 7.793 gal/h: 2.39 mi/gal, printed as nautical miles.
    assert wrong(miles) == [("economy", "unit")]


def test_range_from_economy_capacity_and_reserve() -> None:
    def claim(value: str) -> dict[str, Any]:
        beside = {"baseline": {"economy": "0.549 nmi/L"}}
        return {"quantity": "range", **stated(baseline=value), "beside": beside}

    boat = {"fuel_capacity": "700 L", "fuel_reserve": "10 %"}
    assert wrong(claim("346 nmi"), boat=boat) == []
    for value in ("384 nmi", "423 nmi", "173 nmi"):  # forgotten, added, out and back
        assert wrong(claim(value), boat=boat) == [("range", "range")]
    assert wrong(claim("400 nmi"), boat={"fuel_capacity": "700 L"}) == [
        ("range-at-most", "unexplained")
    ]
    litres = {"fuel_capacity": "700 L", "fuel_reserve": "70 L"}
    assert wrong(claim("346 nmi"), boat=litres) == []


def test_slip_and_advance_from_speed_gear_and_pitch() -> None:
    # 2200 rpm / 1.75 x 21 in is 21.73 kn without slip.
    beside = {"baseline": {"speed": "14.0 kn"}}
    base = {"quantity": "slip", "at": "2200 rpm", "beside": beside}
    assert wrong({**base, **stated(baseline="35.6 %")}, boat=DRIVE) == []
    assert wrong({**base, **stated(baseline="64.4 %")}, boat=DRIVE) == [("slip", "inverted")]
    engine = wrong({**base, **stated(baseline="63.2 %")}, boat=DRIVE)
    assert engine == [("slip", "gear-ratio")]
    advance = {"quantity": "advance", "at": "2200 rpm", "beside": beside}
    assert wrong({**advance, **stated(baseline="0.344 m")}, boat=DRIVE) == []


def test_totals() -> None:
    def claim(total: str) -> dict[str, Any]:
        parts = {"baseline": ["10.1 nmi", "12.0 nmi", "8.1 nmi", "5.1 nmi"]}
        return {"quantity": "range", **stated(baseline=total), "parts": parts}

    assert wrong(claim("35.3 nmi")) == []
    assert wrong(claim("30.2 nmi")) == [("total", "part-left-out")]
    assert wrong(claim("53.3 nmi")) == [("total", "swapped-digits")]


def test_the_same_stated_twice_in_one_claim() -> None:
    beside = {"baseline": {"speed": "61.2 kn"}}
    assert wrong({"at": "2400 rpm", "beside": beside, **stated(baseline="16.2 kn")}) == [
        ("stated-twice", "swapped-digits")
    ]
    beside = {"baseline": {"speed": "16 kn"}}
    assert wrong({"at": "2400 rpm", "beside": beside, **stated(baseline="16.2 kn")}) == []


def test_shares_of_whole_counts() -> None:
    claim = {**stated(change="33 %"), "counts": {"of": 10}}
    assert wrong(claim) == [("granularity", "granularity")]
    possible = {**stated(change="30 %"), "counts": {"of": 10}}
    assert [r.outcome for r in reasons(possible)[0]] == [AGREES]
