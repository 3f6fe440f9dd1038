"""Where along a sweep something is best or steepest, session by session.

The highest point of a shape-preserving curve is always a set point, so it cannot tell where
between them an optimum lies. A parabola through the set points about the highest one can. How
wide it opens is found from all sessions together; where its top is, from each session: the slope
that the session shows at the common top, over the common curvature. That value is as normal as
the slope is, however flat the top; the flatter it is, the wider the sessions scatter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

Array = NDArray[np.float64]

# What a coarse sweep leaves open of a top, as a standard uncertainty, in parts of the spacing: the
# curve may be lopsided between the points. Chosen by simulation (tests/calibration).
COARSENESS = 0.3

# The same where the wide parabola and the narrow one do not agree.
COARSENESS_OF_LOPSIDED = 0.5

# What a narrow parabola misses of the height, as a standard uncertainty, in parts of how far the
# wide one lies off it, and in parts of how far it rises above the highest point itself.
MISSED_PART = 0.5

# A shift of a configuration's top by this part of the spacing leaves nothing cancelled.
SHIFT_TELLS = 1.5

FLATTEST = 0.75  # of the squared t quantile over the squared t of the curvature; 1 is no bound


@dataclass(frozen=True, slots=True)
class Tops:
    """The top of the curve of every session.

    Attributes
    ----------
    position : ndarray, shape (..., sessions)
        NaN where the session or the sweep has no top. [unit of the abscissa]
    height : ndarray, shape (..., sessions)
        The session's parabola through the points next to the top, where its configuration has
        it. [unit of the ordinate]
    height_variance : ndarray, shape (..., sessions)
        Of the height, shared by the sessions of a configuration: from how far a parabola through
        more points lies off. [unit of the ordinate squared]
    level_variance, contrast_variance : ndarray, shape (..., sessions)
        Of the position, shared by the sessions of a configuration: what the coarse sweep and the
        common curvature leave open, in a mean and in a difference. [unit of the abscissa squared]
    state : ndarray of str, shape (...)
        "found", "low" or "high" (best at that end of the sweep), "flat" (no curvature to be
        told), "few" (fewer than three set points).
    between : ndarray, shape (..., 2)
        Abscissae of the set points beside the highest. [unit of the abscissa]
    """

    position: Array
    height: Array
    height_variance: Array
    level_variance: Array
    contrast_variance: Array
    state: NDArray[np.str_]
    between: Array


def tops(
    u: Array,
    y: Array,
    fitted: Sequence[str],
    allowed: NDArray[np.bool_],
    reach: int = 2,
    confidence: float = 0.95,
) -> Tops:
    """Find the top of y over u for every session.

    Parameters
    ----------
    u, y : ndarray, shape (..., sessions, points)
        Abscissa and ordinate of each session's points; NaN where missing.
    fitted : sequence of str, length sessions
    allowed : ndarray of bool, shape (..., points)
        Points among which the top is looked for.
    reach : int
        Points on either side of the highest that the parabola is fitted to.
    confidence : float
        At which the curvature has to be told from none.

    Notes
    -----
    The window is the same for all sessions of a trial, so that it adds nothing to a difference.
    With position = top − slope / curvature, where the curvature is common and known from the
    sessions' own with n degrees of freedom, the interval is Fieller's [1]_ about the common top:
    wider than with a known curvature by 1 / sqrt(1 − k), k = (t of n / t of the curvature)^2.
    What a parabola is off by is taken from how far the top moves when only the nearest points on
    either side are used, and from how far apart the points are; in a difference it cancels as far
    as the tops, and the points about them, lie close together.

    References
    ----------
    .. [1] E. C. Fieller, "Some problems in interval estimation", Journal of the Royal Statistical
       Society B 16 (1954), 175-185, for the method's name. Its coverage is shown in
       tests/calibration.
    """
    labels = np.array(fitted)
    groups = [labels == name for name in dict.fromkeys(fitted)]
    points = y.shape[-1]
    mean = _mean_of_groups(y, groups)
    held = np.where(allowed & np.isfinite(mean), mean, -np.inf)
    best = held.argmax(axis=-1)[..., None]
    place = np.arange(points)
    # The top is looked for among the points allowed; the parabola may use those beside them.
    usable = np.isfinite(mean)
    first = np.where(usable, place, points).min(axis=-1)
    last = np.where(usable, place, -1).max(axis=-1)
    window = usable & (np.abs(place - best) <= reach)

    grand_u = _mean_of_groups(u, groups)
    centre = np.take_along_axis(grand_u, best, -1)
    ends = _beside(grand_u, place, best, usable)
    wide, _, top = _common_top(u - centre[..., None], y, window, groups)
    # A lopsided top throws a wide parabola out; then the nearest points have to do.
    nearest = _nearest_top(grand_u - centre, mean, usable, allowed)
    half = (ends[..., 1] - ends[..., 0]) / 2
    fits = np.abs(top - nearest) < half / 2
    window = np.where(fits[..., None], window, usable & (np.abs(place - best) <= 1))
    (_, slope, curvature), common, top = _common_top(u - centre[..., None], y, window, groups)
    with np.errstate(divide="ignore", invalid="ignore"):
        position = top[..., None] - (slope + curvature * top[..., None]) / common[..., None]
    sharp, spread_of_curvature = _sharpness(curvature, common, groups, confidence)

    state = np.full(best.shape[:-1], "found", dtype="<U5")
    inside = (top + centre[..., 0] > ends[..., 0]) & (top + centre[..., 0] < ends[..., 1])
    state[(common >= 0) | (sharp > FLATTEST) | ~inside] = "flat"
    beside = _at_indices(mean, _beside_indices(place, best, usable))
    highest = np.take_along_axis(mean, best, -1)
    steeper = beside > highest  # the best of those allowed, with a better one beside it
    at_low = (best[..., 0] <= first) | steeper[..., 0]
    at_high = (best[..., 0] >= last) | steeper[..., 1]
    state[at_low], state[at_high] = "low", "high"
    state[usable.sum(axis=-1) < MIN_POINTS] = "few"

    t = _quantile(len(labels) - len(groups), confidence) / ndtri(0.5 + confidence / 2)
    out = {k: np.full(position.shape, np.nan) for k in ("height", "miss", "level", "contrast")}
    for mine in groups:
        own = position[..., mine]
        count = np.maximum(np.isfinite(own).sum(axis=-1), 1)
        known = np.isfinite(own).any(axis=-1)
        here = np.where(known, np.nansum(own, axis=-1) / count, np.nan)
        shift = here - top
        k = np.minimum(sharp, FLATTEST)
        scatter = _scatter(position, groups) / count * k / (1 - k)
        open_ = t**2 * (scatter + shift**2 * spread_of_curvature / (1 - k))
        own_nearest = _nearest_top(
            _mean_of_groups(u, [mine]) - centre, _mean_of_groups(y, [mine]), usable, allowed
        )
        own_ends = _beside(grand_u - centre, place, _highest(y, mine, usable & allowed), usable)
        state[(state == "found") & ~((here > own_ends[..., 0]) & (here < own_ends[..., 1]))] = (
            "apart"
        )
        coarse = np.where(fits, COARSENESS, COARSENESS_OF_LOPSIDED)
        resolution = np.hypot(own_nearest - here, coarse * half)
        moved = np.maximum(np.abs(own_nearest - nearest), np.abs(shift))
        moved = SHIFT_TELLS * moved / np.maximum(half, 1e-300)
        # Points at other places of the same curve are missed by the parabola in another way.
        own_u = np.take_along_axis(_mean_of_groups(u, [mine]) - centre, best, -1)[..., 0]
        moved = np.maximum(moved, 2 * np.abs(own_u) / np.maximum(half, 1e-300))
        moved = np.minimum(np.nan_to_num(moved, nan=1.0), 1.0)
        near = usable & (np.abs(place - _highest(y, mine, usable & allowed)) <= 1)
        fit = _parabolas(u - centre[..., None], y, near)
        height, broad = (_height(each, own_nearest) for each in (fit, wide))
        out["height"][..., mine] = height[..., mine]
        off = _mean_of_groups((height - broad)[..., None], [mine])[..., 0]
        knot = np.take_along_axis(
            _mean_of_groups(y, [mine]), _highest(y, mine, usable & allowed), axis=-1
        )[..., 0]
        over = _mean_of_groups(height[..., None], [mine])[..., 0] - knot
        out["miss"][..., mine] = (MISSED_PART**2 * (off**2 + over**2))[..., None]
        out["level"][..., mine] = (open_ + resolution**2)[..., None]
        out["contrast"][..., mine] = (open_ + (resolution * moved) ** 2)[..., None]
    found = (state == "found")[..., None] & np.isfinite(position)
    return Tops(
        position=np.where(found, position + centre, np.nan),
        height=np.where(found, out["height"], np.nan),
        height_variance=np.where(found, np.nan_to_num(out["miss"]), np.nan),
        level_variance=np.where(found, out["level"], np.nan),
        contrast_variance=np.where(found, out["contrast"], np.nan),
        state=state,
        between=ends,
    )


MIN_POINTS = 3


def _mean_of_groups(values: Array, groups: Sequence[NDArray[np.bool_]]) -> Array:
    """Mean over the configurations of their means over sessions, shape (..., points)."""
    means = []
    for mine in groups:
        part = values[..., mine, :]
        count = np.isfinite(part).sum(axis=-2)
        total = np.nansum(part, axis=-2)
        means.append(np.where(count > 0, total / np.maximum(count, 1), np.nan))
    stack = np.stack(means)
    count = np.isfinite(stack).sum(axis=0)
    return np.where(count > 0, np.nansum(stack, axis=0) / np.maximum(count, 1), np.nan)


def _common_top(
    u: Array, y: Array, window: NDArray[np.bool_], groups: Sequence[NDArray[np.bool_]]
) -> tuple[tuple[Array, Array, Array], Array, Array]:
    """The sessions' parabolas, their common curvature, and the common top."""
    level, slope, curvature = _parabolas(u, y, window)
    common = _mean_of_groups(curvature[..., None], groups)[..., 0]
    common_slope = _mean_of_groups(slope[..., None], groups)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        return (level, slope, curvature), common, np.asarray(-common_slope / common)


def _parabolas(u: Array, y: Array, window: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Level, slope and curvature at u = 0 of the least-squares parabola; NaN with too few points."""
    use = np.isfinite(u) & np.isfinite(y) & window[..., None, :]
    x, v = np.where(use, u, 0.0), np.where(use, y, 0.0)
    size = np.maximum(np.abs(x).max(axis=-1, keepdims=True), 1e-300)
    x = x / size
    powers = np.stack([np.where(use, x**k, 0.0) for k in range(5)])
    moments = powers.sum(axis=-1)
    normal = np.stack([np.stack([moments[i + j] for j in range(3)], -1) for i in range(3)], -2)
    right = np.stack([(powers[k] * v).sum(axis=-1) for k in range(3)], -1)
    good = (use.sum(axis=-1) >= MIN_POINTS) & (np.abs(np.linalg.det(normal)) > 1e-12)
    normal = np.where(good[..., None, None], normal, np.eye(3))
    found = np.linalg.solve(normal, right[..., None])[..., 0]
    found = np.where(good[..., None], found, np.nan)
    size = size[..., 0]
    return found[..., 0], found[..., 1] / size, 2 * found[..., 2] / size**2


def _scatter(values: Array, groups: Sequence[NDArray[np.bool_]]) -> Array:
    """Variance within configurations, pooled, shape (...); zero where nothing is repeated."""
    square, df = np.zeros(values.shape[:-1]), np.zeros(values.shape[:-1])
    for mine in groups:
        part = values[..., mine]
        count = np.isfinite(part).sum(axis=-1)
        middle = np.nansum(part, axis=-1) / np.maximum(count, 1)
        square = square + np.nansum((part - middle[..., None]) ** 2, axis=-1)
        df = df + np.maximum(count - 1, 0)
    return np.asarray(square / np.maximum(df, 1))


def _quantile(df: int, confidence: float) -> float:
    return float(stdtrit(max(df, 1), 0.5 + confidence / 2))


def _sharpness(
    curvature: Array, common: Array, groups: Sequence[NDArray[np.bool_]], confidence: float
) -> tuple[Array, Array]:
    """(t quantile over t of the common curvature) squared, and its relative variance."""
    spread = _scatter(curvature, groups)
    share = np.zeros(spread.shape)
    for mine in groups:
        count = np.maximum(np.isfinite(curvature[..., mine]).sum(axis=-1), 1)
        share = share + 1 / count / len(groups) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = spread * share / common**2
    t = _quantile(curvature.shape[-1] - len(groups), confidence)
    return np.nan_to_num(relative * t**2, nan=np.inf), np.nan_to_num(relative)


def _height(fit: tuple[Array, Array, Array], at: Array) -> Array:
    """Parabolas of the sessions at one place, shape (..., sessions)."""
    level, slope, curvature = fit
    return level + slope * at[..., None] + curvature * at[..., None] ** 2 / 2


def _nearest_top(
    u: Array, mean: Array, usable: NDArray[np.bool_], allowed: NDArray[np.bool_]
) -> Array:
    """Top of the parabola through a mean curve's highest point and its two neighbours."""
    held = np.where(usable & allowed & np.isfinite(mean), mean, -np.inf)
    best = held.argmax(axis=-1)[..., None]
    near = usable & (np.abs(np.arange(mean.shape[-1]) - best) <= 1)
    centre = np.take_along_axis(u, best, -1)
    fit = _parabolas((u - centre)[..., None, :], mean[..., None, :], near)
    _, slope, curvature = (part[..., 0] for part in fit)
    with np.errstate(divide="ignore", invalid="ignore"):
        off = np.where(curvature < 0, -slope / curvature, 0.0)
    ends = _beside(u, np.arange(mean.shape[-1]), best, usable) - centre
    off = np.clip(off, ends[..., 0], ends[..., 1])
    return np.asarray(off + centre[..., 0])


def _highest(y: Array, mine: NDArray[np.bool_], usable: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Index of the highest point of one configuration's mean curve, shape (..., 1)."""
    mean = _mean_of_groups(y, [mine])
    held = np.where(usable & np.isfinite(mean), mean, -np.inf)
    return np.asarray(held.argmax(axis=-1)[..., None])


def _beside(
    u: Array, place: NDArray[np.int_], best: NDArray[np.int_], usable: NDArray[np.bool_]
) -> Array:
    """Abscissae of the usable points next to the highest, shape (..., 2)."""
    return _at_indices(u, _beside_indices(place, best, usable))


def _beside_indices(
    place: NDArray[np.int_], best: NDArray[np.int_], usable: NDArray[np.bool_]
) -> NDArray[np.int_]:
    below = np.where(usable & (place < best), place, -1).max(axis=-1)
    above = np.where(usable & (place > best), place, len(place)).min(axis=-1)
    low = np.where(below >= 0, below, best[..., 0])
    high = np.where(above < len(place), above, best[..., 0])
    return np.stack([low, high], axis=-1)


def _at_indices(values: Array, index: NDArray[np.int_]) -> Array:
    return np.take_along_axis(values, index, axis=-1)
