"""What the scatter of past trials says of the loading: how strongly sessions show along the sweep.

Each set point has a mean square of its own between sessions. Whether they are alike is Bartlett's
question; where they are not, one of the shapes that a protocol can declare is proposed, and where
none of those fits either, a strength for each set point, drawn towards the others as far as chance
alone would part them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, polygamma

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.contrasts import Contrasts
from slackwater.analysis.statistics.noise import residuals_of
from slackwater.analysis.verdict.loading import about_one, shape_of

Array = NDArray[np.float64]

LEVEL = 0.05  # a shape is given up when chance gives such mean squares less often
LEAST_PART = 0.5  # of the typical strength
TOLD_APART = 1.05  # strongest over weakest; less is none in the two digits that are declared
LEAST_DF = 4.0  # at a set point; fewer tell nothing of its own noise


@dataclass(frozen=True, slots=True)
class LoadingFound:
    """The loading of one quantity that past trials propose.

    Attributes
    ----------
    shape : str
        "even", "constant", "slope" or "by set point".
    labels : tuple of str
        The set points looked at.
    strengths : tuple of float
        Standard deviation between sessions at each, about one; as the shape gives it. [1]
    evenness : float
        How often chance alone gives mean squares as different as these were the noise even. [1]
    fit : float
        The same for the shape proposed. [1]
    df : float
        Degrees of freedom at the set point that has the fewest. [1]
    trials : int
    """

    shape: str
    labels: tuple[str, ...]
    strengths: tuple[float, ...]
    evenness: float
    fit: float
    df: float
    trials: int


def loading_found(
    tables: Sequence[SessionValues], layouts: Sequence[Contrasts]
) -> LoadingFound | None:
    """The loading that trials with the same set points propose.

    Parameters
    ----------
    tables : sequence of SessionValues
        Of one quantity at set points, a trial each. Those whose set points are not those of the
        first are left out.
    layouts : sequence of Contrasts
        Of the same trials: how residuals about the configurations are formed.

    Returns
    -------
    LoadingFound or None
        None where there are fewer than two set points, or too few sessions to tell.
    """
    alike = [
        (table, layout)
        for table, layout in zip(tables, layouts, strict=True)
        if table.labels == tables[0].labels
    ]
    if not alike or len(tables[0].positions) < 2:
        return None
    seen = _Seen.of(alike)
    if seen.df.min() < LEAST_DF:
        return None
    shapes = _shapes([table for table, _ in alike])
    fits = {
        name: bartlett(seen.squares / seen.expected(each), seen.df) for name, each in shapes.items()
    }
    name = _chosen(fits)
    strengths = shapes.get(name)
    if strengths is None:
        strengths = _drawn_together(seen)
        if strengths.max() < TOLD_APART * strengths.min():
            name, strengths = "even", shapes["even"]  # unlike, but not in what sessions add
        fits[name] = bartlett(seen.squares / seen.expected(strengths), seen.df)
    about = about_one(strengths)
    return LoadingFound(
        shape=name,
        labels=tables[0].labels,
        strengths=tuple(float(each) for each in (strengths if about is None else about)),
        evenness=fits["even"],
        fit=fits[name],
        df=float(seen.df.min()),
        trials=len(alike),
    )


@dataclass(frozen=True, slots=True)
class _Seen:
    """Mean squares between sessions at the set points, shape (set_points,) each.

    `runs` is what the runs alone are expected to add, which no loading acts on.
    """

    squares: Array
    runs: Array
    df: Array

    @classmethod
    def of(cls, alike: Sequence[tuple[SessionValues, Contrasts]]) -> _Seen:
        """Over several trials, each about its own configurations."""
        df = np.sum([layout.residual_df for _, layout in alike], axis=0)
        weight = np.maximum(df, 1.0)
        squares, runs = np.zeros(len(df)), np.zeros(len(df))
        for table, layout in alike:
            squares += (residuals_of(table.on_scale(), layout) ** 2).sum(axis=-2)
            runs += layout.residual_df * table.run_variance_on_scale()
        return cls(squares / weight, runs / weight, df)

    def expected(self, strengths: Array) -> Array:
        """Mean squares that the strengths give, their size taken from all set points together."""
        return np.asarray(self.size(strengths) * strengths**2 + self.runs)

    def size(self, strengths: Array) -> float:
        """Variance between sessions where the strength is one; never quite nothing."""
        beyond = float(np.average((self.squares - self.runs) / strengths**2, weights=self.df))
        return max(beyond, 0.01 * float(np.average(self.squares, weights=self.df)))


def _shapes(tables: Sequence[SessionValues]) -> dict[str, Array]:
    """The shapes that can be declared in a word: the mean of the trials, where each has one."""
    shapes = {"even": np.ones(len(tables[0].positions))}
    # As much in the unit everywhere is what a difference is taken to scatter by already.
    words = ("constant", "slope") if tables[0].scale == "ratio" else ("slope",)
    for name in words:
        found = [shape_of(name, table) for table in tables]
        known = [np.log(each) for each in found if each is not None]
        if len(known) == len(found):
            shapes[name] = np.exp(np.mean(known, axis=0))
    return shapes


def _chosen(fits: Mapping[str, float]) -> str:
    """Even unless the set points say otherwise, then the word that fits best, if one does."""
    if fits["even"] > LEVEL:
        return "even"
    best = max(fits, key=lambda name: fits[name])
    return best if fits[best] > LEVEL else "by set point"


def bartlett(squares: Array, df: Array) -> float:
    """Chance that independent mean squares of one variance differ by as much as these.

    Parameters
    ----------
    squares, df : ndarray, shape (set_points,)
        Mean squares and their degrees of freedom.

    Notes
    -----
    Bartlett's test, as `scipy.stats.bartlett` makes it of samples. What a session shares makes the
    mean squares of set points more alike than independent ones, so that an even sweep is called
    uneven less often than one says.
    """
    if (squares <= 0).any():
        return 1.0 if (squares <= 0).all() else 0.0
    whole = df.sum()
    pooled = float(df @ squares) / whole
    size = whole * np.log(pooled) - float(df @ np.log(squares))
    spread = 1 + ((1 / df).sum() - 1 / whole) / (3 * (len(df) - 1))
    return float(chdtrc(len(df) - 1, max(size / spread, 0.0)))


def _drawn_together(seen: _Seen) -> Array:
    """A strength for each set point, drawn towards the others by the part that chance explains.

    The logarithm of a mean square has variance psi'(df/2) by chance; what the set points show
    beyond that is theirs. No strength is less than half of the typical one: to believe a set point
    quieter than it is would name differences that are not there.
    """
    even = np.ones(len(seen.df))
    expected = seen.expected(even)
    logs = np.log(np.maximum(seen.squares / expected, 1e-9))
    chance = np.asarray(polygamma(1, seen.df / 2))
    beyond = max(float(logs.var(ddof=1) - chance.mean()), 0.0)
    kept = beyond / (beyond + chance)
    drawn = expected * np.exp(logs.mean() + kept * (logs - logs.mean()))
    own = (drawn - seen.runs) / seen.size(even)
    return np.asarray(np.sqrt(np.maximum(own, LEAST_PART**2)))
