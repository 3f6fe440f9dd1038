"""Floors of a design: drawn, interpolated, and what follows from them."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.planning.power import (
    Design,
    Noise,
    Setting,
    detectable_by,
    draw,
    floors,
    power_of,
    realised_power,
)
from slackwater.analysis.planning.surface import Surface

NOISE = Noise(0.006, 0.002, 0.004)
SETTING = Setting(set_points=3, current="tide_fit")


def at(surface: Surface, n: int, m: int) -> tuple[np.ndarray, np.ndarray]:
    sessions, double_runs = np.array([n]), np.array([m])
    return surface.floors(sessions, double_runs), surface.spreads(sessions, double_runs)


@pytest.mark.parametrize(("n", "m"), [(2, 3), (5, 3), (8, 8), (19, 3)])
def test_between_its_anchors_a_surface_gives_what_drawing_gives(n: int, m: int) -> None:
    surface = Surface(NOISE, SETTING, (2, 20), (1, 20))
    floor, spread = at(surface, n, m)
    drawn = floors(Design(n, m), NOISE, SETTING, trials=6000, seed=9)
    for power in (0.5, 0.8, 0.95):
        effect = detectable_by(drawn, spread[0], power)
        assert_allclose(power_of(floor, spread, [float(effect)])[0], power, atol=0.01)


def test_power_and_detectable_difference_are_inverse() -> None:
    surface = Surface(NOISE, SETTING, (2, 6), (1, 4))
    n, m = (x.ravel() for x in np.meshgrid(np.arange(2, 7), np.arange(1, 5)))
    floor, spread = surface.floors(n, m), surface.spreads(n, m)
    for power in (0.6, 0.9):
        seen = detectable_by(floor, spread, power)
        assert_allclose(power_of(floor, spread, seen), power, atol=1e-6)


def test_more_sessions_and_more_double_runs_never_see_less() -> None:
    surface = Surface(NOISE, SETTING, (2, 12), (1, 8))
    n, m = np.meshgrid(np.arange(2, 13), np.arange(1, 9), indexing="ij")
    floor, spread = surface.floors(n.ravel(), m.ravel()), surface.spreads(n.ravel(), m.ravel())
    seen = detectable_by(floor, spread, 0.9).reshape(n.shape)
    assert (np.diff(seen, axis=0) < 0).all()
    assert (np.diff(seen, axis=1) < 2e-3 * seen[:, :-1]).all()


def test_double_runs_cannot_lower_what_sessions_differ_by() -> None:
    noise = Noise(0.01, 0.0, 0.002)
    surface = Surface(noise, SETTING, (3, 6), (1, 100))
    floor, spread = surface.floors(np.array([3, 3, 6]), np.array([1, 100, 1])), None
    spread = surface.spreads(np.array([3, 3, 6]), np.array([1, 100, 1]))
    few, many_runs, many_sessions = detectable_by(floor, spread, 0.9)
    assert many_runs > 0.9 * few
    assert many_sessions < 0.6 * few


def test_one_session_needs_earlier_trials() -> None:
    assert np.isinf(floors(Design(1, 3), NOISE, SETTING)).all()
    prior = Noise(0.006, 0.002, 0.004, df=12)
    with_prior = Setting(set_points=3, prior=prior)
    surface = Surface(NOISE, with_prior, (1, 4), (1, 4))
    floor, spread = at(surface, 1, 3)
    assert np.isfinite(floor).all()
    assert np.isfinite(detectable_by(floor, spread, 0.9)).all()
    without = Surface(NOISE, SETTING, (1, 4), (1, 4))
    assert np.isfinite(at(without, 2, 3)[0]).all()
    assert np.isinf(detectable_by(*at(without, 1, 3), 0.9)).all()


def test_earlier_trials_help_most_where_sessions_are_few() -> None:
    prior = Noise(0.006, 0.002, 0.004, df=12)
    gain = []
    for n in (2, 6):
        plain = detectable_by(floors(Design(n, 3), NOISE, SETTING), 0.005, 0.9)
        helped = Setting(set_points=3, current="tide_fit", prior=prior)
        gain.append(float(plain / detectable_by(floors(Design(n, 3), NOISE, helped), 0.005, 0.9)))
    # The sessions may contradict even a true prior; with few of them that costs most of its help
    # where the power asked for is high.
    assert gain[0] > 1.1 > gain[1] > 1.0


def test_instruments_set_a_limit() -> None:
    known = Setting(set_points=3, known=2 * 0.005**2)
    seen = [
        float(
            detectable_by(
                floors(Design(n, 3), NOISE, known), known.spread(Design(n, 3), NOISE), 0.9
            )
        )
        for n in (3, 40)
    ]
    assert seen[1] > (1.96 + 1.28) * np.sqrt(2) * 0.005 * 0.95
    share, error = realised_power(Design(3, 3), NOISE, known, seen[0])
    assert abs(share - 0.9) < 0.02 + 2 * error


def test_mean_of_means_weighs_the_middle_passes_more() -> None:
    # Binomial weights of 4 passes, 1 3 3 1 over 8: sum of squares 20/64 against 1/4.
    assert_allclose(Setting(1, current="mean_of_means").run_factor(2), 2 * 20 / 64)
    assert Setting(1).run_factor(2) == 0.5


def test_drawn_values_have_the_noise_supposed() -> None:
    rng = np.random.default_rng(2)
    design = Design(3, 4)
    values, runs = draw(design, NOISE, SETTING, 20_000, rng)
    assert values.shape == (20_000, 6, 3)
    assert_allclose(values.var(), SETTING.variance(design, NOISE), rtol=0.02)
    shared = (values[..., 0] * values[..., 1]).mean()
    assert_allclose(shared, NOISE.between_sessions**2, rtol=0.03)
    lawful = NOISE.within_session**2 / 4
    assert lawful * 0.98 < runs.mean() < lawful * 1.2  # pooled upwards, never downwards


def test_the_same_seed_gives_the_same_floors() -> None:
    one, other = (floors(Design(3, 2), NOISE, SETTING, seed=5) for _ in range(2))
    assert (one == other).all()
    assert (one != floors(Design(3, 2), NOISE, SETTING, seed=6)).any()


def test_spread_is_that_of_the_layout() -> None:
    for setting in (SETTING, Setting(3, blocked=True), Setting(3, configurations=3)):
        layout = setting.layout(4)
        assert_allclose(layout.spread, 2 / 4)
        assert layout.residual_df[0] == setting.session_df(4)


def test_raters_levels_take_from_what_tells_their_noise() -> None:
    """A panel of 4 sessions and 3 raters has (4 - 1)(3 - 1) degrees of freedom; runs have 4 times 2."""
    rng = np.random.default_rng(3)
    for agreement, df in ((0.95, 6.0), (None, 8.0)):
        setting = Setting(set_points=1, agreement=agreement)
        _, told = draw(Design(2, 3), Noise(0.0, 0.0, 1.0), setting, 40_000, rng)
        assert_allclose(told.var() / told.mean() ** 2, 2 / df, rtol=0.05)
