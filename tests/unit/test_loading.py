"""How strongly what a session shares shows along the sweep, as a protocol declares it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from sweep_tables import table

from slackwater.analysis.verdict.loading import MOST, declared_loading
from slackwater.protocol.declared.protocol import Protocol

POINTS = (1000.0, 2000.0, 4000.0)
LEVELS = np.array([[5.0, 10.0, 40.0], [5.0, 10.0, 40.0]])


def protocol(loading: object) -> Protocol:
    return Protocol.model_validate(
        {
            "protocol": "p",
            "runs": {
                "set_points": {
                    "of": "engine_speed",
                    "values": ["1000 rpm", "2000 rpm", "4000 rpm"],
                }
            },
            "measures": {"speed_over_ground": {"unit": "kn"}},
            "analysis": {"loading": {"speed": loading}},
        }
    )


def about_one(sizes: list[float]) -> np.ndarray:
    return np.array(sizes) / np.exp(np.log(sizes).mean())


def test_even_is_none_at_all() -> None:
    assert declared_loading(protocol("even"), table("speed", POINTS, LEVELS)) is None
    assert declared_loading(protocol("constant"), table("fuel_flow", POINTS, LEVELS)) is None


def test_as_many_knots_everywhere_are_more_per_cent_at_slow_speed() -> None:
    found = declared_loading(protocol("constant"), table("speed", POINTS, LEVELS))
    assert_allclose(found, about_one([1 / 5, 1 / 10, 1 / 40]), rtol=1e-12)


def test_a_level_is_the_mean_of_what_is_there() -> None:
    levels = np.array([[5.0, 10.0, 40.0], [np.nan, 10.0, 40.0], [5.0, 10.0, np.nan]])
    found = declared_loading(protocol("constant"), table("speed", POINTS, levels))
    assert_allclose(found, about_one([1 / 5, 1 / 10, 1 / 40]), rtol=1e-12)


def test_as_much_everywhere_is_even_where_differences_are_compared() -> None:
    compared = replace(table("speed", POINTS, LEVELS), scale="difference")
    assert_allclose(declared_loading(protocol("constant"), compared), 1.0)


def test_a_number_for_each_set_point_goes_to_its_set_point() -> None:
    found = declared_loading(protocol([1, 2, 4]), table("speed", POINTS[::-1], LEVELS))
    assert_allclose(found, about_one([4, 2, 1]), rtol=1e-12)


def test_what_shifts_the_boat_along_the_curve_shows_where_it_is_steep() -> None:
    found = declared_loading(protocol("slope"), table("speed", POINTS, LEVELS))
    assert found is not None
    assert found[2] > found[0]
    # Speed as a power of engine speed is as steep, in per cent, everywhere.
    even = np.array([[1.0, 4.0, 16.0], [1.0, 4.0, 16.0]])
    found = declared_loading(protocol("slope"), table("speed", POINTS, even))
    assert_allclose(found, 1.0, rtol=1e-9)


def test_a_figure_read_elsewhere_has_none_of_the_set_points() -> None:
    elsewhere = replace(table("speed", POINTS, LEVELS), kind="equal speed")
    assert declared_loading(protocol("constant"), elsewhere) is None


@pytest.mark.parametrize("end", [0, -1])
def test_no_place_counts_for_everything(end: int) -> None:
    sizes = [1.0, 1.0, 1.0]
    sizes[end] = 90.0
    found = declared_loading(protocol(sizes), table("speed", POINTS, LEVELS))
    assert found is not None
    assert found[end] == MOST
