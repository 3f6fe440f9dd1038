"""Differences to rows, with decisions that are written out here: floors, bounds, levels, refusals."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from invented_runs import table
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.decided import Beyond
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.compared import Compared, compared_from
from slackwater.analysis.verdict.decisions import Decisions, natural
from slackwater.analysis.verdict.judgement import (
    Judged,
    _holding,
    _only_if,
    _Sides,
    _within_reach,
    judge_sweep,
    known_variances,
)
from slackwater.analysis.verdict.rows import rows_of
from slackwater.analysis.verdict.steps import held_by_ranks
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import Word, Worth

ORDER = ["bare", "fitted", "fitted", "bare"]
NAN = np.nan


class Told:
    """Differences of two positions, decided beforehand: +0.10 beyond a floor of 0.04, -0.02 within 0.05."""

    difference = np.array([0.10, -0.02])
    half_width = np.array([0.06, 0.05])
    floor = np.array([0.04, 0.05])
    established = np.array([True, False])
    low, high = np.array([0.06, -0.07]), np.array([0.16, 0.03])
    family, confidence = 2, 0.98
    known, common = np.array([9e-4, 0.0]), np.array([7e-4, 2e-4])
    degrees = np.array([4.0, 5.0])

    def __init__(self, inside: tuple[bool, bool] = (False, False)) -> None:
        self.asked: list[Any] = []
        self.shown = np.array(inside)

    def p_values(self) -> np.ndarray:
        return np.array([0.004, 0.5])

    def inside(self, low: Any, high: Any) -> Beyond:
        self.asked.append(("inside", low, high))
        return Beyond(self.shown, np.array([0.6, 0.01]), np.array([0.03, 0.01]))

    def above(self, margin: Any, sign: int) -> Beyond:
        self.asked.append(("above", margin, sign))
        return Beyond(self.shown, np.array([0.001, 0.2]), np.array([0.03, 0.01]))


def plain(level: float = 10.0, **more: Any) -> SessionValues:
    return table(np.full((4, 2), level), **({"scale": "difference", "unit": "deg"} | more))


def decided(terms: Terms, found: Told | None = None, **more: Any) -> Decisions:
    return Decisions.of(found or Told(), plain(**more), terms)  # type: ignore[arg-type]


# --- decisions -----------------------------------------------------------------------------------


def test_a_worthwhile_difference_is_a_margin_on_both_sides() -> None:
    found = Told()
    one = decided(Terms(worthwhile=0.05), found)
    assert found.asked == [("inside", -0.05, 0.05)]
    assert one.no_loss is None
    ratio = Told()
    decided(Terms(worthwhile=0.05), ratio, scale="ratio", unit="kn")
    assert ratio.asked[0][1:] == pytest.approx((-np.log(1.05), np.log(1.05)))
    none = Told()
    assert decided(Terms(), none).equivalence is None
    assert none.asked == []


@pytest.mark.parametrize(("better", "margin", "sign"), [("more", -0.05, 1), ("less", 0.05, -1)])
def test_of_losses_alone_one_side_is_asked(better: str, margin: float, sign: int) -> None:
    found = Told()
    one = decided(Terms(worthwhile=0.05, one_sided=True), found, better=better)
    assert found.asked == [("above", margin, sign)]
    assert one.equivalence is None
    # The bound lies on the side of the loss: 0.10 less 0.03, or with less being better, more of it.
    assert one.columns(0)["no_loss_bound"] == pytest.approx(0.10 - sign * 0.03)
    assert one.columns(0)["no_loss_p"] == pytest.approx(0.001 * 0.05 / 0.02)
    assert one.columns(0)["equivalence_p"] is None
    neither = Told()
    assert decided(Terms(worthwhile=0.05, one_sided=True), neither, better=None).no_loss is None
    assert neither.asked == []


def test_p_values_are_brought_to_the_declared_level() -> None:
    """Decided at 98 % where 95 % are declared: 0.02 there is 0.05 here; none is above one."""
    one = decided(Terms(worthwhile=0.05))
    assert one.columns(0)["p_value"] == pytest.approx(0.01)
    assert one.columns(1)["p_value"] == 1.0
    assert one.columns(1)["equivalence_p"] == pytest.approx(0.025)
    assert one.columns(0)["equivalence_low"] == pytest.approx(0.07)
    assert one.columns(0)["equivalence_high"] == pytest.approx(0.13)
    bare = decided(Terms()).columns(0)
    assert {bare[name] for name in ("equivalence_p", "equivalence_low", "equivalence_high")} == {
        None
    }
    assert {bare[name] for name in ("no_loss_p", "no_loss_bound")} == {None}


def test_evidence_is_on_the_scale_that_people_read() -> None:
    terms = Terms(worthwhile=0.05)
    ratio = decided(terms, Told((True, False)), scale="ratio", unit="kn")
    up, down = ratio.evidence(0, terms), ratio.evidence(1, terms)
    assert (up.change, up.low, up.high) == pytest.approx(tuple(np.expm1([0.10, 0.06, 0.16])))
    # The floor is that on the side of the change: a ratio is not as far below one as above it.
    assert up.noise_floor == pytest.approx(np.expm1(0.04))
    assert down.noise_floor == pytest.approx(-np.expm1(-0.05))
    assert (up.established, down.established) == (True, False)
    assert up.inside == pytest.approx((np.expm1(0.07), np.expm1(0.13)))
    assert down.inside is None
    assert (up.worthwhile, up.one_sided, up.no_loss) == (0.05, False, None)
    one_sided = Terms(worthwhile=0.05, one_sided=True)
    bounded = decided(one_sided, Told((True, False)))
    assert bounded.evidence(0, one_sided).no_loss == pytest.approx(0.07)
    assert bounded.evidence(1, one_sided).no_loss is None
    assert bounded.evidence(0, one_sided).inside is None
    assert natural(0.1, "ratio") == pytest.approx(np.expm1(0.1))
    assert natural(0.1, "difference") == 0.1


# --- rows ----------------------------------------------------------------------------------------


def made(
    terms: Terms | None = None, found: Any = None, refused: Any = None, holds: Any = None,
    **more: Any,
) -> list[Compared]:  # fmt: skip
    one, given = plain(**more), terms or Terms()
    sides = _Sides(one, ORDER, "bare", "fitted")
    extra = {} if holds is None else {"holds_only_if": holds}
    return rows_of(one, found or Told(), sides, given, refused or {}, **extra)  # type: ignore[arg-type]


def test_a_row_has_the_figures_that_decided() -> None:
    known = np.array([4e-4, 0.0])
    first, second = made(
        Terms(deciding=True), instrument_variance=known, holds=lambda p: f"; at {p}"
    )
    assert (first.verdict, second.verdict) == ("gain", "within noise")
    assert (first.change, first.low, first.high, first.noise_floor) == (0.10, 0.06, 0.16, 0.04)
    assert (first.family, first.degrees_of_freedom, second.degrees_of_freedom) == (2, 4.0, 5.0)
    assert first.reason.endswith("; at 0")
    assert second.reason.endswith("; at 1")
    assert first.shared_uncertainty == pytest.approx(0.02)
    assert second.shared_uncertainty is None
    # What is known besides the instruments: 9e-4 and 7e-4 less 4e-4.
    assert first.curve_uncertainty == pytest.approx(np.sqrt(12e-4))
    assert second.curve_uncertainty == pytest.approx(np.sqrt(2e-4))
    assert first.deciding is True
    more_known = made(instrument_variance=np.array([1.0, 2e-4]))
    assert more_known[0].curve_uncertainty is more_known[1].curve_uncertainty is None


def test_a_refused_position_keeps_its_change_alone() -> None:
    found = Told()
    found.difference = np.array([NAN, -0.02])
    first, second = made(found=found, refused={1: "the wind"})
    assert (second.change, second.verdict, second.reason) == (-0.02, "untestable", "the wind")
    assert second.low is second.noise_floor is second.p_value is None
    assert first.change is None
    assert first.reason == "no block holds sessions of both configurations here"
    several = made(found=found, refused={0: "not reached", 1: "the wind"})
    assert [row.reason for row in several] == ["not reached", "the wind"]
    first, second = made(refused={0: "the wind"})
    assert (first.reason, second.verdict) == ("the wind", "within noise")


@pytest.mark.parametrize(
    ("half", "fields", "wide"),
    [
        (0.49, {"scale": "ratio", "unit": "kn"}, False),
        (0.60, {"scale": "ratio", "unit": "kn"}, True),
        (0.60, {"scale": "difference", "unit": "deg"}, False),
        (0.60, {"scale": "difference", "unit": "1", "level": 0.3}, True),
        # Points of figures about 10 are no part of a whole: 60 of 1000 tell something, 600 do not.
        (0.60, {"scale": "difference", "unit": "1"}, False),
        (6.0, {"scale": "difference", "unit": "1"}, True),
    ],
)
def test_an_interval_that_tells_nothing_is_no_verdict(
    half: float, fields: dict[str, Any], wide: bool
) -> None:
    found = Told()
    found.low, found.high = np.array([0.06, -half]), np.array([0.16, half])
    if fields["scale"] == "ratio":
        found.high = np.log1p(np.array([0.16, half]))
        found.low = np.log1p(np.array([0.06, -half]))
    row = made(found=found, **fields)[1]
    assert (row.verdict == "untestable") is wide
    if wide:
        assert "wider than ±50\u00a0%: the sessions scatter so much" in row.reason
        assert row.change is not None
        assert row.low is None


# --- the sides -----------------------------------------------------------------------------------


def sides(values: Any, order: list[str] = ORDER, **more: Any) -> _Sides:
    return _Sides(table(np.array(values, float), **more), order, "bare", "fitted")


def test_means_of_the_sides() -> None:
    """Ratios have geometric means: the root of 8 times 2; with a value below nought the plain one."""
    grid = [[8.0, -8.0], [1.0, NAN], [9.0, NAN], [2.0, 2.0]]
    found = sides(grid)
    assert found.mean("bare", 0) == pytest.approx(4.0)
    assert found.mean("fitted", 0) == pytest.approx(3.0)
    assert found.mean("bare", 1) == pytest.approx(-3.0)
    assert found.mean("fitted", 1) is None
    assert (found.sessions("bare", 1), found.sessions("fitted", 1)) == (2, 0)
    assert sides(grid, scale="difference").mean("bare", 0) == pytest.approx(5.0)


def test_why_there_is_no_difference() -> None:
    gone = [[8.0], [NAN], [NAN], [2.0]]
    assert sides(gone).missing(0) == "fitted has no whole double run here that gives a value of it"
    assert sides(gone, kind="whole sweep").missing(0) == "no session with fitted has a value of it"
    assert sides([[1.0]] * 4).missing(0).startswith("no block holds")
    differed = sides([[1.0]] * 4, covariates=np.zeros((4, 1))).missing(0)
    assert differed.startswith("what is to be allowed for differed")


def test_one_session_of_a_side_is_too_few_without_earlier_trials() -> None:
    found = sides([[1.0, 1.0], [NAN, 1.0], [1.0, NAN], [NAN, NAN]])
    told = found.too_few(Terms())
    assert set(told) == {0, 1}
    assert told[0].startswith("fitted has one session here")
    assert found.too_few(Terms(prior=PriorNoise(1, 1, 1, 5))) == {}
    assert sides([[1.0], [1.0], [1.0], [1.0]]).too_few(Terms()) == {}
    assert set(sides([[1.0], [1.0], [1.0], [NAN]]).too_few(Terms())) == {0}


def test_what_not_all_sessions_reach_is_left_out_of_all() -> None:
    grid = np.array([[1.0, NAN, 3.0], [1.0, 2.0, 3.0], [NAN] * 3, [1.0, 2.0, 3.0]])
    said = table(grid, beyond=("", "only some reach it", "some do not"))
    values, beyond = _within_reach(said, ORDER, ("bare", "fitted"))
    assert beyond == {1: "only some reach it"}
    assert np.isnan(values[:, 1]).all()
    assert_allclose(values[:, 2], np.log([3.0, 3.0, NAN, 3.0]))
    # Sessions of others do not count; where there is nothing at all, nothing reaches.
    third = ["third", "fitted", "fitted", "bare"]
    assert _within_reach(said, third, ("bare", "fitted"))[1] == {}
    nobody = table(np.full((4, 3), NAN), beyond=("", "x", ""))
    assert _within_reach(nobody, ORDER, ("bare", "fitted"))[1] == {1: "x"}
    assert _within_reach(table(grid), ORDER, ("bare", "fitted"))[1] == {}


def test_known_variances_are_independent_or_common() -> None:
    curve = np.array([[1.0, 2.0], [3.0, 5.0], [4.0, 1.0], [0.5, 7.0]])
    one = table(np.ones((4, 2)), instrument_variance=np.array([10.0, 20.0]), curve_variance=curve)
    known, common = known_variances(one, ORDER, "bare", "fitted")
    assert_allclose(known, [10 + 1 + 4, 20 + 7 + 5])  # the largest of each side
    assert_allclose(common, [0.0, 0.0])
    known, common = known_variances(replace(one, common_errors=True), ORDER, "bare", "fitted")
    assert_allclose(known, [5.0, 12.0])
    assert_allclose(common, [10.0, 20.0])


def test_known_variances_of_curves_that_are_off_alike() -> None:
    seen: list[Any] = []

    class Alike:
        def of_difference(self, one: Any, other: Any) -> np.ndarray:
            seen.append((one.tolist(), other.tolist()))
            return np.array([0.5, 0.25])

    one = table(np.ones((4, 2)), curve_errors=Alike(), curve_variance=np.full((4, 2), 3.0))
    known, _ = known_variances(one, ORDER, "bare", "fitted")
    assert_allclose(known, [0.5, 0.25])
    assert seen == [([True, False, False, True], [False, True, True, False])]
    # With one side not run, what each may be off by stands.
    known, _ = known_variances(one, ["bare"] * 4, "bare", "fitted")
    assert_allclose(known, [3.0, 3.0])


def test_a_loading_is_taken_out_and_put_back() -> None:
    """Twice the noise where it shows twice: the same as halving what is compared, and doubling again."""
    rng = np.random.default_rng(5)
    grid = rng.normal(0, 1, (4, 2)) + np.array([0.0, 3.0])
    load = np.array([1.0, 2.0])
    fields = {"scale": "difference", "unit": "deg", "run_variance": np.full((4, 2), 0.04)}
    halved = judge_sweep(
        table(grid / load, **(fields | {"run_variance": np.full((4, 2), 0.04) / load**2})),
        ORDER, "bare", "fitted", Terms(),
    )  # fmt: skip
    instrument = np.array([0.3, 0.3])
    for one, terms in (
        (table(grid, loading=load, **fields), Terms()),
        (table(grid, loading=np.array([7.0, 1.0]), **fields), Terms(loading=load)),
    ):
        found = judge_sweep(one, ORDER, "bare", "fitted", terms)
        for p, (row, half) in enumerate(zip(found.rows, halved.rows, strict=True)):
            assert row.change == pytest.approx(half.change * load[p])
            assert row.noise_floor == pytest.approx(half.noise_floor * load[p])
            assert row.p_value == pytest.approx(half.p_value)
        known = judge_sweep(
            replace(one, instrument_variance=instrument), ORDER, "bare", "fitted", terms
        )
        assert known.differences is not None
        assert_allclose(known.differences.known, instrument)
        common = replace(one, instrument_variance=instrument, common_errors=True)
        shifted = judge_sweep(common, ORDER, "bare", "fitted", terms)
        assert shifted.differences is not None
        assert_allclose(shifted.differences.common, instrument)


def test_the_mean_of_a_configuration_is_on_the_scale_of_the_analysis() -> None:
    grid = np.exp([[1.0, 4.0], [7.0, 8.0], [9.0, NAN], [2.0, NAN]])
    grid[0, 1] = NAN
    found = judge_sweep(table(grid), ORDER, "bare", "fitted", Terms())
    assert_allclose(found.mean_of("bare"), [1.5, NAN])
    assert_allclose(found.mean_of("fitted"), [8.0, 8.0])
    assert found.pair == ("bare", "fitted")
    assert found.prior is False
    assert Judged(found.table, found.layout, None, found.rows[:1]).prior is False
    assert replace(found, rows=found.rows[:1]).pair == ("bare", "fitted")
    assert judge_sweep(
        table(grid), ORDER, "bare", "fitted", Terms(prior=PriorNoise(1, 1, 1, 5))
    ).prior


def test_a_look_part_way_is_computed_at_its_own_level() -> None:
    grid = [[8.0], [9.0], [9.1], [8.1]]
    one = judge_sweep(table(grid), ORDER, "bare", "fitted", Terms(confidence=0.95, level=0.99))
    assert one.differences is not None
    assert one.differences.confidence == 0.99
    assert one.rows[0].confidence == 0.95


# --- what rests on earlier trials ----------------------------------------------------------------


def resting(established: bool, fits: Any = None) -> Any:
    noise = SimpleNamespace(total=np.array([4e-4]), prior_fits=fits)
    return SimpleNamespace(
        established=np.array([established]), difference=np.array([-0.064]), floor=np.array([0.04]),
        noise=noise,
    )  # fmt: skip


def test_a_verdict_on_earlier_trials_alone_says_up_to_which_noise_it_holds() -> None:
    """0.064 is 1.6 floors: it holds up to 1.6 times the standard deviation of 0.02."""
    one = table([[1.0]], scale="difference", unit="deg")
    assert _only_if(resting(True), one, 0) == (
        "; holds only if session values scatter by no more than 0.032\u00a0deg when nothing is changed"
    )
    assert _only_if(resting(False), one, 0).startswith("; the noise is that of earlier trials")
    prior = Terms(prior=PriorNoise(1, 1, 1, 5))
    assert _holding(resting(True), one, prior)(0) != ""
    assert _holding(resting(True), one, Terms())(0) == ""
    assert _holding(resting(True, np.array(True)), one, prior)(0) == ""


def test_without_noise_the_difference_is_that_of_the_day() -> None:
    """exp(0.05) less one; the noise that it vanishes at is that of two sessions, less the runs'."""
    grid = np.exp([[2.0, 2.0, NAN], [2.05, NAN, NAN]])
    runs = np.full((2, 3), 1e-4) * grid**2
    said = table(grid, run_variance=runs, beyond=("", "not reached", ""))
    found = judge_sweep(said, ["bare", "fitted"], "bare", "fitted", Terms())
    first, second, third = found.rows
    assert first.change == pytest.approx(np.expm1(0.05))
    assert first.vanishes_at == pytest.approx(
        np.expm1(np.sqrt((0.05 / 1.959964) ** 2 / 2 - 1e-4)), rel=1e-5
    )
    assert first.reason.startswith("no configuration was run in more than one session")
    assert (second.reason, second.change) == ("not reached", None)
    assert third.reason == "bare has no whole double run here that gives a value of it"
    forbidden = judge_sweep(
        replace(said, untestable="no"), ["bare", "fitted"], "bare", "fitted", Terms()
    )
    assert [row.reason for row in forbidden.rows] == ["no"] * 3
    # A prior that leaves the part of a set point open helps nobody where none is repeated.
    open_prior = Terms(prior=PriorNoise(1e-4, None, 1e-4, 5))
    left = judge_sweep(said, ["bare", "fitted"], "bare", "fitted", open_prior).rows[0]
    assert left.reason.startswith("the noise of earlier trials leaves open")


# --- ranks, and a row as a table has it ----------------------------------------------------------


def test_ranks_that_point_the_other_way_take_a_verdict_away() -> None:
    rows = made(Terms(worthwhile=0.05))
    judged: Any = Judged(plain(), SimpleNamespace(), None, tuple(rows))  # type: ignore[arg-type]

    def held(*changes: float | None) -> tuple[Compared, ...]:
        others = tuple(replace(row, change=c) for row, c in zip(rows, changes, strict=True))
        return held_by_ranks(judged, replace(judged, rows=others)).rows

    assert held(0.01, 0.9) == tuple(rows)  # alike, and within noise there is nothing to take
    for change in (-0.01, 0.0, None):
        first, second = held(change, -0.9)
        assert (first.verdict, first.change, second) == ("untestable", 0.10, rows[1])
        assert first.reason.startswith("by ranks within each rater")
        gone = ("low", "high", "p_value", "noise_floor", "worth", "equivalence_p", "equivalence_low",
                "equivalence_high", "no_loss_p", "no_loss_bound")  # fmt: skip
        assert [getattr(first, name) for name in gone] == [None] * 10


def test_a_row_comes_back_from_a_table() -> None:
    first = made(Terms(worthwhile=0.05))[0]
    again = compared_from({**first.as_row(), "more": 1})
    assert again == first
    assert isinstance(again.verdict, Word)
    plain_row = {**first.as_row(), "verdict": None, "worth": None}
    assert compared_from(plain_row).verdict is Word.UNTESTABLE
    assert compared_from(plain_row).worth is None
    assert compared_from({**first.as_row(), "worth": "exceeds"}).worth is Worth.EXCEEDS
