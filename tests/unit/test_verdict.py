"""From numbers to words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from slackwater.analysis.verdict.verdicts import Evidence, Word, judge, untestable


def evidence(change: float, half: float, **more: Any) -> Evidence:
    given: dict[str, Any] = {
        "change": change,
        "low": change - half,
        "high": change + half,
        "noise_floor": half,
        "established": abs(change) > half,
        "worthwhile": 0.01,
        "better": "more",
        "scale": "ratio",
    }
    if "worthwhile" not in more and not more.get("one_sided") and abs(change) + half < 0.0099:
        given["inside"] = (change - half, change + half)
    return Evidence(**(given | more))


@pytest.mark.parametrize(
    ("change", "half", "word", "worth"),
    [
        (0.031, 0.01, "gain", "exceeds"),
        (0.015, 0.01, "gain", "may exceed"),
        (0.005, 0.002, "gain", "less than"),
        (-0.031, 0.01, "loss", "exceeds"),
        (-0.005, 0.002, "loss", "less than"),
        (0.001, 0.004, "equivalent", "less than"),
        (0.004, 0.02, "within noise", None),
        (0.0, 0.02, "within noise", None),
    ],
)
def test_words(change: float, half: float, word: str, worth: str | None) -> None:
    verdict = judge(evidence(change, half))
    assert (verdict.word, verdict.worth) == (word, worth)


@pytest.mark.parametrize(
    ("change", "better", "word"),
    [
        (0.05, "more", "gain"),
        (0.05, "less", "loss"),
        (-0.05, "less", "gain"),
        (0.05, None, "higher"),
        (-0.05, None, "lower"),
    ],
)
def test_what_is_better_decides_gain_or_loss(change: float, better: Any, word: str) -> None:
    assert judge(evidence(change, 0.01, better=better)).word == word


def test_without_a_worthwhile_difference_there_is_no_worth_and_no_equivalence() -> None:
    assert judge(evidence(0.05, 0.01, worthwhile=None)).worth is None
    assert judge(evidence(0.0, 0.0001, worthwhile=None)).word == "within noise"


def test_equivalence_is_the_one_sided_tests_own() -> None:
    """Their bounds are told, not the wider interval of the difference."""
    verdict = judge(evidence(0.002, 0.009, inside=(-0.005, 0.0085)))
    assert (verdict.word, verdict.worth) == ("equivalent", "less than")
    assert "0.85" in verdict.reason
    assert "one-sided" in verdict.reason
    assert judge(evidence(0.002, 0.009, inside=None)).word == "within noise"


def test_a_ratio_is_bounded_alike_on_both_sides() -> None:
    """-9.5 % is more than a worthwhile difference of 10 % (1/1.1 is -9.09 %), +9.5 % less."""
    low = evidence(-0.11, 0.0, low=-0.13, high=-0.095, worthwhile=0.10)
    high = evidence(0.11, 0.0, low=0.095, high=0.13, worthwhile=0.10)
    assert judge(low).worth == "exceeds"
    assert judge(high).worth == "may exceed"
    difference = evidence(-0.11, 0.0, low=-0.13, high=-0.095, worthwhile=0.10, scale="difference")
    assert judge(difference).worth == "may exceed"


@pytest.mark.parametrize(
    ("no_loss", "better", "told"),
    [
        (-0.004, "more", "a loss of more than 0.4"),
        (0.004, "more", "any loss is ruled out"),
        (0.004, "less", "a loss of more than 0.4"),
        (None, "more", "is not ruled out"),
    ],
)
def test_no_loss(no_loss: float | None, better: Any, told: str) -> None:
    verdict = judge(evidence(0.002, 0.006, one_sided=True, no_loss=no_loss, better=better))
    assert (verdict.word, verdict.worth) == ("within noise", None)
    assert told in verdict.reason


@pytest.mark.parametrize(("change", "half"), [(0.031, 0.01), (0.001, 0.004), (0.004, 0.02)])
def test_reasons_are_plain_sentences_with_the_numbers(change: float, half: float) -> None:
    reason = judge(evidence(change, half)).reason
    assert "%" in reason
    assert reason[0].islower()
    assert not reason.endswith(".")
    assert "nan" not in reason.lower()


def test_a_difference_speaks_its_unit() -> None:
    verdict = judge(evidence(1.4, 0.5, scale="difference", unit="deg", worthwhile=1.0, better=None))
    assert verdict.word == "higher"
    assert "deg" in verdict.reason
    assert "%" not in verdict.reason


def test_untestable_keeps_its_reason() -> None:
    verdict = untestable("no whole double run here")
    assert (verdict.word, verdict.worth) == ("untestable", None)
    assert verdict.reason == "no whole double run here"


# --- at the limits, and word for word ------------------------------------------------------------


@pytest.mark.parametrize(
    ("low", "high", "scale", "worth"),
    [
        (0.01, 0.03, "ratio", "exceeds"),  # the limit itself
        (0.0099, 0.03, "ratio", "may exceed"),
        (-0.03, 1 / 1.01 - 1, "ratio", "exceeds"),
        (-0.03, -0.0099, "ratio", "may exceed"),
        (-0.03, -0.01, "difference", "exceeds"),
        (-0.03, -0.0099, "difference", "may exceed"),
        (-0.03, 0.03, "difference", "may exceed"),
    ],
)
def test_a_difference_exceeds_what_all_of_its_interval_does(
    low: float, high: float, scale: str, worth: str
) -> None:
    found = evidence(
        (low + high) / 2, 0.0, low=low, high=high, established=True, scale=scale, inside=None
    )  # fmt: skip
    assert judge(found).worth == worth
    assert judge(replace(found, inside=(low, high))).worth == "less than"
    assert judge(replace(found, one_sided=True)).worth is None


def test_no_change_at_all_points_nowhere_up() -> None:
    assert judge(evidence(0.0, 0.0, established=True, better=None)).word == "lower"
    assert judge(evidence(0.0, 0.0, established=True, better="more")).word == "loss"


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        (
            {"established": True},
            (
                "the difference of +3.1 % is larger than the 1.0 % that noise alone would give; all of its "
                "interval exceeds the worthwhile difference"
            ),
        ),
        (
            {"established": True, "worthwhile": 0.03},
            (
                "the difference of +3.1 % is larger than the 1.0 % that noise alone would give; it may exceed "
                "the worthwhile difference"
            ),
        ),
        (
            {"established": True, "worthwhile": 0.05, "inside": (0.02, 0.04)},
            (
                "the difference of +3.1 % is larger than the 1.0 % that noise alone would give; it is less than "
                "the worthwhile difference"
            ),
        ),
        (
            {"established": True, "worthwhile": None},
            "the difference of +3.1 % is larger than the 1.0 % that noise alone would give",
        ),
        (
            {"established": False},
            (
                "the difference of +3.1 % is no larger than the 1.0 % that noise alone would give; a worthwhile "
                "difference is neither shown nor ruled out"
            ),
        ),
        (
            {"established": False, "worthwhile": None},
            "the difference of +3.1 % is no larger than the 1.0 % that noise alone would give",
        ),
        (
            {"established": False, "inside": (0.02, 0.04), "worthwhile": 0.05},
            (
                "any difference lies between +2.0 % and +4.0 % by two one-sided tests, inside the worthwhile "
                "5.0 % on both sides"
            ),
        ),
        (
            {"established": False, "one_sided": True, "no_loss": -0.008},
            (
                "the difference of +3.1 % is no larger than the 1.0 % that noise alone would give; a loss of more "
                "than 0.8 % is ruled out"
            ),
        ),
        (
            {"established": False, "one_sided": True, "no_loss": 0.0},
            (
                "the difference of +3.1 % is no larger than the 1.0 % that noise alone would give; any loss is "
                "ruled out"
            ),
        ),
        (
            {"established": True, "one_sided": True},
            (
                "the difference of +3.1 % is larger than the 1.0 % that noise alone would give; a loss of 1.0 % is "
                "not ruled out"
            ),
        ),
        (
            {"established": True, "one_sided": True, "better": None},
            (
                "the difference of +3.1 % is larger than the 1.0 % that noise alone would give; neither side is "
                "better here, so that no loss is judged"
            ),
        ),
        (
            {"established": True, "one_sided": True, "worthwhile": None},
            "the difference of +3.1 % is larger than the 1.0 % that noise alone would give",
        ),
    ],
)
def test_reasons_word_for_word(more: dict[str, Any], reason: str) -> None:
    found = judge(evidence(0.031, 0.01, **more)).reason
    assert found.replace("\u00a0", " ") == reason


@pytest.mark.parametrize("word", list(Word))
def test_four_words_establish_a_difference(word: Word) -> None:
    assert word.established is (word in ("gain", "loss", "higher", "lower"))
