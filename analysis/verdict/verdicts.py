"""From numbers to words: the verdict on one comparison, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from slackwater.analysis.wording.numbers import change_scale, decimals_for, fixed, with_unit


class Word(StrEnum):
    """The verdict on a comparison, in a word."""

    GAIN = "gain"
    LOSS = "loss"
    HIGHER = "higher"
    LOWER = "lower"
    WITHIN_NOISE = "within noise"
    EQUIVALENT = "equivalent"
    UNTESTABLE = "untestable"

    @property
    def established(self) -> bool:
        """Whether a difference is established."""
        return self in ESTABLISHED


class Worth(StrEnum):
    """Whether a difference is as large as the worthwhile one, on either side."""

    EXCEEDS = "exceeds"
    MAY_EXCEED = "may exceed"
    LESS = "less than"


#: The verdicts that establish a difference.
ESTABLISHED = (Word.GAIN, Word.LOSS, Word.HIGHER, Word.LOWER)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a verdict is given on; the numbers of one comparison as the reader sees them.

    Attributes
    ----------
    change, low, high, noise_floor : float
        Fractions of the baseline, or differences in `unit` where the scale is a difference.
    established : bool
        The difference is above what the noise alone would give.
    worthwhile : float or None
        The smallest difference that would matter, as declared beforehand.
    better : str or None
        "more", "less" or None.
    scale : str
        "ratio" or "difference".
    unit : str
        Of a difference; empty for a plain fraction.
    inside : tuple of float or None
        Bounds of the one-sided tests, where they show the difference to be inside the worthwhile
        one on both sides.
    one_sided : bool
        The worthwhile difference is the smallest loss that would matter; gains are welcome at any
        size.
    no_loss : float or None
        The largest loss that is not ruled out, signed as a change, where it is smaller than that.
    """

    change: float
    low: float
    high: float
    noise_floor: float
    established: bool
    worthwhile: float | None
    better: str | None
    scale: str
    unit: str = ""
    inside: tuple[float, float] | None = None
    one_sided: bool = False
    no_loss: float | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """A verdict in a word, how it stands to the worthwhile difference, and a plain sentence."""

    word: Word
    worth: Worth | None
    reason: str


def untestable(reason: str) -> Verdict:
    """The verdict that the data cannot carry."""
    return Verdict(Word.UNTESTABLE, None, reason)


def judge(evidence: Evidence) -> Verdict:
    """Put one comparison into words.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    Verdict
        gain or loss (higher or lower where neither side is better) when the difference is
        established; else equivalent when the one-sided tests show it to be inside the worthwhile
        difference on both sides; else within noise.
    """
    if not evidence.established:
        if evidence.inside:
            return Verdict(Word.EQUIVALENT, Worth.LESS, _equivalent(evidence))
        return Verdict(Word.WITHIN_NOISE, None, _within_noise(evidence))
    word = _direction(evidence.change, evidence.better)
    worth = _worth(evidence)
    return Verdict(word, worth, _established(evidence, worth))


def _worth(evidence: Evidence) -> Worth | None:
    """Whether an established difference exceeds the worthwhile one, may exceed it, or is less."""
    limit = evidence.worthwhile
    if limit is None or evidence.one_sided:
        return None
    if evidence.inside:
        return Worth.LESS
    # A ratio is bounded symmetrically on the logarithmic scale, by 1 + limit and its inverse, so
    # that swapping baseline and modified changes nothing.
    lowest = 1 / (1 + limit) - 1 if evidence.scale == "ratio" else -limit
    clear = evidence.low >= limit or evidence.high <= lowest
    return Worth.EXCEEDS if clear else Worth.MAY_EXCEED


def _direction(change: float, better: str | None) -> Word:
    if better is None:
        return Word.HIGHER if change > 0 else Word.LOWER
    return Word.GAIN if (change > 0) == (better == "more") else Word.LOSS


def _size(evidence: Evidence, value: float, *, signed: bool = True) -> str:
    scale = change_scale(evidence.scale, evidence.unit)
    decimals = decimals_for(scale.width(evidence.low, evidence.high))
    return with_unit(fixed(scale.of(value), decimals, signed=signed), scale.unit)


def _bound(evidence: Evidence, value: float) -> str:
    return _size(evidence, abs(value), signed=False)


def _established(evidence: Evidence, worth: Worth | None) -> str:
    text = (
        f"the difference of {_size(evidence, evidence.change)} is larger than the "
        f"{_bound(evidence, evidence.noise_floor)} that noise alone would give"
    )
    if worth is Worth.EXCEEDS:
        text += "; all of its interval exceeds the worthwhile difference"
    elif worth is Worth.MAY_EXCEED:
        text += "; it may exceed the worthwhile difference"
    elif worth is Worth.LESS:
        text += "; it is less than the worthwhile difference"
    return text + _no_loss(evidence)


def _no_loss(evidence: Evidence) -> str:
    """What is said of losses where only those would matter."""
    if not evidence.one_sided or evidence.worthwhile is None:
        return ""
    if evidence.better is None:
        return "; neither side is better here, so that no loss is judged"
    limit = _bound(evidence, evidence.worthwhile)
    if evidence.no_loss is None:
        return f"; a loss of {limit} is not ruled out"
    if (evidence.no_loss >= 0) == (evidence.better == "more"):
        return "; any loss is ruled out"
    return f"; a loss of more than {_bound(evidence, evidence.no_loss)} is ruled out"


def _within_noise(evidence: Evidence) -> str:
    text = (
        f"the difference of {_size(evidence, evidence.change)} is no larger than the "
        f"{_bound(evidence, evidence.noise_floor)} that noise alone would give"
    )
    if evidence.worthwhile is not None and not evidence.one_sided:
        text += "; a worthwhile difference is neither shown nor ruled out"
    return text + _no_loss(evidence)


def _equivalent(evidence: Evidence) -> str:
    limit = evidence.worthwhile if evidence.worthwhile is not None else 0.0
    low, high = evidence.inside or (evidence.low, evidence.high)
    return (
        f"any difference lies between {_size(evidence, low)} and {_size(evidence, high)} by two "
        f"one-sided tests, inside the worthwhile {_bound(evidence, limit)} "
        "on both sides"
    )
