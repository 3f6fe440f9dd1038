"""Intervals for variances: of one mean square, and of the difference of two."""

from __future__ import annotations

import math

from scipy.special import chdtri, fdtri


def mean_square_interval(
    square: float, df: float, confidence: float = 0.95
) -> tuple[float, float] | None:
    """Interval of a variance from a mean square of normal values; None without freedom.

    Parameters
    ----------
    square : float
        Mean square.
    df : float
        Its degrees of freedom. [1]
    """
    if df <= 0:
        return None
    tail = (1 - confidence) / 2
    return square * df / float(chdtri(df, tail)), square * df / float(chdtri(df, 1 - tail))


def difference_interval(
    first: float, first_df: float, second: float, second_df: float, confidence: float = 0.95
) -> tuple[float, float] | None:
    """Interval of the difference of two variances, from independent mean squares.

    Parameters
    ----------
    first, second : float
        Mean squares, the second with its coefficient.
    first_df, second_df : float
        Their degrees of freedom. [1]

    Returns
    -------
    tuple of float or None
        Not below zero, for the difference is itself a variance; None without freedom.

    Notes
    -----
    Modified large samples [1]_: each side's half-width is put together from the exact half-widths
    of the two variances, with a term that makes it exact where one of them vanishes.

    References
    ----------
    .. [1] N. Ting, R. K. Burdick, F. A. Graybill, S. Jeyaratnam, T.-F. C. Lu, "Confidence
       intervals on linear combinations of variance components that are unrestricted in sign",
       Journal of Statistical Computation and Simulation 35 (1990), 135-143; the form as the R
       package daewr documents it (vci). Its coverage is checked by simulation.
    """
    if first_df <= 0:
        return None
    if second_df <= 0 or second <= 0:
        return mean_square_interval(first, first_df, confidence)
    tail = (1 - confidence) / 2
    above = first_df / float(chdtri(first_df, tail))  # 1 / F(upper; df, infinity)
    below = first_df / float(chdtri(first_df, 1 - tail))
    g1, h1 = 1 - above, below - 1
    g2 = 1 - second_df / float(chdtri(second_df, tail))
    h2 = second_df / float(chdtri(second_df, 1 - tail)) - 1
    f_high = float(fdtri(first_df, second_df, 1 - tail))
    f_low = float(fdtri(first_df, second_df, tail))
    g12 = ((f_high - 1) ** 2 - (g1 * f_high) ** 2 - h2**2) / f_high
    h12 = ((1 - f_low) ** 2 - (h1 * f_low) ** 2 - g2**2) / f_low
    product = first * second
    down = (g1 * first) ** 2 + (h2 * second) ** 2 + g12 * product
    up = (h1 * first) ** 2 + (g2 * second) ** 2 + h12 * product
    middle = first - second
    return (
        max(middle - math.sqrt(max(down, 0.0)), 0.0),
        max(middle + math.sqrt(max(up, 0.0)), 0.0),
    )


def component_interval(
    first: float, first_df: float, second: float, second_df: float, confidence: float = 0.95
) -> tuple[float, float] | None:
    """Interval of what makes one mean square larger than another, for a component of variance.

    As `difference_interval`, but for its upper end a first mean square that chance made smaller than
    the second is taken to be as large. The end would be nought otherwise, as if the component were
    known not to be there, and the less so the fewer the degrees of freedom. Of a second mean square
    without freedom it is not known how little it is: the component may be nought, or all of the first.

    Parameters
    ----------
    first, first_df, second, second_df, confidence
        As of `difference_interval`.
    """
    if second > 0 and second_df <= 0:
        whole = mean_square_interval(max(first, second), first_df, confidence)
        return None if whole is None else (0.0, whole[1])
    ends = difference_interval(first, first_df, second, second_df, confidence)
    level = difference_interval(max(first, second), first_df, second, second_df, confidence)
    return None if ends is None or level is None else (ends[0], level[1])
