"""How far noise reaches, and the steps over the positions, with noise and reaches that are plain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.decided import Decided
from slackwater.analysis.statistics.multiplicity import Decision, adjusted, decide
from slackwater.analysis.statistics.noise import NoiseEstimate
from slackwater.analysis.statistics.reach import _pairs, reach_of
from slackwater.analysis.statistics.simultaneous import critical_values

NAN = np.nan


class Holm:
    """A reach that grows by one for each further comparison; its p-values are k / (10 distance)."""

    def widths(self, family: Any) -> np.ndarray:
        return np.asarray(family, float)[..., None] * np.ones(4)

    def p_values(self, distance: np.ndarray, family: Any) -> np.ndarray:
        return np.asarray(family, float)[..., None] / 10 / distance


ALL = np.ones(4, bool)


# --- the steps -----------------------------------------------------------------------------------


def test_what_is_established_leaves_the_family_before_the_next() -> None:
    """One beyond 4; then one beyond 3, and one beyond 2; the last is not beyond 1."""
    found = decide(np.array([4.5, 0.5, 3.5, 2.5]), Holm(), ALL)
    assert found.established.tolist() == [True, False, True, True]
    assert found.bound.tolist() == [4.0, 1.0, 3.0, 2.0]
    assert found.single_step.tolist() == [4.0] * 4


def test_each_step_has_its_bound() -> None:
    """Two leave at once at 4, so the others are held to 2; one more leaves, and the last is held to 1."""
    found = decide(np.array([9.0, 9.0, 2.5, 0.5]), Holm(), ALL)
    assert found.established.tolist() == [True, True, True, False]
    assert found.bound.tolist() == [4.0, 4.0, 2.0, 1.0]
    none = decide(np.array([3.9, 3.9, 3.9, 3.9]), Holm(), ALL)
    assert none.established.tolist() == [False] * 4
    assert none.bound.tolist() == [4.0] * 4
    edge = decide(np.array([4.0, 9.0, 3.0, 0.1]), Holm(), ALL)
    assert edge.established.tolist() == [True, True, True, False]
    assert edge.bound.tolist() == [3.0, 4.0, 2.0, 1.0]
    every = decide(np.array([9.0, 9.0, 9.0, 3.5]), Holm(), ALL)
    assert every.bound.tolist() == [4.0, 4.0, 4.0, 1.0]
    assert every.established.all()


def test_positions_that_are_not_given_are_no_part_of_the_family() -> None:
    given = np.array([True, True, False, True])
    found = decide(np.array([3.5, 2.5, NAN, 0.5]), Holm(), given)
    assert found.established.tolist() == [True, True, False, False]
    assert found.bound.tolist() == [3.0, 2.0, 1.0, 1.0]
    alone = decide(np.array([3.5, 0.5, NAN, 1.0]), Holm(), given, together=False)
    assert alone.established.tolist() == [True, False, False, False]
    assert alone.bound.tolist() == [1.0] * 4
    nothing = decide(np.full(4, NAN), Holm(), np.zeros(4, bool))
    assert nothing.bound.tolist() == [1.0] * 4
    batch = decide(np.array([[9.0, 9.0, 2.5, 0.5], [3.9, 3.9, 3.9, 3.9]]), Holm(), ALL)
    assert batch.bound.tolist() == [[4.0, 4.0, 2.0, 1.0], [4.0] * 4]


def test_adjusted_p_values_take_the_same_steps() -> None:
    distance = np.array([10.0, 2.0, 5.0, 1.0])
    decision = Decision(np.array([True, False, True, False]), np.ones(4), np.ones(4))
    p = adjusted(distance, Holm(), ALL, decision, 0.3, together=True)
    # 4/100; then 3/50; then 2/20, and 1/10: none below the one before.
    assert_allclose(p, [0.04, 0.3, 0.06, 0.3])
    mild = replace(decision, established=np.ones(4, bool))
    assert_allclose(
        adjusted(distance, Holm(), ALL, mild, 0.3, together=True), [0.04, 0.1, 0.06, 0.1]
    )
    falling = adjusted(np.array([1.0, 1.1, 1.2, 50.0]), Holm(), ALL, mild, 0.9, together=True)
    assert_allclose(falling, [3 / 12] * 3 + [4 / 500])
    given = np.array([True, True, False, True])
    alone = adjusted(distance, Holm(), given, mild, 0.9, together=False)
    assert_allclose(alone, [0.01, 0.05, NAN, 0.1])


def test_rounding_never_contradicts_a_decision() -> None:
    distance = np.array([10.0, 10.0, 10.0, 10.0])
    decision = Decision(np.array([True, False, True, False]), np.ones(4), np.ones(4))
    p = adjusted(distance, Holm(), ALL, decision, 0.04, together=True)
    assert (p[[0, 2]] < 0.04).all()
    assert (p[[1, 3]] > 0.04).all()
    assert_allclose(p, 0.04, rtol=1e-9)


# --- differences that are decided ----------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain(Decided):
    """Differences against the reach above, which is asked on the scale that they were made on."""

    def _reach(self, sides: Any) -> Any:
        return Holm()


def plain(difference: list[float], **more: Any) -> Plain:
    size = np.array(difference)
    given = {
        "difference": size, "half_width": np.full(4, 4.0), "floor": np.array([3.0, 3.0, 2.0, 1.0]),
        "established": np.array([True, True, False, False]), "family": np.array(4), "confidence": 0.9,
        "known": np.zeros(4), "common": np.zeros(4), "given": ALL, "simultaneous": True,
        "factor": np.ones(4),
    }  # fmt: skip
    return Plain(**(given | more))


def test_an_interval_is_clear_of_zero_on_the_side_that_a_step_established() -> None:
    found = plain([5.0, -5.0, 1.0, -1.0])
    assert found.low.tolist() == [2.0, -9.0, -3.0, -5.0]
    assert found.high.tolist() == [9.0, -2.0, 5.0, 3.0]


def test_p_values_are_of_distances_whatever_their_sign_and_scale() -> None:
    found = plain([10.0, -5.0, 2.0, NAN], established=np.ones(4, bool), confidence=0.1)
    assert_allclose(found.p_values()[:3], [0.04, 0.06, 0.1])
    assert np.isnan(found.p_values()[3])
    scaled = replace(found, difference=found.difference * 2, factor=np.full(4, 2.0))
    assert_allclose(scaled.p_values(), found.p_values())


def test_margins_are_held_on_the_side_that_is_nearer() -> None:
    """Inside -6 and +9: of 1 the distances are 7 and 8, of 5 they are 11 and 4."""
    found = plain([1.0, 5.0, -5.0, 20.0])
    inside = found.inside(-6.0, 9.0)
    assert inside.established.tolist() == [True, True, False, False]  # 7, 4, 1, -11
    assert inside.reach.tolist() == [4.0, 3.0, 2.0, 2.0]
    above = found.above(-3.5)
    assert above.established.tolist() == [True, True, False, True]  # 4.5, 8.5, -1.5, 23.5
    below = found.above(1.5, -1)
    assert below.established.tolist() == [False, False, True, False]  # 0.5, -3.5, 6.5, -18.5
    scaled = replace(found, difference=found.difference * 2, factor=np.full(4, 2.0))
    twice = scaled.inside(-12.0, 18.0)
    assert twice.established.tolist() == inside.established.tolist()
    assert twice.reach.tolist() == [8.0, 6.0, 4.0, 4.0]
    assert found.above(0.0).p_values[0] == pytest.approx(0.1)  # 2 of 10, not established: the level
    assert replace(found, simultaneous=False).inside(-6.0, 9.0).reach.tolist() == [1.0] * 4


# --- how far noise reaches -----------------------------------------------------------------------


def single(total: float = 0.04, **more: Any) -> NoiseEstimate:
    return NoiseEstimate(
        shared=np.array(0.0), specific=np.array([total]), runs=np.zeros(1), ratio=np.array(1.0),
        share=np.ones(1), shared_df=5.0, specific_df=0.0, **more,
    )  # fmt: skip


ONE = {"confidence": 0.9, "family": 1}


def test_one_set_point_reaches_as_far_as_student_and_what_is_known() -> None:
    reach = reach_of(
        single(), np.array([0.5]), known=np.array([0.03]), common=np.array([0.06]), **ONE
    )
    t, z = stats.t.isf(0.05, 5), stats.norm.isf(0.05)
    assert_allclose(reach.widths(np.array(1)), np.hypot(t * np.sqrt(0.02), z * 0.3))
    none = reach_of(single(), np.array([0.5]), known=np.zeros(1), common=np.zeros(1), **ONE)
    assert_allclose(none.widths(np.array(1)), t * np.sqrt(0.02))
    assert_allclose(
        none.p_values(np.array([0.3]), np.array(1)), 2 * stats.t.sf(0.3 / np.sqrt(0.02), 5)
    )
    assert_allclose(
        none.p_values(np.array([0.3]), np.array(2)), 4 * stats.t.sf(0.3 / np.sqrt(0.02), 5)
    )
    own = single(freedom=(np.array([3.0, 8.0]), np.zeros(2)))
    each = reach_of(own, np.array([[0.5], [0.5]]), known=np.zeros(1), common=np.zeros(1), **ONE)
    assert_allclose(each.widths(np.array([1, 1]))[:, 0], stats.t.isf(0.05, [3, 8]) * np.sqrt(0.02))
    aside = reach_of(
        single(), np.array([0.5]), known=np.zeros(1), common=np.zeros(1), sides="one", **ONE
    )
    assert_allclose(aside.widths(np.array(1)), stats.t.isf(0.1, 5) * np.sqrt(0.02))


def sweep(**more: Any) -> NoiseEstimate:
    """Units of 0.1 at both set points: shared 0.2, own 0.3 and 0.4."""
    given = {
        "shared": np.array(0.2), "specific": np.array([0.3, 0.4]), "runs": np.zeros(2),
        "ratio": np.array(3.0), "share": np.array([3.0, 4.0]), "shared_df": 5.0, "specific_df": 9.0,
    }  # fmt: skip
    return NoiseEstimate(**(given | more))


SPREAD = np.array([2.0, 2.0])


def widths(
    noise: NoiseEstimate, known: Any = 0.0, common: Any = 0.0, family: int = 2, **more: Any
) -> np.ndarray:
    known, common = (np.broadcast_to(np.asarray(each, float), (2,)) for each in (known, common))
    reach = reach_of(noise, SPREAD, known=known, common=common, family=2, confidence=0.9, **more)
    return reach.widths(np.full(noise.ratio.shape, family))


def test_a_sweep_reaches_as_far_as_its_table_says() -> None:
    table = critical_values(5.0, 9.0, 2, 0.9)
    for family in (1, 2):
        expected = table.values(3.0, [3.0, 4.0], family) * np.sqrt(2 * np.array([0.5, 0.6]))
        assert_allclose(widths(sweep(), family=family), expected)
    reach = reach_of(
        sweep(), SPREAD, known=np.zeros(2), common=np.zeros(2), family=2, confidence=0.9
    )
    p = reach.p_values(np.array([1.5, 2.0]), np.array(2))
    assert_allclose(
        p, table.p_values(np.array([1.5, 2.0]) / np.sqrt([1.0, 1.2]), 3.0, [3.0, 4.0], 2)
    )


def test_an_error_of_its_own_is_noise_of_a_set_point() -> None:
    """A variance of 0.2 is one unit times the spread: shares of 4 and 5; 1.78 and 1.56 times the freedom: as it was."""
    error = np.sqrt(0.2 * (2 + np.array([4.0, 5.0])))
    table = critical_values(5.0, 9.0, 2, 0.9)
    assert_allclose(widths(sweep(), known=0.2), table.values(3.0, [4.0, 5.0], 2) * error)
    # Twice as much noise has more than three times the freedom, and is told apart by set point.
    more = critical_values(5.0, 27.0, 2, 0.9)
    found = widths(sweep(), known=[0.6, 0.2])
    assert found[0] == pytest.approx(float(more.values(3.0, 6.0, 2)) * np.sqrt(0.2 * 8))
    assert found[1] == pytest.approx(float(table.values(3.0, 5.0, 2)) * np.sqrt(0.2 * 7))


def test_a_common_error_is_noise_of_a_session() -> None:
    """0.2 more is one unit: a ratio of 4, its freedom times 1.78, as it was; 0.6 more is 6: times 4, so 3."""
    table = critical_values(5.0, 9.0, 2, 0.9)
    expected = table.values(4.0, [3.0, 4.0], 2) * np.sqrt(0.2 * (3 + np.array([3.0, 4.0])))
    assert_allclose(widths(sweep(), common=0.2), expected)
    more = critical_values(15.0, 9.0, 2, 0.9)
    found = widths(sweep(), common=[0.6, 0.0])
    assert found[0] == pytest.approx(float(more.values(6.0, 3.0, 2)) * np.sqrt(0.2 * 8))
    assert found[1] == pytest.approx(float(table.values(3.0, 4.0, 2)) * np.sqrt(0.2 * 6))
    # Sessions that agree well have nothing to share; the error then starts from one.
    calm = sweep(ratio=np.array(0.5), shared=np.array(0.0))
    found = widths(calm, common=[0.2, 0.0])
    assert found[0] == pytest.approx(float(more.values(2.0, 3.0, 2)) * np.sqrt(0.2 * 4))
    assert found[1] == pytest.approx(float(table.values(0.5, 4.0, 2)) * np.sqrt(0.2 * 4))


def test_trials_of_a_batch_have_their_own_freedom() -> None:
    both = sweep(
        shared=np.array([0.2, 0.2]), specific=np.array([[0.3, 0.4]] * 2), runs=np.zeros((2, 2)),
        ratio=np.array([3.0, 3.0]), share=np.array([[3.0, 4.0]] * 2),
        freedom=(np.array([4.0, 6.0]), np.array([9.0, 12.0])),
    )  # fmt: skip
    found = widths(both)
    for row, (df, own) in zip(found, ((4.0, 9.0), (6.0, 12.0)), strict=True):
        table = critical_values(df, own, 2, 0.9)
        assert_allclose(row, table.values(3.0, [3.0, 4.0], 2) * np.sqrt([1.0, 1.2]))
    assert _pairs(np.array([4.0, 4.0]), np.array([9.0, 9.0])) == [(4.0, 9.0)]
    assert _pairs(np.array([4.0, 6.0, 4.0]), np.array([9.0, 9.0, 9.0])) == [(4.0, 9.0), (6.0, 9.0)]
    assert _pairs(np.array([4.0, 4.0]), np.array([9.0, 8.0])) == [(4.0, 8.0), (4.0, 9.0)]


# --- the comparison ------------------------------------------------------------------------------


def world() -> np.ndarray:
    rng = np.random.default_rng(8)
    return rng.normal(0, 0.01, (6, 1)) + rng.normal(0, 0.005, (6, 3)) + np.outer([0, 1, 1, 0, 0, 1], [0.1, 0.01, 0])  # fmt: skip


def compared(values: np.ndarray, **more: Any) -> Differences:
    layout = contrasts(list("ABBAAB"), "A", "B", np.isfinite(values))
    found = compare(values, np.full(3, 1e-6), layout, **more)
    assert found is not None
    return found


def test_a_difference_and_its_error_come_from_the_layout() -> None:
    found = compared(world())
    assert_allclose(found.standard_error, np.sqrt(found.noise.total * 2 / 3))
    assert_allclose(found.spread, 2 / 3)
    assert found.factor.tolist() == [1.0] * 3
    assert (found.confidence, found.simultaneous, found.df, found.family.tolist()) == (
        0.95,
        True,
        4.0,
        3,
    )
    assert found.degrees.tolist() == [4.0] * 3
    freedom = (np.array([4.0, 2.5]), np.array([8.0, 8.0]))
    assert replace(found, noise=replace(found.noise, freedom=freedom)).df == 2.5
    one = compared(world(), known=1e-4, common=[1e-4, 2e-4, 3e-4])
    assert one.known.tolist() == [1e-4] * 3
    assert one.common.tolist() == [1e-4, 2e-4, 3e-4]


def test_a_batch_has_a_family_for_each_trial() -> None:
    values = world()
    layout = contrasts(list("ABBAAB"), "A", "B", np.ones(values.shape, bool))
    both = compare(np.stack([values, 2 * values]), np.full((2, 3), 1e-6), layout)
    assert both is not None
    assert both.family.tolist() == [3, 3]
    assert both.difference.shape == both.half_width.shape == both.degrees.shape == (2, 3)
    assert_allclose(both.difference[1], 2 * both.difference[0])
    one = compared(values)
    assert_allclose(both.half_width[0], one.half_width)
    assert_allclose(both.p_values()[0], one.p_values())
    assert_allclose(both.inside(-0.03, 0.03).reach[0], one.inside(-0.03, 0.03).reach)
    assert_allclose(both.above(-0.03).p_values[0], one.above(-0.03).p_values)


def test_scaled_it_is_the_same_comparison() -> None:
    factor = np.array([1.0, 2.0, 0.5])
    found = compared(world(), known=1e-5, common=1e-5)
    other = found.scaled(factor)
    for name in ("difference", "standard_error", "half_width", "floor", "factor"):
        assert_allclose(getattr(other, name), getattr(found, name) * factor)
    for name in ("known", "common"):
        assert_allclose(getattr(other, name), getattr(found, name) * factor**2)
    assert_allclose(other.noise.total, found.noise.total * factor**2)
    assert_allclose(other.noise.runs, found.noise.runs * factor**2)
    assert_allclose(other.p_values(), found.p_values())
    margin = np.array([0.03, 0.03, 0.03])
    one, two = found.inside(-margin, margin), other.inside(-margin * factor, margin * factor)
    assert_allclose(two.p_values, one.p_values)
    assert_allclose(two.reach, one.reach * factor)


def test_a_position_without_a_side_is_no_part_of_it() -> None:
    values = world()
    values[[1, 2, 5], 1] = NAN
    found = compared(values)
    assert found.given.tolist() == [True, False, True]
    assert np.isnan([found.difference[1], found.spread[1], found.standard_error[1]]).all()
    assert found.family.tolist() == 2
    assert compared(values, simultaneous=False).family.tolist() == 1
