"""From numbers to words."""

from __future__ import annotations

from typing import Any

import pytest

from slackwater.analysis.verdict.verdicts import Evidence, judge, untestable


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
    return Evidence(**(given | more))


@pytest.mark.parametrize(
    ("change", "half", "word", "worth"),
    [
        (0.031, 0.01, "gain", "surely"),
        (0.015, 0.01, "gain", "possibly"),
        (0.005, 0.002, "gain", "not"),
        (-0.031, 0.01, "loss", "surely"),
        (-0.005, 0.002, "loss", "not"),
        (0.001, 0.004, "equivalent", "not"),
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


def test_established_by_steps_down_while_the_interval_touches_zero() -> None:
    verdict = judge(evidence(0.018, 0.02, noise_floor=0.015, established=True))
    assert (verdict.word, verdict.worth) == ("gain", "possibly")
    assert "its size may be anything down to none" in verdict.reason
    assert "1.5" in verdict.reason


def test_a_ratio_is_bounded_alike_on_both_sides() -> None:
    """-9.5 % lies outside a worthwhile difference of 10 % (1/1.1 is -9.09 %), +9.5 % inside."""
    low = evidence(-0.05, 0.0, low=-0.095, high=-0.005, established=False, worthwhile=0.10)
    high = evidence(0.05, 0.0, low=0.005, high=0.095, established=False, worthwhile=0.10)
    assert judge(low).word == "within noise"
    assert judge(high).word == "equivalent"
    difference = evidence(
        -0.05, 0.0, low=-0.095, high=-0.005, established=False, worthwhile=0.10, scale="difference"
    )
    assert judge(difference).word == "equivalent"


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
