"""How session values are combined into a difference."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.statistics.contrasts import Contrasts, contrasts


def layout(order: str, present: object = None, blocks: str | None = None, **pair: str) -> Contrasts:
    shape = (len(order), 1) if present is None else np.shape(present)
    there = np.ones(shape, bool) if present is None else np.array(present, bool)
    named = {"baseline": "A", "modified": "B"} | pair
    return contrasts(list(order), present=there, blocks=blocks, **named)


def test_weights_are_those_of_two_means() -> None:
    found = layout("ABBAA")
    assert_allclose(found.weights[:, 0], [-1 / 3, 1 / 2, 1 / 2, -1 / 3, -1 / 3], atol=1e-12)
    assert_allclose(found.spread, [1 / 2 + 1 / 3])
    assert_allclose(found.residual_df, [3.0])
    assert found.complete


def test_residuals_are_about_the_configurations() -> None:
    values = np.array([1.0, 5.0, 7.0, 3.0])
    assert_allclose(layout("ABBA").residual[0] @ values, [-1.0, -1.0, 1.0, 1.0], atol=1e-12)


def test_swapping_the_two_changes_the_sign_only() -> None:
    forth, back = layout("ABBAAB"), layout("ABBAAB", baseline="B", modified="A")
    assert_allclose(forth.weights, -back.weights, atol=1e-12)
    assert_allclose(forth.residual, back.residual, atol=1e-12)


def test_missing_values_have_their_own_weights() -> None:
    present = [[1, 1], [1, 0], [1, 1], [1, 1]]
    found = layout("ABBA", present)
    assert not found.complete
    assert_allclose(found.weights[:, 0], [-0.5, 0.5, 0.5, -0.5], atol=1e-12)
    assert_allclose(found.weights[:, 1], [-0.5, 0.0, 1.0, -0.5], atol=1e-12)
    assert_allclose(found.residual_df, [2.0, 1.0])
    assert (found.residual[1][1] == 0).all()


def test_a_configuration_that_is_missing_altogether_gives_no_difference() -> None:
    found = layout("ABBA", [[1, 1], [1, 0], [1, 0], [1, 1]])
    assert np.isfinite(found.weights[:, 0]).all()
    assert np.isnan(found.weights[[0, 3], 1]).all()
    assert np.isnan(found.spread[1])
    assert found.residual_df[1] == 1  # the baseline's two sessions still tell the noise


def test_a_third_configuration_helps_to_tell_the_noise_only() -> None:
    found = layout("ABCCAB")
    assert_allclose(found.weights[:, 0], [-0.5, 0.5, 0, 0, -0.5, 0.5], atol=1e-12)
    assert_allclose(found.residual_df, [3.0])
    other = layout("ABCCAB", modified="C")
    assert_allclose(other.weights[:, 0], [-0.5, 0, 0.5, 0.5, -0.5, 0], atol=1e-12)


def test_blocks_of_two_are_pairs() -> None:
    found = layout("ABBAAB", blocks="112233")
    assert_allclose(found.weights[:, 0], [-1 / 3, 1 / 3, 1 / 3, -1 / 3, -1 / 3, 1 / 3], atol=1e-12)
    assert_allclose(found.residual_df, [2.0])
    shifted = found.weights[:, 0] @ np.repeat([10.0, -4.0, 7.0], 2)
    assert shifted == pytest.approx(0.0, abs=1e-12)


def test_unequal_blocks_weigh_what_they_tell() -> None:
    """Least squares over blocks: a lone session of a block says nothing of the difference."""
    found = layout("ABBA", blocks="1123")
    assert_allclose(found.weights[:, 0], [-1.0, 1.0, 0.0, 0.0], atol=1e-12)


def test_blocks_of_one_configuration_each_tell_nothing() -> None:
    assert np.isnan(layout("ABAB", blocks="1212").weights).any()


def test_blocks_against_least_squares() -> None:
    rng = np.random.default_rng(4)
    order, blocks = "ABCABACBBA", "1112223344"
    values = rng.normal(size=10)
    design = np.array(
        [
            [float(o == c) for c in "BC"] + [float(b == k) for k in "1234"]
            for o, b in zip(order, blocks, strict=True)
        ]
    )
    solved = np.linalg.lstsq(design, values, rcond=None)[0]
    found = layout(order, blocks=blocks)
    assert found.weights[:, 0] @ values == pytest.approx(solved[0], abs=1e-12)
    assert found.residual_df[0] == 10 - 6


@pytest.mark.parametrize("scale", [1.0, 1e-6, 1e9])
def test_covariates_against_least_squares(scale: float) -> None:
    """At equal covariates, in whatever unit these are; about their mean, which changes no difference."""
    rng = np.random.default_rng(5)
    order, values = "ABBAABBA", rng.normal(size=8)
    differed = rng.normal(size=(8, 2)) * [1.0, 50.0] + [3.0, 700.0]
    design = np.column_stack([[float(o == c) for o in order] for c in "AB"] + [differed])
    solved = np.linalg.lstsq(design, values, rcond=None)[0]
    found = contrasts(
        list(order), "A", "B", np.ones((8, 2), bool), covariates=differed * scale
    )  # fmt: skip
    assert found.weights[:, 0] @ values == pytest.approx(solved[1] - solved[0], abs=1e-9)
    assert_allclose(found.residual[1] @ values, values - design @ solved, atol=1e-9)
    assert found.residual_df.tolist() == [4.0, 4.0]
    assert found.sides is None
    still = contrasts(list(order), "A", "B", np.ones((8, 1), bool), covariates=np.full((8, 1), 7.0))
    assert_allclose(still.weights, layout(order).weights, atol=1e-9)


def test_a_covariate_that_is_the_configuration_leaves_nothing_to_tell() -> None:
    fitted = np.array([[0.0], [1.0], [1.0], [0.0]])
    found = contrasts(list("ABBA"), "A", "B", np.ones((4, 1), bool), covariates=fitted)
    assert np.isnan(found.weights).all()


def test_sides_are_where_there_are_plain_means() -> None:
    present = np.array([[1, 1], [1, 0], [0, 1], [1, 1]], bool)
    found = layout("ABBC", present)
    assert found.sides is not None
    assert found.sides[0].tolist() == [[True, True], [False] * 2, [False] * 2, [False] * 2]
    assert found.sides[1].tolist() == [[False] * 2, [True, False], [False, True], [False] * 2]
    assert layout("ABBA", blocks="1122").sides is None
    # Set points alike share one layout, those that differ have their own.
    assert_allclose(found.weights, [[-1, -1], [1, 0], [0, 1], [0, 0]], atol=1e-12)
    again = layout("ABBA", [[1, 0, 1], [1, 1, 1], [1, 1, 1], [1, 1, 1]])
    assert_allclose(again.weights[:, 2], again.weights[:, 0])
    assert_allclose(again.residual[2], again.residual[0])
    assert again.residual_df.tolist() == [2.0, 1.0, 2.0]


def test_a_configuration_not_run_yet_is_not_estimable() -> None:
    found = layout("AA")
    assert np.isnan(found.weights).all()
    assert found.residual_df.tolist() == [1.0]
    nobody = layout("AB", [[1, 0], [1, 0]])
    assert np.isnan(nobody.weights[:, 1]).all()
    assert nobody.residual_df.tolist() == [0.0, 0.0]
