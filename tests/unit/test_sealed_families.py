"""What a seal parts, piece by piece: which places were declared, which family a row belongs to."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from invented_protocols import protocol
from invented_runs import table
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.session_values import CurveErrors, SessionValues
from slackwater.analysis.verdict import sealed_families
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.sealed_families import (
    Part,
    Parting,
    Sealed,
    _when,
    at_positions,
    declared_positions,
    first_moment,
    rejoined,
)
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.declared.trial import ComparisonPair
from slackwater.protocol.sealing.seal import SealStatus
from slackwater.protocol.units.quantity import Quantity

PAIR = ComparisonPair(baseline="bare", modified="fitted")
BACK = ComparisonPair(baseline="fitted", modified="bare")
VALUES = np.arange(16.0).reshape(4, 4) + 8


def trial(
    analysis: dict[str, Any] | None = None, pairs: tuple[ComparisonPair, ...] = (PAIR,),
    order: str = "ABBA", **more: Any,
) -> Any:  # fmt: skip
    declared = {"worthwhile": {"speed": "1 %"}} if analysis is None else analysis
    made = protocol(analysis=declared, order=order, points=("1000 rpm", "3000 rpm"))
    return SimpleNamespace(protocol=made, comparisons=pairs, cruise=None, speeds=(), **more)


def kept(*claims: Any) -> Any:
    return SimpleNamespace(holds=True, claims=SimpleNamespace(claims=claims) if claims else None)


def claim(
    quantity: str = "fuel_flow", at: Any = None, at_modified: Any = None, pair: Any = PAIR
) -> Any:
    return SimpleNamespace(
        quantity=quantity, at=at, at_modified=at_modified,
        baseline=pair.baseline, modified=pair.modified,
    )  # fmt: skip


def told(made: Any, seal: Any, of: SessionValues, pair: ComparisonPair = PAIR) -> list[bool] | None:
    mask = declared_positions(made, seal, pair, of)
    return None if mask is None else mask.tolist()


SPEED = table(VALUES)
FLOW = table(VALUES, quantity="fuel_flow", unit="L/h", better="less")
AT_SPEED = {
    "kind": "equal speed",
    "positions": np.array([10.0, 12.0]),
    "labels": ("10 kn", "12 kn"),
}
NONE, ALL = [False] * 4, [True] * 4


# --- which positions -----------------------------------------------------------------------------


def test_no_seal_tells_nothing() -> None:
    assert told(trial(), SimpleNamespace(holds=False, claims=None), SPEED) is None


def test_set_points_of_a_quantity_that_matters_were_declared() -> None:
    assert told(trial(), kept(), SPEED) == [True, False, True, False]
    assert told(trial(), kept(), FLOW) == NONE
    assert told(trial({"decides": "fuel flow"}), kept(), FLOW) == [True, False, True, False]
    assert told(trial({"decides": "fuel flow"}), kept(), SPEED) == NONE
    # Both ways round, for as long as A is one of the two.
    assert told(trial(), kept(), SPEED, BACK) == [True, False, True, False]


def test_a_pair_that_the_letters_do_not_hold_was_not_declared() -> None:
    other = ComparisonPair(baseline="bare", modified="third")
    assert told(trial(), kept(), SPEED, other) == NONE
    further = ComparisonPair(baseline="fitted", modified="third")
    three = trial(pairs=(PAIR, other, further), order="ABCCBA")
    assert told(three, kept(), SPEED, other) == [True, False, True, False]
    assert told(three, kept(), SPEED, further) == NONE
    # A letter that the order does not have is nobody's.
    assert told(trial(pairs=(PAIR, other)), kept(), SPEED, other) == NONE


def test_the_same_times_a_constant_was_declared_with_it() -> None:
    economy = trial({"worthwhile": {"economy": "1 %"}})
    inverse = table(VALUES, quantity="fuel_per_distance", unit="L/nmi", better="less")
    assert told(economy, kept(), inverse) == [True, False, True, False]
    # A figure of the whole sweep is one by itself, and a trip's is the trial's alone.
    sweep = {"kind": "whole sweep", "labels": ("whole sweep",), "positions": np.zeros(1)}
    best = table(VALUES[:, :1], quantity="best_economy", unit="nmi/L", **sweep)
    assert told(economy, kept(), best) == [False]
    named = trial({"worthwhile": {"best_economy": "1 %", "trip_fuel": "1 %"}})
    assert told(named, kept(), best) == [True]
    trip = table(VALUES[:, :1], quantity="trip_fuel", unit="L", **sweep)
    assert told(named, kept(), trip) == [False]


def test_where_the_best_one_is_looked_for_has_to_be_declared_too() -> None:
    sweep = {"kind": "whole sweep", "labels": ("whole sweep",), "positions": np.zeros(1)}
    best = table(VALUES[:, :1], quantity="best_economy_speed", unit="kn", **sweep)
    worth = {"worthwhile": {"best_economy_speed": "1 %", "top_speed": "1 %"}}
    plain = trial(worth)
    assert told(plain, kept(), best) == [True]
    plain.cruise = "a cruise of the trial's own"
    assert told(plain, kept(), best) == [False]
    assert told(plain, kept(), table(VALUES[:, :1], quantity="top_speed", **sweep)) == [True]
    both = trial({**worth, "cruise": ["10 kn", "14 kn"]})
    both.cruise = "a cruise of the trial's own"
    assert told(both, kept(), best) == [True]


def test_speeds_were_declared_by_name_or_by_the_rule_where_nobody_named_any() -> None:
    at_speed = table(VALUES[:, :2], quantity="fuel_flow", unit="L/h", **AT_SPEED)
    matters = {"worthwhile": {"fuel_flow": "1 %"}}
    assert told(trial(matters), kept(), at_speed) == [False, False]
    named = trial({**matters, "speeds": ["12 kn"]})
    assert told(named, kept(), at_speed) == [False, True]
    decides = {"decides": "fuel flow at equal speed"}
    assert told(trial(decides), kept(), at_speed) == [True, True]
    own = trial(decides)
    own.speeds = (Quantity(10.0, "kn"),)
    assert told(own, kept(), at_speed) == [False, False]
    assert told(trial({**decides, "speeds": ["10 kn"]}), kept(), at_speed) == [True, False]
    # Places are the same in other units; a label that is no quantity is no place.
    metric = trial({**matters, "speeds": ["22.224 km/h"]})
    assert told(metric, kept(), at_speed) == [False, True]
    wordy = replace(at_speed, labels=("somewhere", "10 L"))
    assert told(metric, kept(), wordy) == [False, False]


def test_a_sealed_claim_declares_its_place_for_its_pair_and_quantity() -> None:
    plain = trial()
    at = Quantity(3000.0, "rpm")
    assert told(plain, kept(claim(at=at)), FLOW) == [False, False, True, False]
    assert told(plain, kept(claim(at=at)), FLOW, BACK) == [False, False, True, False]
    assert told(plain, kept(claim(at=at, at_modified=at)), FLOW) == [False, False, True, False]
    assert told(plain, kept(claim(at=at, at_modified=Quantity(2000.0, "rpm"))), FLOW) == NONE
    assert told(plain, kept(claim("economy", at=at)), FLOW) == NONE
    assert told(plain, kept(claim(at=at, pair=ComparisonPair(baseline="bare", modified="x"))), FLOW) == NONE  # fmt: skip
    # It adds to what the protocol declares, and one that is passed over ends nothing.
    two = kept(claim("economy", at=at), claim("speed", at=Quantity(2000.0, "rpm")))
    assert told(plain, two, SPEED) == [True, True, True, False]
    # Without a place it is of the whole sweep, and at a speed of tables read at speeds.
    assert told(plain, kept(claim("speed")), FLOW) == NONE
    assert told(plain, kept(claim()), FLOW) == NONE
    sweep = replace(FLOW, kind="whole sweep")
    assert told(plain, kept(claim()), sweep) == ALL
    at_speed = table(VALUES[:, :2], quantity="fuel_flow", unit="L/h", **AT_SPEED)
    assert told(plain, kept(claim(at=Quantity(12.0, "kn"))), at_speed) == [False, True]
    assert told(plain, kept(claim(at=Quantity(12.0, "L"))), at_speed) == [False, False]


# --- what a seal says ----------------------------------------------------------------------------


def status(state: str, message: str = "said", fix: str = "do") -> SealStatus:
    return SealStatus(state, message, fix)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("state", "claims", "rules"),
    [
        ("none", None, []),
        ("kept", None, []),
        ("late", None, ["seal-late"]),
        ("changed", None, ["seal-changed"]),
        ("kept", "kept", []),
        ("kept", "changed", ["seal-changed"]),
        ("late", "changed", ["seal-late", "seal-changed"]),
    ],
)
def test_a_seal_that_does_not_hold_is_a_finding(state: Any, claims: Any, rules: list[str]) -> None:
    of_claims = None if claims is None else status(claims, "claims said", "claims fix")
    seal = Sealed(state, "trial said", "trial fix", status("kept"), None, of_claims)
    found = seal.findings()
    assert [each.rule for each in found] == rules
    assert seal.holds is (state == "kept")
    if claims == "changed":
        assert (found[-1].message, found[-1].fix) == ("claims said", "claims fix")
    if state == "late":
        assert (found[0].message, found[0].fix) == ("trial said", "trial fix")


def sealed(
    monkeypatch: pytest.MonkeyPatch, state: str, made: Any = None, first: Any = None
) -> Sealed:
    """What is said of a seal in a state, made at a time, of a trial whose first run was at another."""
    seal = None if made is None else SimpleNamespace(made=made)
    monkeypatch.setattr(
        sealed_families, "seal_status", lambda *_: replace(status(state), seal=seal)
    )
    claims = SimpleNamespace(claims=()), status("kept", "claims said")
    monkeypatch.setattr(sealed_families, "sealed_claims", lambda _: claims)
    of: Any = SimpleNamespace(protocol=SimpleNamespace(document=None), folder=None, sessions=())
    runs: Any = SimpleNamespace(columns={"start": [] if first is None else [first]})
    return sealed_families.sealed_of(of, runs)


def test_what_a_seal_says(monkeypatch: pytest.MonkeyPatch) -> None:
    made, later = datetime(2026, 5, 1, 18, 30), datetime(2026, 5, 4, 9)
    none = sealed(monkeypatch, "none")
    assert (none.state, none.fix) == ("none", "")
    assert none.message == "not sealed: nothing shows what was declared before the trial"
    for state, when in (("changed", made), ("unreadable", None), ("kept", None)):
        broken = sealed(monkeypatch, state, when, later)
        assert (broken.state, broken.fix) == (state, "do")
        assert broken.message == "said; nothing counts as declared beforehand"
        assert broken.claims is None
    kept_one = sealed(monkeypatch, "kept", made, later)
    assert kept_one.state == "kept"
    assert "sealed on 2026-05-01 18:30" in kept_one.message
    assert kept_one.claims is not None
    assert kept_one.claims_status is not None
    late = sealed(monkeypatch, "kept", later, made)
    assert late.state == "late"
    assert "seal of 2026-05-04 09:00" in late.message
    assert "before the first run: the first is of 2026-05-01 18:30; it says" in late.message
    undated = sealed(monkeypatch, "kept", made)
    assert undated.state == "late"
    assert "no run and no session is dated" in undated.message


def moments(*sessions: tuple[Any, Any], starts: tuple[Any, ...] = ()) -> Any:
    of = [SimpleNamespace(date=day, start=start) for day, start in sessions]
    runs: Any = SimpleNamespace(columns={"start": list(starts)})
    return first_moment(SimpleNamespace(sessions=of), runs)  # type: ignore[arg-type]


def test_the_first_moment_is_the_earliest_that_the_files_tell() -> None:
    nine, ten = datetime(2026, 5, 4, 9), datetime(2026, 5, 4, 10)
    assert moments((date(2020, 1, 1), None), starts=(None, ten, nine)) == nine
    assert moments((None, ten), (date(2026, 5, 4), time(9)), (None, None)) == nine
    assert moments((None, ten), (date(2026, 5, 4), None)) == date(2026, 5, 4)
    assert moments((date(2026, 5, 5), None), (date(2026, 5, 4), time(9))) == nine
    assert moments((None, None), (None, time(9))) is None
    assert _when(nine) == "2026-05-04 09:00"
    assert _when(date(2026, 5, 4)) == "2026-05-04"


# --- the two families ----------------------------------------------------------------------------


def test_sweeps_count_in_every_family_that_they_take_part_in() -> None:
    """Speed is declared at two of four set points, flow nowhere: one declared sweep, two of the others."""
    parting = Parting(trial(), (SPEED, FLOW), kept())
    one, two = parting.parts(PAIR, SPEED)
    assert (one.declared, one.sweeps, one.positions.tolist()) == (True, 1, [0, 2])
    assert (two.declared, two.sweeps, two.positions.tolist()) == (False, 2, [1, 3])
    assert one.table.labels == ("1000 rpm", "3000 rpm")
    assert one.whole is SPEED
    (flow,) = parting.parts(PAIR, FLOW)
    assert (flow.declared, flow.sweeps, flow.table) == (False, 2, FLOW)
    # A sweep that was declared throughout takes no part in what was found afterwards.
    narrow = table(VALUES[:, [0, 2]], positions=np.array([1000.0, 3000.0]))
    (whole,) = Parting(trial(), (narrow,), kept()).parts(PAIR, narrow)
    assert (whole.declared, whole.sweeps) == (True, 1)
    mixed = Parting(trial(), (narrow, FLOW), kept()).parts(PAIR, FLOW)
    assert [each.sweeps for each in mixed] == [1]


def test_without_a_seal_a_sweep_is_one_of_all() -> None:
    pairs = (PAIR, ComparisonPair(baseline="bare", modified="third"))
    seal: Any = SimpleNamespace(holds=False, claims=None)
    (part,) = Parting(trial(pairs=pairs), (SPEED, FLOW), seal).parts(PAIR, FLOW)
    assert (part.declared, part.sweeps, part.positions.tolist()) == (None, 4, [0, 1, 2, 3])
    assert part.table is part.whole is FLOW


def test_a_part_counts_what_was_refused_by_its_own_positions() -> None:
    part = Part(SPEED, SPEED, np.array([1, 3]), False, 2)
    assert part.refused({0: "a", 3: "b", 2: "c", 1: "d"}) == {0: "d", 1: "b"}


def rows(values: np.ndarray, confidence: float) -> Judged:
    order = ["bare", "fitted", "fitted", "bare"]
    return judge_sweep(table(values), order, "bare", "fitted", Terms(confidence=confidence))


def test_what_was_found_afterwards_speaks_of_all_sweeps_together() -> None:
    rng = np.random.default_rng(3)
    values = np.exp(rng.normal(2, 0.01, (4, 3)) + np.array([0, 0.03, 0.03, 0])[:, None])
    judged = rows(values, 0.99)
    row = judged.rows[0]
    later = Part(table(values), table(values), np.arange(3), False, 5)
    found = later.of_all(row)
    assert found["confidence"] == pytest.approx(0.95)
    assert found["p_value"] == pytest.approx(min(5 * row.p_value, 1.0))
    assert found["equivalence_p"] is found["no_loss_p"] is None
    assert later.of_all(replace(row, p_value=0.3))["p_value"] == 1.0
    assert replace(later, declared=True).of_all(row) == {}
    assert replace(later, declared=None).of_all(row) == {}


def test_rows_come_back_in_their_order_each_with_its_family() -> None:
    rng = np.random.default_rng(4)
    values = np.exp(rng.normal(2, 0.01, (4, 3)))
    whole = rows(values, 0.95)
    first = Part(table(values), table(values), np.array([0, 2]), True, 1)
    then = Part(table(values), table(values), np.array([1]), False, 3)
    found = rejoined(
        whole, (then, first), (rows(values[:, [1]], 0.99), rows(values[:, [0, 2]], 0.95))
    )
    assert [row.declared for row in found.rows] == [True, False, True]
    assert [row.baseline_mean for row in found.rows] == pytest.approx(
        [row.baseline_mean for row in whole.rows]
    )
    assert found.rows[1].confidence == pytest.approx(0.97)
    assert found.differences is whole.differences


def test_some_positions_of_a_table_with_all_that_it_carries() -> None:
    grid = np.arange(12.0).reshape(4, 3)
    row = np.arange(3.0)
    signed = CurveErrors(grid.astype(int), np.zeros((4, 3, 4)), grid)
    whole = table(
        grid, run_variance=grid + 1, double_runs=grid.astype(int), curve_variance=grid + 2,
        level_variance=grid + 3, instrument_variance=row, loading=row + 1,
        beyond=("", "x", "y"), curve_errors=signed,
    )  # fmt: skip
    at = np.array([2, 0])
    found = at_positions(whole, at)
    for name, more in (("values", 0), ("run_variance", 1), ("double_runs", 0), ("curve_variance", 2), ("level_variance", 3)):  # fmt: skip
        assert_allclose(getattr(found, name), grid[:, at] + more)
    assert_allclose(found.positions, [3000.0, 1000.0])
    assert_allclose(found.instrument_variance, [2.0, 0.0])
    assert_allclose(found.loading, [3.0, 1.0])
    assert found.labels == ("3000 rpm", "1000 rpm")
    assert found.beyond == ("y", "")
    assert found.curve_errors is not None
    assert_allclose(found.curve_errors.rest, grid[:, at])
    assert at_positions(whole, np.arange(3)) is whole
    plain = at_positions(table(grid), at)
    assert plain.beyond == ()
    assert (
        plain.curve_variance is plain.level_variance is plain.loading is plain.curve_errors is None
    )
