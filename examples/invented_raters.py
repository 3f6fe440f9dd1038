"""Invented raters: what the examples' tables of ratings are made with. Nobody felt anything."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True)
class Felt:
    """An invented item: what a session is worth on its scale before anybody rounds it."""

    level: float  # mean of all raters with nothing changed [points]
    effect: Mapping[str, float]  # of what is fitted [points]
    of_session: float  # standard deviation that a session shares among the raters [points]
    of_score: float  # of one score about that [points]
    lowest: int = 1
    highest: int = 7


def ratings(
    path: Path,
    sessions: Sequence[tuple[str, str]],
    raters: Sequence[str],
    items: Mapping[str, Felt],
    seed: int,
    *,
    of_rater: float = 0.8,
) -> None:
    """Let everybody score every session, and guess at its end what was fitted.

    Parameters
    ----------
    sessions : sequence of (session, what was fitted)
    of_rater : float
        Standard deviation of a rater's own level. [points]
    """
    rng = np.random.default_rng(seed)
    levels = {name: rng.normal(0, of_rater, len(raters)) for name in items}
    choices = [*dict.fromkeys(fitted for _, fitted in sessions), "unsure"]
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["session", "item", "rater", "score", "guess", "note"])
        for session, fitted in sessions:
            guesses = rng.choice(choices, len(raters))
            for name, felt in items.items():
                shared = felt.level + felt.effect.get(fitted, 0.0)
                shared += rng.normal(0, felt.of_session)
                for i, rater in enumerate(raters):
                    whole = round(shared + levels[name][i] + rng.normal(0, felt.of_score))
                    score = min(max(whole, felt.lowest), felt.highest)
                    out.writerow([session, name, rater, score, guesses[i], ""])
