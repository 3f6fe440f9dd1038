"""Whether the raters were blind: what was declared, who knew, and what their guesses show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.statistics.agreement import NOTHING, Estimate
from slackwater.analysis.statistics.blinding import bang_index, james_index, mean_bang_low

if TYPE_CHECKING:
    from slackwater.analysis.intake.rating_table import RatingTable
    from slackwater.protocol.declared.trial import Trial

Array = NDArray[np.float64]


class Blindness(StrEnum):
    """What every output says of a rating."""

    BLIND = "blind"
    NOT_BLIND = "not blind"
    GUESSED = "blinding did not hold"


@dataclass(frozen=True, slots=True)
class Guesses:
    """What raters guessed where one configuration was fitted.

    Attributes
    ----------
    configuration : str
    right, wrong, unsure : int
    bang : Estimate
        Of this configuration; NaN with more than two.
    """

    configuration: str
    right: int
    wrong: int
    unsure: int
    bang: Estimate


@dataclass(frozen=True, slots=True)
class Blinding:
    """Whether the raters were blind.

    Attributes
    ----------
    word : Blindness
    why : str
        In a sentence.
    guesses : tuple of Guesses
        Empty where nobody guessed.
    james : Estimate
        Of all guesses together; NaN without any, or with more than two configurations.
    """

    word: Blindness
    why: str
    guesses: tuple[Guesses, ...] = ()
    james: Estimate = NOTHING


def blinding_of(trial: Trial, table: RatingTable) -> Blinding:
    """Whether the raters of a trial were blind, and what their guesses show.

    A rater guesses once a session. The guesses of one rater, and those in one session, are counted
    as if each stood by itself, which errs on the side of doubting the blinding.
    """
    asked = trial.protocol.ratings
    names = tuple(dict.fromkeys(each.configuration for each in trial.sessions))
    counts = _counts(table, names)
    guesses = _guesses(counts, names)
    james = james_index(counts) if len(names) == 2 and guesses else NOTHING
    aware = [name for name in trial.raters_aware if name in table.raters]
    if asked is None or not asked.blind:
        why = "the protocol lets the raters know which configuration is fitted"
        return Blinding(Blindness.NOT_BLIND, why, guesses, james)
    if aware:
        knew = "all raters" if len(aware) == len(table.raters) else ", ".join(aware)
        why = f"{knew} knew which configuration was fitted"
        return Blinding(Blindness.NOT_BLIND, why, guesses, james)
    if not guesses:
        why = "declared, and not tested: the raters were not asked to guess"
        return Blinding(Blindness.BLIND, why)
    if _told_apart(counts, names):
        why = (
            "the raters guessed which configuration was fitted more often than chance would have it; "
            "whether they were told, or felt the change itself, guesses cannot tell"
        )
        return Blinding(Blindness.GUESSED, why, guesses, james)
    return Blinding(
        Blindness.BLIND,
        "declared, and the raters' guesses do not show otherwise",
        guesses,
        james,
    )


def _told_apart(counts: Array, names: Sequence[str]) -> bool:
    """The guesses are better than chance, one-sided at 95 %."""
    if len(names) == 2:
        low = mean_bang_low(counts)
        return bool(np.isfinite(low) and low > 0)
    from scipy.stats import binomtest

    made = int(counts[:, :-1].sum())
    right = int(np.trace(counts[:, :-1]))
    if not made or len(names) < 2:
        return False
    return bool(binomtest(right, made, 1 / len(names), alternative="greater").pvalue <= 0.05)


def _counts(table: RatingTable, names: Sequence[str]) -> Array:
    """Guesses by what was fitted and what was guessed, `unsure` last; one a rater and session."""
    out = np.zeros((len(names), len(names) + 1))
    told = {
        (each.session, each.rater): (each.configuration, each.guess)
        for each in table.used
        if each.guess
    }
    column = {name: i for i, name in enumerate(names)} | {"unsure": len(names)}
    for fitted, guess in told.values():
        if guess in column:
            out[column[fitted], column[guess]] += 1
    return out


def _guesses(counts: Array, names: Sequence[str]) -> tuple[Guesses, ...]:
    if not counts.sum():
        return ()
    found = []
    for i, name in enumerate(names):
        right, unsure = int(counts[i, i]), int(counts[i, -1])
        wrong = int(counts[i].sum()) - right - unsure
        bang = bang_index(right, wrong, unsure) if len(names) == 2 else NOTHING
        found.append(Guesses(name, right, wrong, unsure, bang))
    return tuple(found)
