"""What was declared beforehand, on the scale of the analysis: confidences, sizes, priors, looks."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from invented_protocols import protocol
from invented_runs import table
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.verdict.final import marked
from slackwater.analysis.verdict.loading import about_one, declared_loading, shape_of
from slackwater.analysis.verdict.looks import Look, confidence_at, look_at, look_findings
from slackwater.analysis.verdict.neutral import as_compared, neutral_remarks
from slackwater.analysis.verdict.prior_findings import prior_findings
from slackwater.analysis.verdict.terms import Terms, declared_for, on_scale, terms_of
from slackwater.analysis.verdict.verdicts import Word
from slackwater.protocol.declared.trial import ComparisonPair
from slackwater.protocol.units.quantity import Quantity

VALUES = np.array([[8.0, 10.0], [12.0, 30.0]])
SPEED = table(VALUES)
FLOW = table(VALUES, quantity="fuel_flow", unit="L/h", better="less")
NAN = np.nan


def terms(analysis: dict[str, Any], of: Any = SPEED, noise: Any = None, **more: Any) -> Terms:
    made = protocol(analysis=analysis, **({"noise": noise} if noise else {}))
    return terms_of(made, of, **more)


# --- the error that may be made ------------------------------------------------------------------


def test_the_error_is_shared_out_as_declared() -> None:
    plain = {"confidence": "90 %"}
    assert terms(plain, families=4, pairs=2).confidence == pytest.approx(0.90)
    together = {"confidence": "90 %", "family": "all"}
    assert terms(together, families=4, pairs=2).confidence == pytest.approx(0.975)
    assert terms(together, families=0).confidence == pytest.approx(0.90)
    assert terms(together).confidence == pytest.approx(0.90)
    # The deciding figure shares with the further pairs alone.
    decides = {**together, "decides": "speed"}
    assert terms(decides, families=4, pairs=2).confidence == pytest.approx(0.95)
    assert terms(decides, families=4).confidence == pytest.approx(0.90)
    assert terms(decides, families=4, pairs=0).confidence == pytest.approx(0.90)
    assert terms(decides, FLOW, families=4, pairs=2).confidence == pytest.approx(0.975)
    assert (terms(decides).deciding, terms(decides, FLOW).deciding) == (True, False)
    assert terms(plain).deciding is None
    # What was found afterwards is one family, whatever was declared.
    for analysis in (plain, decides, {"confidence": "90 %", "family": "single"}):
        after = terms(analysis, families=4, pairs=2, declared=False)
        assert after.confidence == pytest.approx(0.975)
        assert after.simultaneous is True
    assert terms(plain, families=4, declared=True).confidence == pytest.approx(0.90)
    assert terms({"family": "single"}).simultaneous is False
    assert terms(plain).simultaneous is True


def test_a_look_part_way_has_a_level_of_its_own() -> None:
    """Two looks by Pocock: 2.178 each, as printed, so 97.06 % where one set point is judged."""
    looks = {"looks": {"at_sessions": [1, 2], "boundary": "pocock"}}
    look = Look(1, 2, 1, 2)
    assert terms(looks).level is None
    assert terms({**looks, "family": "single"}, look=look).level == pytest.approx(
        1 - 2 * stats.norm.sf(2.178), abs=5e-5
    )
    # For a family of two, each has the root of the confidence, and the level is that of both.
    both = terms(looks, look=look).level
    one = terms(
        {**looks, "family": "single", "confidence": f"{100 * np.sqrt(0.95)} %"}, look=look
    ).level
    assert both == pytest.approx(one**2, abs=1e-6)


# --- sizes ---------------------------------------------------------------------------------------


def test_a_size_is_a_fraction_of_the_mean_or_in_the_unit() -> None:
    assert on_scale(Quantity(3.0, "%"), SPEED) == 0.03
    assert_allclose(on_scale(Quantity(2.0, "kn"), SPEED), [0.2, 0.1])
    gap = replace(SPEED, values=np.array([[8.0, NAN], [-12.0, NAN]]))
    assert_allclose(on_scale(Quantity(2.0, "kn"), gap), [0.2, np.inf])
    trim = table(VALUES, quantity="trim", unit="deg", scale="difference")
    assert on_scale(Quantity(2.0, "deg"), trim) == 2.0


def test_a_size_is_that_of_the_quantity_or_of_the_one_it_changes_with() -> None:
    assert declared_for("speed", {"speed": 1}) == (1, False)
    assert declared_for("speed", {}) == (None, False)
    assert declared_for("top_speed", {"speed": 1}) == (1, False)
    assert declared_for("fuel_per_distance", {"economy": 1}) == (1, True)
    assert declared_for("fuel_per_distance", {"economy": 1, "fuel_per_distance": 2}) == (2, False)


def test_a_size_in_the_unit_of_the_inverse_is_none() -> None:
    inverse = table(VALUES, quantity="fuel_per_distance", unit="L/nmi", better="less")
    economy = table(VALUES, quantity="economy", unit="nmi/L")
    per_cent = {"worthwhile": {"economy": "2 %"}}
    assert terms(per_cent, inverse).worthwhile == 0.02
    assert terms(per_cent, economy).worthwhile == 0.02
    in_unit = {"worthwhile": {"economy": "2 nmi/L"}}
    assert terms(in_unit, inverse).worthwhile is None
    assert_allclose(terms(in_unit, economy).worthwhile, [0.2, 0.1])
    assert terms(per_cent, FLOW).worthwhile is None
    assert terms(per_cent, economy).one_sided is False
    no_loss = terms({"worthwhile": {"speed": {"no_loss": "2 %"}}})
    assert (no_loss.one_sided, no_loss.worthwhile) == (True, 0.02)


def test_the_size_at_a_position() -> None:
    assert Terms().worthwhile_at(0) is None
    assert Terms(worthwhile=0.0).worthwhile_at(0) == 0.0
    assert Terms(worthwhile=np.array([0.1, 0.2])).worthwhile_at(1) == 0.2
    assert Terms(worthwhile=np.array(0.1)).worthwhile_at(1) == 0.1
    assert (Terms().confidence, Terms().simultaneous, Terms().one_sided) == (0.95, True, False)


# --- earlier trials ------------------------------------------------------------------------------

NOISE = {
    "between_sessions": "2 %",
    "session_by_set_point": "1 %",
    "within_session": "3 %",
    "sessions": 8,
}


def test_noise_of_earlier_trials_is_a_variance_on_the_scale() -> None:
    """Two double runs make a value: half the variance of one. Eight sessions leave seven freedoms."""
    prior = terms({}, noise={"speed": NOISE}).prior
    assert prior is not None
    assert (prior.between_sessions, prior.session_by_set_point) == pytest.approx((4e-4, 1e-4))
    assert prior.within_session == pytest.approx(9e-4 / 2)
    assert prior.df == 7.0
    few = terms({}, noise={"speed": {"between_sessions": "2 %", "sessions": 2}}).prior
    assert few is not None
    assert (few.session_by_set_point, few.within_session, few.df) == (None, 0.0, 1.0)
    once = terms_of(protocol(noise={"speed": NOISE}, double_runs=1), SPEED).prior
    assert once is not None
    assert once.within_session == pytest.approx(9e-4)
    # In the unit: the median over the sweep, 0.3 kn of 10 and of 20.
    knots = terms({}, noise={"speed": {"between_sessions": "0.3 kn", "sessions": 2}}).prior
    assert knots is not None
    assert knots.between_sessions == pytest.approx(((0.03 + 0.015) / 2) ** 2)
    assert terms({}).prior is None


def test_noise_at_set_points_is_not_that_at_equal_speed() -> None:
    noise = {"economy": NOISE}
    economy = table(VALUES, quantity="economy", unit="nmi/L")
    assert terms({}, economy, noise=noise).prior is not None
    assert terms({}, replace(economy, kind="equal speed"), noise=noise).prior is None
    best = table(VALUES[:, :1], quantity="best_economy", unit="nmi/L", kind="whole sweep")
    assert terms({}, best, noise=noise).prior is None
    top = table(VALUES[:, :1], quantity="top_speed", kind="whole sweep")
    assert terms({}, top, noise={"speed": NOISE}).prior is not None


def judged(quantity: str, fits: Any, *, prior: bool = True, known: bool = True) -> Any:
    noise = SimpleNamespace(prior_fits=None if fits is None else np.array(fits))
    found = SimpleNamespace(noise=noise) if known else None
    return SimpleNamespace(differences=found, prior=prior, table=SimpleNamespace(quantity=quantity))


def test_priors_that_do_not_fit_or_that_nothing_checks_are_findings() -> None:
    assert prior_findings([judged("speed", True), judged("fuel_flow", True)]) == []
    assert (
        prior_findings([judged("speed", False, prior=False), judged("trim", False, known=False)])
        == []
    )
    several = [
        judged("trim", False, known=False), judged("speed", False), judged("speed", [True, False]),
        judged("fuel_flow", False), judged("economy", None), judged("slip", True),
    ]  # fmt: skip
    dropped, unchecked = prior_findings(several)
    assert (dropped.rule, unchecked.rule) == ("prior-does-not-fit", "prior-unchecked")
    assert "let expect: speed, fuel flow; the noise" in dropped.message
    assert "earlier trials: economy; a verdict" in unchecked.message
    assert [each.rule for each in prior_findings(several[4:])] == ["prior-unchecked"]
    assert [each.rule for each in prior_findings(several[:2])] == ["prior-does-not-fit"]


# --- loading -------------------------------------------------------------------------------------


def test_strengths_are_about_their_geometric_mean_and_within_what_is_believed() -> None:
    assert_allclose(about_one(np.array([1.0, 4.0])), [0.5, 2.0])
    # Unknown, or none, is taken to be the middle of the others: 2 of 1 and 4 is 2.5.
    assert_allclose(
        about_one(np.array([1.0, 4.0, NAN, 0.0])), np.array([1, 4, 2.5, 2.5]) / 25 ** (1 / 4)
    )
    assert about_one(np.array([NAN, 0.0, -1.0])) is None
    assert_allclose(about_one(np.array([1e-3, 1.0, 1e3])), [0.1, 1.0, 10.0])


def test_a_level_of_the_unit_is_stronger_where_less_is_measured() -> None:
    found = shape_of("constant", SPEED)
    assert_allclose(found, [np.sqrt(2), np.sqrt(1 / 2)])  # means 10 and 20
    below = shape_of("constant", table(-VALUES))
    assert_allclose(below, found)
    assert_allclose(shape_of("constant", table(VALUES, scale="difference")), [1.0, 1.0])


def test_a_slope_is_of_the_mean_curve() -> None:
    """A straight line on axes of logarithms is as steep everywhere; so is one of differences."""
    x = np.array([1000.0, 2000.0, 4000.0])
    power = table(np.array([x**1.5]), positions=x)
    assert_allclose(shape_of("slope", power), [1.0, 1.0, 1.0])
    straight = table(np.array([3 - x / 1000]), positions=x, scale="difference")
    assert_allclose(shape_of("slope", straight), [1.0, 1.0, 1.0])
    # Where something is not above nought, plain axes serve for ratios too.
    sunk = table(np.array([x / 1000 - 3]), positions=x)
    assert_allclose(shape_of("slope", sunk), [1.0, 1.0, 1.0])
    at_nought = table(np.array([[5.0, 6.0, 7.0]]), positions=np.array([0.0, 1.0, 2.0]))
    assert_allclose(shape_of("slope", at_nought), [1.0, 1.0, 1.0])
    parts = np.array([0.5, 1.0, 2.0])  # a throttle, say, as a fraction
    assert_allclose(
        shape_of("slope", table(np.array([parts**1.5]), positions=parts)), [1.0, 1.0, 1.0]
    )
    assert shape_of("slope", table(np.array([[1.0, 2.0]]))) is None
    assert shape_of("slope", table(np.array([x]), positions=x[[0, 0, 1]])) is None
    steeper = shape_of("slope", table(np.array([[1.0, 2.0, 12.0]]), positions=x))
    assert steeper is not None
    assert steeper[0] < steeper[2]


def test_numbers_go_to_their_set_points_and_none_elsewhere() -> None:
    made = protocol(points=("1000 rpm", "2000 rpm"), analysis={"loading": {"speed": [1, 4]}})
    assert_allclose(declared_loading(made, SPEED), [0.5, 2.0])
    turned = replace(SPEED, positions=np.array([2000.0, 1500.0]))
    assert_allclose(declared_loading(made, turned), [1.0, 1.0])  # 1500 is none: as the other
    assert declared_loading(made, replace(SPEED, kind="equal speed")) is None
    assert declared_loading(made, FLOW) is None
    assert terms_of(made, SPEED).loading is not None


# --- looks ---------------------------------------------------------------------------------------


def test_which_look_this_is_and_what_it_says() -> None:
    end, early, over, stray = Look(3, 3, 2, 2), Look(2, 3, 1, 2), Look(4, 3, 0, 2), Look(1, 3, 0, 2)
    assert [each.end for each in (end, early, over, stray)] == [True, False, False, False]
    assert [each.declared for each in (end, early, over, stray)] == [True, True, False, False]
    assert (end.final(False), early.final(True), early.final(False)) == (True, True, False)
    assert (over.final(True), stray.final(True)) == (False, False)
    assert early.caveat == "not final: look 1 of 2; the trial goes on"
    assert over.caveat == "not final: more sessions than the protocol declares"
    assert stray.caveat == "not final: the protocol declares no look here"
    assert look_findings(end, 3) == []
    told = [look_findings(each, 2)[0] for each in (early, over, stray)]
    assert [each.rule for each in told] == ["declared-look", "undeclared-look", "undeclared-look"]
    assert (
        "2 of 3 sessions with each configuration have been run; this is look 1 of 2"
        in told[0].message
    )
    assert "4 sessions with each configuration where the protocol declares 3" in told[1].message
    assert "1 of 3 sessions" in told[2].message
    assert told[0].message.endswith("differences already established are final")
    assert "established are final" not in look_findings(early, 0)[0].message


def test_the_look_is_that_of_the_configuration_with_the_fewest_sessions() -> None:
    made = protocol(order="ABBAAB", analysis={"looks": {"at_sessions": [1, 2, 3]}})
    assert look_at(made, "AABBB", "AB") == Look(2, 3, 2, 3)
    assert look_at(made, "AAABCCC", "AC") == Look(3, 3, 3, 3)
    assert look_at(made, "AAAA", "AB") == Look(0, 3, 0, 3)
    plain = protocol(order="ABBAAB")
    assert look_at(plain, "ABBAAB", "AB") == Look(3, 3, 1, 1)
    one = protocol(order="ABBAAB", analysis={"looks": {"at_sessions": [3]}})
    assert confidence_at(one, Look(1, 3, 0, 1), 0.9, 4) == 0.9
    held = [confidence_at(made, Look(n, 3, 0, 3), 0.95, 0) for n in range(5)]
    assert held[0] == held[1] > held[2] > held[3] == held[4]
    assert confidence_at(made, Look(1, 3, 1, 3), 0.95, 1) == held[1]


def test_rows_say_whether_they_are_final() -> None:
    from slackwater.analysis.verdict.judgement import judge_sweep

    rng = np.random.default_rng(1)
    grid = np.exp(2 + rng.normal(0, 0.01, (4, 3)) + np.outer([0, 1, 1, 0], [0.3, 0.0, 0.0]))
    grid[[1, 2], 2] = NAN
    found = judge_sweep(
        table(grid), ["bare", "fitted", "fitted", "bare"], "bare", "fitted", Terms()
    )
    assert [row.verdict for row in found.rows] == [Word.GAIN, Word.WITHIN_NOISE, Word.UNTESTABLE]
    look = Look(2, 3, 1, 2)
    gain, within, none = marked(found, look).rows
    assert (gain.final, within.final, none.final) == (True, False, False)
    assert gain.reason == found.rows[0].reason
    assert within.reason == f"{found.rows[1].reason}; {look.caveat}"
    assert none.reason == found.rows[2].reason


# --- neither side is better ----------------------------------------------------------------------

PAIRS = [ComparisonPair(baseline="bare", modified=name) for name in ("same", "fitted", "third")]


def trial(of: str = "engine_speed") -> Any:
    def drive(**more: Any) -> Any:
        given = {"propeller": None, "propeller_pitch": None, "propeller_diameter": None}
        return SimpleNamespace(**({**given, "gear_ratio": None, "title": ""} | more))

    return SimpleNamespace(
        comparisons=PAIRS,
        protocol=SimpleNamespace(set_point_measure=of),
        configurations={
            "bare": drive(title="As delivered"), "same": drive(), "fitted": drive(gear_ratio=2),
            "third": drive(propeller="x", gear_ratio=1),
        },
    )  # fmt: skip


def test_at_one_engine_speed_unlike_drives_have_no_better_side() -> None:
    sweep = replace(SPEED, kind="whole sweep", quantity="best_economy")
    top = replace(SPEED, kind="whole sweep", quantity="top_speed")
    for one, of, pair, better in (
        (SPEED, "engine_speed", 1, None), (SPEED, "engine_speed", 0, "more"),
        (SPEED, "speed", 1, "more"), (sweep, "engine_speed", 1, "more"),
        (top, "throttle", 1, None), (replace(SPEED, kind="equal speed"), "throttle", 1, "more"),
    ):  # fmt: skip
        assert as_compared(one, trial(of), PAIRS[pair]).better == better


def test_pairs_of_unlike_drives_are_named() -> None:
    told = neutral_remarks(trial())
    assert len(told) == 2
    assert told[0].startswith("fitted and As delivered differ in gear ratio, so that")
    assert told[1].startswith("third and As delivered differ in propeller and gear ratio, so that")
    assert neutral_remarks(trial("speed")) == ()
